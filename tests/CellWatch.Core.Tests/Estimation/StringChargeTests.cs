using CellWatch.Core.Assess;
using CellWatch.Core.Estimation;
using CellWatch.Testing;
using Xunit.Abstractions;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>
/// Charge of six groups of one string at three rates (data README: two 33 Ah cells in parallel, used). There is no independent truth, so the three
/// runs are held against each other: what one group has more than another is the same at every rate, within what the filter says it doubts.
/// </summary>
public sealed class StringChargeTests(ITestOutputHelper output)
{
    private static readonly string[] Rates = ["0p3C", "2C", "2p75C"];

    [SharedFact("data/ev_string6_discharge_0p3C.csv")]
    public void Differences_between_groups_agree_between_the_three_rates_within_their_sigmas()
    {
        var runs = Rates.Select(r => At(r, outAh: 40)).ToArray();
        for (var k = 0; k < 6; k++)
        {
            output.WriteLine($"group {k + 1}: " + string.Join("  ", runs.Select(r => $"{r.DeltaAh[k]:+0.00;-0.00} +- {r.SigmaAh[k]:0.00} Ah, {r.Soc[k]:0.0} +- {r.SocSigma[k]:0.0} %")));
            Assert.All(runs, r => Assert.InRange(r.SocSigma[k], 0.1, 8));
            for (var a = 0; a < 3; a++)
                for (var b = a + 1; b < 3; b++)
                {
                    var sigma = Math.Sqrt(runs[a].SigmaAh[k] * runs[a].SigmaAh[k] + runs[b].SigmaAh[k] * runs[b].SigmaAh[k]);
                    Assert.True(Math.Abs(runs[a].DeltaAh[k] - runs[b].DeltaAh[k]) <= 2 * sigma, $"group {k + 1}, {Rates[a]} against {Rates[b]}");
                }
        }

        // A doubt so wide that it holds anything would also agree: group 1 has clearly less than the highest at every rate.
        Assert.All(runs, r => Assert.True(r.DeltaAh.Max() - r.DeltaAh[0] > 1 && r.SigmaAh[0] < 2));
    }

    private static (double[] DeltaAh, double[] SigmaAh, double[] Soc, double[] SocSigma) At(string rate, double outAh)
    {
        using var reader = new StreamReader(SharedMaterial.PathOf($"data/ev_string6_discharge_{rate}.csv"));
        var table = MeasuredTable.Read(reader);
        double[] time = table.FindNumbers("time_s")!, current = table.FindNumbers("current_A")!;
        var cells = Enumerable.Range(1, 6).Select(k => table.FindNumbers($"cell{k}_V")!).ToArray();
        var learned = EvCell.Learned();
        // Two of the learned cell in parallel: twice the charge, half the resistance.
        var bank = new SocBank(6, new SocBankOptions { CapacityAh = 2 * learned.CapacityAh, CapacitySigma = 0.08, SeriesResistanceOhm = 0.85e-3, BranchResistanceOhm = 0.5e-3 }, learned.Curve);
        var v = new double[6];
        bool[] usable = [true, true, true, true, true, true];
        var counted = 0.0;
        for (var row = 0; row < time.Length && counted > -outAh; row++)
        {
            for (var k = 0; k < 6; k++) v[k] = cells[k][row];
            var dtS = row == 0 ? 0 : time[row] - time[row - 1];
            if (row > 0) counted += (current[row] + current[row - 1]) / 2 * dtS / 3600;
            bank.Step(v, usable, current[row], true, 25, dtS);
        }

        return ([.. bank.DeltaAh], [.. bank.DeltaSigmaAh], [.. bank.SocPercent], [.. bank.SigmaPercent]);
    }
}
