using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Estimation;

/// <summary>
/// Charge level of every cell of a string by an extended Kalman filter on OCV + R0 + one RC branch, with a standard deviation that
/// carries the error of the model and not only noise; a reset at rest; resistance from steps of current; capacity between rests;
/// and the charge difference to the median cell in Ah.
/// <para>Structure of arrays, one value a cell in the order given to <see cref="Step(ReadOnlySpan{double}, ReadOnlySpan{bool}, double, bool, double, double)"/>;
/// a step allocates nothing, takes linear time and gives the same answer on the same input. Not safe for two threads.</para>
/// <para>Source: filter see <see cref="SocFilterStep"/>; what a constant error of the curve does to the answer is carried along as a
/// sensitivity (consider filter after Schmidt 1966, from memory, scalar and of one sign); other rules beside each.</para>
/// </summary>
public sealed class SocBank
{
    private const int GridSteps = 1000;

    /// <summary>Below this doubt (0 to 1) the filter has settled and its errors speak about the curve.</summary>
    private const double SettledSigma = 0.05;

    private readonly SocBankOptions options;
    private readonly OcvCurve curve;
    private readonly double[] gridV, gridSlopeV;
    private readonly double[] z, v1, p11, p12, p22, bias, resistanceScale, capacityAh, capacitySigmaAh;
    private readonly double[] socPercent, sigmaPercent, deltaAh, deltaSigmaAh, scratch;
    private readonly bool[] cannotTell, isStarted;
    private readonly double[] anchorZ, anchorSigma, anchorAh;
    private readonly RecursiveCapacity[] capacity;
    private readonly RestBank rest;
    private readonly CurveFitBank fit;
    private double countedAh, lastA;
    private bool hasLast;

    /// <param name="cells">Number of cells in series, one current through all.</param>
    /// <param name="options">What is known beforehand.</param>
    /// <param name="curve">Of these cells; a learned one is best.</param>
    public SocBank(int cells, SocBankOptions options, OcvCurve curve)
    {
        ArgumentOutOfRangeException.ThrowIfLessThan(cells, 1);
        options.Validate();
        (this.options, this.curve, Cells) = (options, curve, cells);
        (gridV, gridSlopeV) = Grid(curve);
        z = new double[cells];
        v1 = new double[cells];
        p11 = Filled(cells, options.StartSigma * options.StartSigma);
        p12 = new double[cells];
        p22 = Filled(cells, 1e-4);
        bias = new double[cells];
        resistanceScale = Filled(cells, 1);
        capacityAh = Filled(cells, options.CapacityAh);
        capacitySigmaAh = Filled(cells, options.CapacityAh * options.CapacitySigma);
        socPercent = Filled(cells, double.NaN);
        sigmaPercent = Filled(cells, double.NaN);
        deltaAh = Filled(cells, double.NaN);
        deltaSigmaAh = Filled(cells, double.NaN);
        scratch = new double[cells];
        cannotTell = new bool[cells];
        isStarted = new bool[cells];
        anchorZ = Filled(cells, double.NaN);
        anchorSigma = new double[cells];
        anchorAh = new double[cells];
        capacity = new RecursiveCapacity[cells];
        Array.Fill(capacity, RecursiveCapacity.FromNominal(options.CapacityAh, options.CapacitySigma, options.CapacityAh * options.CapacitySigma));
        rest = new RestBank(cells, RestReset.HighestRestA(options.CapacityAh));
        fit = new CurveFitBank(cells, options.ModelSigmaV);
        Resistance = new StepResistanceBank(cells, options.CapacityAh);
    }

    /// <summary>Number of cells.</summary>
    public int Cells { get; }

    /// <summary>Curve in use.</summary>
    public OcvCurve Curve => curve;

    /// <summary>Charge level, percent of the cell's capacity; NaN until its first usable voltage.</summary>
    public ReadOnlySpan<double> SocPercent => socPercent;

    /// <summary>Standard deviation of the charge level, percent: noise, curve, resistance and capacity; NaN until its first usable voltage.</summary>
    public ReadOnlySpan<double> SigmaPercent => sigmaPercent;

    /// <summary>Charge above (+) or below (-) the median cell, Ah; NaN until known.</summary>
    public ReadOnlySpan<double> DeltaAh => deltaAh;

