namespace CellWatch.Core.Estimation;

/// <summary>
/// What the estimation of all cells of a pack starts from. The defaults fit one used 33 Ah EV cell; scale resistance and capacity to
/// your own. Those of the error model were chosen by trial on three recorded runs of that cell (HPPC at 40 degC, cycles at 1C and 2C).
/// </summary>
public sealed record SocBankOptions
{
    /// <summary>Nominal capacity of one cell (group), Ah: what 0 to 100 % stand for until a cell's own is known.</summary>
    public double CapacityAh { get; init; } = 31;

    /// <summary>How well that is known, as a share; also stands for "empty" shifting with rate: 1C and 2C runs end 3 and 4 % above a slow one.</summary>
    public double CapacitySigma { get; init; } = 0.02;

    /// <summary>Resistance that answers at once, ohm.</summary>
    public double SeriesResistanceOhm { get; init; } = 1.7e-3;

    /// <summary>Resistance of the RC branch, ohm.</summary>
    public double BranchResistanceOhm { get; init; } = 1.0e-3;

    /// <summary>Time constant of the RC branch, s.</summary>
    public double BranchTimeConstantS { get; init; } = 60;

    /// <summary>Error of curve and relaxation that does not average out, V (a cell still moved by 20 mV after an hour of rest).</summary>
    public double ModelSigmaV { get; init; } = 0.008;

    /// <summary>The same between cells of one make under one current, V: most of the model error is common to them.</summary>
    public double CellToCellSigmaV { get; init; } = 0.002;

    /// <summary>Share by which the resistance may be wrong.</summary>
    public double ResistanceSigma { get; init; } = 0.15;

    /// <summary>Time over which errors of the model stay alike, s: samples closer together count as less than one.</summary>
    public double ModelCorrelationS { get; init; } = 300;

    /// <summary>Swing of charge over which the capacity error acts as a random walk (1 = full to empty).</summary>
    public double CapacityCorrelation { get; init; } = 0.05;

    /// <summary>Charge at the start, percent; null = taken from the first voltage.</summary>
    public double? StartSocPercent { get; init; }

    /// <summary>Doubt of the start, 0 to 1.</summary>
    public double StartSigma { get; init; } = 0.10;

    /// <summary>A longer step between two snapshots is a gap, s; bridged only at rest.</summary>
    public double LongestStepS { get; init; } = 120;

    /// <summary>Gain error of the current sensor, share (0.5 %: what the job needs).</summary>
    public double CurrentGainSigma { get; init; } = 0.005;

    /// <summary>Throws with the reason where a value cannot be.</summary>
    public void Validate()
    {
        Positive(CapacityAh, nameof(CapacityAh));
        Positive(BranchTimeConstantS, nameof(BranchTimeConstantS));
        Positive(ModelSigmaV, nameof(ModelSigmaV));
        Positive(CellToCellSigmaV, nameof(CellToCellSigmaV));
        Positive(SeriesResistanceOhm + BranchResistanceOhm, nameof(SeriesResistanceOhm));
        Positive(StartSigma, nameof(StartSigma));
        Positive(CapacitySigma, nameof(CapacitySigma));
        Positive(LongestStepS, nameof(LongestStepS));
    }

    private static void Positive(double value, string name)
    {
        if (!(value > 0 && double.IsFinite(value))) throw new ArgumentOutOfRangeException(name, value, "Must be above 0.");
    }
}
