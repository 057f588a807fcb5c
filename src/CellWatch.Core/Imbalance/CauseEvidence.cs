namespace CellWatch.Core.Imbalance;

/// <summary>Figures of one cell that causes are read from; NaN where not told. Bounds are those of <see cref="CauseFinder"/>.</summary>
internal sealed record CauseEvidence
{
    public required int Cell { get; init; }
    public bool Fits { get; init; }
    public double NominalAh { get; init; }
    public double NowAh { get; init; }
    public double SpanAh { get; init; }
    public (double Low, double High) RangeAh { get; init; }
    public double SpanH { get; init; }
    public bool HasTime { get; init; }
    public double BledAh { get; init; }
    public double OffsetAh { get; init; }
    public double OffsetSigmaAh { get; init; }
    public double CapacityTerm { get; init; }
    public double CapacityTermSigma { get; init; }
    public double LeakA { get; init; }
    public double LeakSigmaA { get; init; }
    public double Ohm10 { get; init; }
    public double MedianOhm10 { get; init; }
    public double EarlyOhm { get; init; }
    public double MedianEarlyOhm { get; init; }
    public ExcessReading Excess { get; init; }
    public double LevelPercent { get; init; }
    public int Parallel { get; init; }
    public bool WholeHistory { get; init; }
    public double WorthAh { get; init; }
    public double WorthCapacity { get; init; }
    public double WorthOhmShare { get; init; }
    public double WorthLeakA { get; init; }
    public double LeakHours { get; init; }
    public double SpanNeededAh { get; init; }
    public double BleedA { get; init; }

    /// <summary>Distance from the median cell now, what was bled off taken out, Ah.</summary>
    public double OffsetNowAh => OffsetAh + CapacityTerm * NowAh - BledAh;

    /// <summary>Its capacity, Ah: Cn / (1 + B).</summary>
    public double CapacityAh => NominalAh / (1 + CapacityTerm);

    /// <summary>Standard deviation of it, Ah.</summary>
    public double CapacitySigmaAh => NominalAh * CapacityTermSigma / ((1 + CapacityTerm) * (1 + CapacityTerm));

    /// <summary>Share by which its resistance exceeds the median cell's: of the last step, or of all steps on record where a contact jumps.</summary>
    public double ExcessShare => Excess.Pattern == ExcessPattern.Jumping ? Excess.MeanOhm / MedianOhm10 : Ohm10 / MedianOhm10 - 1;

    /// <summary>Charge level at which it is level with its siblings, %; NaN where there is none.</summary>
    public double EvenAtPercent => LevelPercent + (-(OffsetAh - BledAh) / CapacityTerm - NowAh) / NominalAh * 100;
}
