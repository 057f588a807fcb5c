namespace CellWatch.Core.Estimation;

/// <summary>Time after a step of current at which a resistance is taken. Values of different times are not comparable.</summary>
public enum ResistanceTime
{
    /// <summary>0.1 s: the ohmic part and joints. Only where sampling is fast enough for a second sample within it.</summary>
    Tenth,

    /// <summary>2 s.</summary>
    Two,

    /// <summary>10 s.</summary>
    Ten,
}

/// <summary>
/// Resistance of every cell from each usable step of current: a current held flat, a step of at least a tenth of the capacity per
/// hour, then held flat within 2 % until the time asked for. Voltage and current are interpolated at that time after the last sample
/// before the step. The first loaded sample is never used: readings of one scan are not taken at one instant.
/// <para>Source: pulse definition of battery-test practice; the flatness of 2 % is an own rule. Binned by temperature and charge
/// because resistance roughly doubles from 25 to 0 degC and rises towards empty.</para>
/// </summary>
public sealed class StepResistanceBank
{
    /// <summary>Upper bounds of the temperature bins, degC; the last bin is open. Temperature not known: no bin, only the latest value.</summary>
    public static ReadOnlySpan<double> TemperatureBoundsDegC => TemperatureBounds;

    /// <summary>Upper bounds of the charge bins, percent; the last bin is open.</summary>
    public static ReadOnlySpan<double> SocBoundsPercent => SocBounds;

    /// <summary>Bins of temperature and of charge.</summary>
    public const int TemperatureBins = 5, SocBins = 5;

    private const int Times = 3;
    private static readonly double[] TemperatureBounds = [5, 15, 25, 35], SocBounds = [20, 40, 60, 80];
    private const double HoldBeforeS = 5, SettleS = 0.5, Flatness = 0.02;
    private readonly double smallestStepA;
    private readonly int cells;
    private readonly double[] baseV, previousV, latest, binMean;
    private readonly ushort[] binCount;
    private readonly bool[] usableSoFar;
    private double heldA, heldS, previousA, stepA, baseA, sinceStepS;
    private int nextTime, samplesSinceStep;
    private bool hasPrevious, isMeasuring;

    /// <param name="cells">Number of cells.</param>
    /// <param name="capacityAh">Of one cell; sets the smallest step, a tenth of it per hour.</param>
    public StepResistanceBank(int cells, double capacityAh)
    {
        this.cells = cells;
        smallestStepA = capacityAh / 10;
        (baseV, previousV) = (new double[cells], new double[cells]);
        latest = new double[cells * Times];
        Array.Fill(latest, double.NaN);
        binMean = new double[cells * Times * TemperatureBins * SocBins];
        binCount = new ushort[binMean.Length];
        usableSoFar = new bool[cells];
    }

    /// <summary>True when the last step finished a value at 10 s.</summary>
    public bool HasNewTen { get; private set; }

    /// <summary>Latest value of every cell at a time after the step, ohm; NaN where there was none yet.</summary>
    public ReadOnlySpan<double> LatestOhm(ResistanceTime time) => latest.AsSpan((int)time * cells, cells);

    /// <summary>Mean of the values of one cell in a bin, ohm, and how many (at most 65535 counted); NaN and 0 where none.</summary>
    public (double Ohm, int Count) Binned(int cell, ResistanceTime time, int temperatureBin, int socBin)
    {
        var i = BinIndex(cell, (int)time, temperatureBin, socBin);
        return binCount[i] == 0 ? (double.NaN, 0) : (binMean[i], binCount[i]);
    }

    /// <summary>Bin of a value by its bounds.</summary>
    public static int BinOf(double value, ReadOnlySpan<double> bounds)
    {
        var i = 0;
        while (i < bounds.Length && value >= bounds[i]) i++;
        return i;
    }