    /// <summary>Standard deviation of <see cref="DeltaAh"/>, Ah; smaller than that of the level, because cells of one make share most of the model error.</summary>
    public ReadOnlySpan<double> DeltaSigmaAh => deltaSigmaAh;

    /// <summary>Capacity of each cell, Ah: the nominal one until two good rests at least 20 % apart were seen.</summary>
    public ReadOnlySpan<double> CapacityAh => capacityAh;

    /// <summary>Standard deviation of the capacity, Ah.</summary>
    public ReadOnlySpan<double> CapacitySigmaAh => capacitySigmaAh;

    /// <summary>True where the curve is too flat at the present level for a voltage to tell the charge: the level is then counted only.</summary>
    public ReadOnlySpan<bool> CannotTellHere => cannotTell;

    /// <summary>True where the curve does not fit this cell (or its capacity is far from the nominal one): do not trust its level.</summary>
    public ReadOnlySpan<bool> CurveDoesNotFit => fit.DoesNotFit;

    /// <summary>Misfit of the curve, in multiples of what curve and resistance may be wrong by; above 4 it does not fit.</summary>
    public ReadOnlySpan<double> CurveMisfit => fit.Score;

    /// <summary>Resistances from steps of current.</summary>
    public StepResistanceBank Resistance { get; }

    /// <summary>Latest 10 s resistance of each cell, ohm; NaN where none was seen yet.</summary>
    public ReadOnlySpan<double> Resistance10sOhm => Resistance.LatestOhm(ResistanceTime.Ten);

    /// <summary>True while the current is at most C/20.</summary>
    public bool IsAtRest => rest.IsAtRest;

    /// <summary>How many pairs of rests the capacity of a cell stands on; 0 = nominal.</summary>
    public int CapacityPairs(int cell) => capacity[cell].Count;

    /// <summary>Sets the level of one cell, say from a stored record; <paramref name="sigma"/> in percent, above 0.</summary>
    public void SetSoc(int cell, double soc, double sigma)
    {
        (z[cell], v1[cell], p12[cell], bias[cell], isStarted[cell]) = (soc / 100, 0, 0, 0, true);
        p11[cell] = sigma * sigma / 1e4;
        Report(cell);
    }

    /// <summary>Open-circuit voltage the filter holds for a cell, V; NaN until its first usable voltage.</summary>
    public double OcvV(int cell) => isStarted[cell] ? At(gridV, z[cell]) : double.NaN;

    /// <summary>Slope of the curve at a cell's level, mV per percent.</summary>
    public double SlopeMvPerPercent(int cell) => At(gridSlopeV, z[cell]) * 10;

    /// <summary>Takes one snapshot in, one temperature for all cells (NaN = not known).</summary>
    public void Step(ReadOnlySpan<double> cellVoltageV, ReadOnlySpan<bool> usable, double currentA, bool currentUsable, double temperatureDegC, double dtS) =>
        Step(cellVoltageV, usable, currentA, currentUsable, new ReadOnlySpan<double>(in temperatureDegC), dtS);

    /// <summary>
    /// Takes one snapshot in. Cells with <paramref name="usable"/> false are predicted only; without a usable current nothing is counted
    /// and the doubt grows at one capacity per hour. <paramref name="dtS"/>: seconds since the snapshot before (ignored on the first).
    /// <paramref name="temperatureDegC"/>: one value for all or one a cell.
    /// </summary>
    public void Step(
        ReadOnlySpan<double> cellVoltageV, ReadOnlySpan<bool> usable, double currentA, bool currentUsable,
        ReadOnlySpan<double> temperatureDegC, double dtS)
    {
        if (cellVoltageV.Length != Cells || usable.Length != Cells) throw new ArgumentException($"Expected {Cells} cells, got {cellVoltageV.Length} voltages and {usable.Length} flags.", nameof(cellVoltageV));
        if (!(dtS >= 0)) throw new ArgumentOutOfRangeException(nameof(dtS), dtS, "Time does not go back between two snapshots.");
        if (!hasLast) dtS = 0;
        var movedAh = Count(currentA, currentUsable, dtS, out var doubtAh);
        Resistance.Step(cellVoltageV, usable, currentA, currentUsable, temperatureDegC, socPercent, dtS);
        if (Resistance.HasNewTen) FollowResistance();
        Filter(cellVoltageV, usable, currentA, currentUsable, movedAh, doubtAh, dtS);
        rest.Step(cellVoltageV, usable, currentA, currentUsable, dtS);
        if (rest.IsStretchComplete) ResetRelaxed();
        for (var k = 0; k < Cells; k++) Report(k);
        Compare();
        (lastA, hasLast) = (currentUsable ? currentA : double.NaN, true);
    }

