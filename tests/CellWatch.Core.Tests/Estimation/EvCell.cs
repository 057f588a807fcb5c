using CellWatch.Core.Assess;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>
/// Measured runs of one used EV cell (33.1 Ah rated; G. Wiggins, S. Allu, H. Wang, doi 10.5281/zenodo.2580327) with the truth that the
/// accuracy goal names: coulomb count, 100 % at the end of constant voltage, capacity from there to 3.0 V.
/// </summary>
internal sealed class EvCell
{
    public required double[] TimeS { get; init; }
    public required double[] CurrentA { get; init; }
    public required double[] VoltageV { get; init; }

    public static EvCell Load(string file)
    {
        using var reader = new StreamReader(SharedMaterial.PathOf("data/" + file));
        var t = MeasuredTable.Read(reader);
        return new EvCell { TimeS = t.FindNumbers("time_s")!, CurrentA = t.FindNumbers("current_A")!, VoltageV = t.FindNumbers("voltage_V")! };
    }

    public static LearnedCurve Learned()
    {
        var run = Load("ev_cell_hppc_25C.csv");
        return OcvLearning.FromRun("ev-cell", "ev_cell_hppc_25C.csv", run.TimeS, run.CurrentA, run.VoltageV, 4.2, 3.0);
    }

    public double[] TrueSocPercent()
    {
        var n = TimeS.Length;
        var counted = new double[n];
        for (var k = 1; k < n; k++) counted[k] = counted[k - 1] + (CurrentA[k] + CurrentA[k - 1]) / 2 * (TimeS[k] - TimeS[k - 1]) / 3600;
        List<int> fulls = [];
        List<double> capacities = [];
        for (var k = 0; k + 1 < n; k++)
        {
            if (!(CurrentA[k] is > 0.1 and < 2 && VoltageV[k] >= 4.198 && Math.Abs(CurrentA[k + 1]) <= 0.05)) continue;
            var empty = Enumerable.Range(k, n - k).FirstOrDefault(j => CurrentA[j] < -5 && VoltageV[j] <= 3.0005, -1);
            fulls.Add(k);
            capacities.Add(empty < 0 ? capacities[^1] : counted[k] - counted[empty]);
        }

        var truth = new double[n];
        for (var k = 0; k < n; k++)
        {
            var a = Math.Max(0, fulls.FindLastIndex(f => f <= k));
            truth[k] = 100 + 100 * (counted[k] - counted[fulls[a]]) / capacities[a];
        }

        return truth;
    }
}