    /// <summary>Takes one snapshot in; <paramref name="temperatureDegC"/> holds one value for all cells or one for each, NaN = not known.</summary>
    public void Step(
        ReadOnlySpan<double> cellVoltageV, ReadOnlySpan<bool> usable, double currentA, bool currentUsable,
        ReadOnlySpan<double> temperatureDegC, ReadOnlySpan<double> socPercent, double dtS)
    {
        HasNewTen = false;
        if (!currentUsable)
        {
            (hasPrevious, isMeasuring, heldS) = (false, false, 0);
            return;
        }

        if (hasPrevious)
        {
            if (isMeasuring) Measure(cellVoltageV, usable, currentA, temperatureDegC, socPercent, dtS);
            else Wait(usable, currentA, dtS);
        }
        else
        {
            heldA = currentA;
            heldS = 0;
            usable.CopyTo(usableSoFar);
        }

        cellVoltageV.CopyTo(previousV);
        if (!isMeasuring) usable.CopyTo(usableSoFar);
        previousA = currentA;
        hasPrevious = true;
    }

    private void Wait(ReadOnlySpan<bool> usable, double currentA, double dtS)
    {
        if (Math.Abs(currentA - heldA) <= Math.Max(Flatness * Math.Abs(heldA), smallestStepA / 20))
        {
            heldS += dtS;
            return;
        }

        if (heldS >= HoldBeforeS && Math.Abs(currentA - previousA) >= smallestStepA && dtS <= 2)
        {
            previousV.CopyTo(baseV, 0);
            for (var k = 0; k < cells; k++) usableSoFar[k] &= usable[k];
            (baseA, stepA, sinceStepS, samplesSinceStep, nextTime, isMeasuring) = (previousA, currentA, dtS, 1, dtS > 0.05 ? 1 : 0, true);
        }

        (heldA, heldS) = (currentA, 0);
    }

    private void Measure(
        ReadOnlySpan<double> v, ReadOnlySpan<bool> usable, double currentA, ReadOnlySpan<double> temperatureDegC, ReadOnlySpan<double> soc, double dtS)
    {
        var before = sinceStepS;
        sinceStepS += dtS;
        samplesSinceStep++;
        if (before < SettleS) stepA = currentA;
        var isFlat = Math.Abs(currentA - stepA) <= Flatness * Math.Abs(stepA - baseA) && Math.Abs(stepA - baseA) >= smallestStepA;
        if (!isFlat || dtS > 2)
        {
            (isMeasuring, heldA, heldS) = (false, currentA, 0);
            return;
        }

        for (var k = 0; k < cells; k++) usableSoFar[k] &= usable[k];
        while (nextTime < Times && sinceStepS >= SecondsOf(nextTime) - 1e-9)
        {
            var share = dtS > 0 ? Math.Max(0, (SecondsOf(nextTime) - before) / dtS) : 1;
            Record(v, previousA + share * (currentA - previousA) - baseA, share, temperatureDegC, soc);
            nextTime++;
        }

        if (nextTime < Times) return;
        (isMeasuring, heldA, heldS, HasNewTen) = (false, currentA, sinceStepS, true);
    }

    private void Record(ReadOnlySpan<double> v, double currentStepA, double share, ReadOnlySpan<double> temperatureDegC, ReadOnlySpan<double> soc)
    {
        for (var k = 0; k < cells; k++)
        {
            if (!usableSoFar[k]) continue;
            var ohm = (previousV[k] + share * (v[k] - previousV[k]) - baseV[k]) / currentStepA;
            latest[nextTime * cells + k] = ohm;
            var degC = temperatureDegC.Length == 1 ? temperatureDegC[0] : temperatureDegC[k];
            if (!double.IsFinite(degC)) continue;
            var i = BinIndex(k, nextTime, BinOf(degC, TemperatureBoundsDegC), BinOf(soc[k], SocBoundsPercent));
            if (binCount[i] < ushort.MaxValue) binCount[i]++;
            // After twenty values the mean forgets slowly, so that ageing shows.
            binMean[i] += (ohm - binMean[i]) / Math.Min(binCount[i], (ushort)20);
        }
    }

    private static double SecondsOf(int time) => time switch { 0 => 0.1, 1 => 2, _ => 10 };

    private int BinIndex(int cell, int time, int temperatureBin, int socBin) =>
        ((time * TemperatureBins + temperatureBin) * SocBins + socBin) * cells + cell;
}