    /// <summary>Charge moved since the last snapshot, Ah, and how far it may be wrong beyond the sensor's own error.</summary>
    private double Count(double currentA, bool currentUsable, double dtS, out double doubtAh)
    {
        doubtAh = 0;
        if (dtS == 0) return 0;
        var isKnown = currentUsable && double.IsFinite(lastA);
        var restA = RestReset.HighestRestA(options.CapacityAh);
        var isGap = dtS > options.LongestStepS && !(Math.Abs(currentA) <= restA && Math.Abs(lastA) <= restA);
        if (isKnown && !isGap)
        {
            var moved = ChargeCounter.TrapezoidAh(lastA, currentA, dtS);
            countedAh += moved;
            return moved;
        }

        // What flowed is not known: pairs of rests across it say nothing about capacity.
        Array.Fill(anchorZ, double.NaN);
        doubtAh = options.CapacityAh * dtS / 3600;
        return 0;
    }

    private void Filter(ReadOnlySpan<double> v, ReadOnlySpan<bool> usable, double currentA, bool currentUsable, double movedAh, double doubtAh, double dtS)
    {
        var a = Math.Exp(-dtS / options.BranchTimeConstantS);
        double r0 = options.SeriesResistanceOhm, r1 = options.BranchResistanceOhm, iForBranch = currentUsable ? currentA : 0;
        var weight = Math.Max(1, options.ModelCorrelationS / Math.Max(dtS, 1e-3));
        var walk = options.CapacityCorrelation * options.CapacitySigma * options.CapacitySigma;
        var resistiveV = (r0 + r1) * iForBranch;
        for (var k = 0; k < Cells; k++)
        {
            if (!isStarted[k])
            {
                if (!usable[k] || !currentUsable) continue;
                z[k] = options.StartSocPercent / 100 ?? curve.SocAt(v[k] - (r0 + r1) * currentA).SocPercent / 100;
                isStarted[k] = true;
            }

            var share = movedAh / capacityAh[k];
            if (doubtAh > 0) p11[k] = Squared(Math.Min(1, Math.Sqrt(p11[k]) + doubtAh / capacityAh[k]));
            var scaledR1 = r1 * resistanceScale[k];
            SocFilterStep.Predict(
                ref z[k], ref v1[k], ref p11[k], ref p12[k], ref p22[k], share, a, scaledR1, iForBranch, 1e-10 * dtS + walk * Math.Abs(share), 1e-7 * dtS);
            if (!usable[k] || !currentUsable) continue;
            double ocv = At(gridV, z[k]), slope = At(gridSlopeV, z[k]);
            var errorV2 = options.ModelSigmaV * options.ModelSigmaV + Squared(options.ResistanceSigma * resistiveV * resistanceScale[k]);
            var wasSettled = p11[k] < SettledSigma * SettledSigma;
            var (e, _, gain) = SocFilterStep.Update(
                ref z[k], ref v1[k], ref p11[k], ref p12[k], ref p22[k], v[k], ocv, slope, r0 * resistanceScale[k], currentA, errorV2 * weight);
            bias[k] = Math.Abs(1 - gain * slope) * bias[k] + Math.Abs(gain) * Math.Sqrt(errorV2);
            if (wasSettled) fit.Add(k, e, resistiveV * resistanceScale[k]);
        }

        fit.Moved(Math.Abs(movedAh) / options.CapacityAh);
    }

    private void FollowResistance()
    {
        var model = options.SeriesResistanceOhm + options.BranchResistanceOhm * (1 - Math.Exp(-10 / options.BranchTimeConstantS));
        var latest = Resistance.LatestOhm(ResistanceTime.Ten);
        for (var k = 0; k < Cells; k++)
            if (latest[k] > 0) resistanceScale[k] += 0.5 * (Math.Clamp(latest[k] / model, 0.3, 4) - resistanceScale[k]);
    }

    /// <summary>At the end of a stretch of rest: relaxed cells take their level from the curve, where it can tell.</summary>
    private void ResetRelaxed()
    {
        for (var k = 0; k < Cells; k++)
        {
            if (!isStarted[k] || !rest.IsRelaxed(k, out var endV)) continue;
            var found = curve.SocAt(endV);
            if (!found.IsTold || fit.DoesNotFit[k]) continue;
            var slopeV = found.SlopeMvPerPercent / 10;
            (z[k], v1[k], p12[k], p22[k]) = (found.SocPercent / 100, 0, 0, 1e-6);
            p11[k] = Squared(0.0005 / slopeV);
            bias[k] = options.ModelSigmaV / slopeV;
            Pair(k, options.ModelSigmaV / slopeV);
        }
    }

    private void Pair(int k, double sigmaZ)
    {
        if (!double.IsNaN(anchorZ[k]))
        {
            double dz = z[k] - anchorZ[k], dAh = countedAh - anchorAh[k];
            if (Math.Abs(dz) < CapacityFit.SmallestSwing) return;
            var sigmaX = Math.Sqrt(sigmaZ * sigmaZ + anchorSigma[k] * anchorSigma[k]);
            capacity[k].Add(dz, dAh, sigmaX, options.CurrentGainSigma * Math.Abs(dAh) + 1e-3 * options.CapacityAh);
            if (capacity[k].Estimate() is { } estimate) (capacityAh[k], capacitySigmaAh[k]) = (estimate.CapacityAh, estimate.SigmaAh);
        }

        (anchorZ[k], anchorSigma[k], anchorAh[k]) = (z[k], sigmaZ, countedAh);
    }

    private void Report(int k)
    {
        if (!isStarted[k]) return;
        socPercent[k] = 100 * z[k];
        cannotTell[k] = At(gridSlopeV, z[k]) * 10 < OcvCurve.FlatMvPerPercent;
        var definition = options.CapacitySigma * Math.Clamp(1 - z[k], 0, 1);
        var sigma = Math.Sqrt(p11[k] + bias[k] * bias[k] + definition * definition);
        sigmaPercent[k] = 100 * (fit.DoesNotFit[k] ? sigma * fit.Score[k] : sigma);
    }

    private void Compare()
    {
        var n = 0;
        for (var k = 0; k < Cells; k++)
            if (isStarted[k]) scratch[n++] = z[k];
        if (n == 0) return;
        var median = Robust.MedianInPlace(scratch.AsSpan(0, n));
        var shared = options.CellToCellSigmaV / options.ModelSigmaV;
        for (var k = 0; k < Cells; k++)
        {
            if (!isStarted[k]) continue;
            deltaAh[k] = (z[k] - median) * capacityAh[k];
            deltaSigmaAh[k] = Math.Sqrt(p11[k] + Squared(shared * bias[k])) * capacityAh[k];
        }
    }

    private static (double[] V, double[] SlopeV) Grid(OcvCurve curve)
    {
        var v = new double[GridSteps + 1];
        for (var i = 0; i <= GridSteps; i++) v[i] = curve.VoltageAt(Math.Clamp(100.0 * i / GridSteps, curve.BottomSocPercent, curve.TopSocPercent));
        var slope = new double[GridSteps + 1];
        // Over 3 % of charge: a table's kinks must not make the gain jump.
        const int Half = 15;
        for (var i = 0; i <= GridSteps; i++)
        {
            int from = Math.Max(0, i - Half), to = Math.Min(GridSteps, i + Half);
            slope[i] = (v[to] - v[from]) * GridSteps / (to - from);
        }

        return (v, slope);
    }

    private static double At(double[] grid, double at)
    {
        var x = Math.Clamp(at, 0, 1) * GridSteps;
        var i = Math.Min((int)x, GridSteps - 1);
        return grid[i] + (x - i) * (grid[i + 1] - grid[i]);
    }

    private static double Squared(double x) => x * x;

    private static double[] Filled(int count, double value)
    {
        var a = new double[count];
        Array.Fill(a, value);
        return a;
    }
}
