using CellWatch.Core.Assess;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.Assess;

public class StringTests
{
    private static readonly double[] RemainingAh = [3.9, 4.0, 1.2, 3.5, 3.4];

    // Story 7 and the accuracy goal: figures from the tail of group 1.
    [SharedFact("data/ev_string6_discharge_0p3C.csv")]
    public void One_weak_group_is_named_with_its_reason_and_what_the_others_had_left()
    {
        var report = Files.Run<StringReport>(AssessKind.String, "ev_string6_discharge_0p3C.csv");
        Assert.Equal(54.90, report.Discharges.Single().ChargeAh!.Value, 0.01);
        Assert.Equal(1, report.Weakest);
        Assert.Equal(3.000, report.Cells[0].EndV, 3);
        Assert.Equal(3.226, report.Cells.Where(c => c.Index != 1).Min(c => c.EndV), 3);
        for (var k = 0; k < 5; k++)
        {
            Assert.Equal(RemainingAh[k], report.Cells[k + 1].RemainingAh!.Value, 0.3);
            Assert.InRange(report.Cells[k + 1].RemainingSigmaAh!.Value, 0.05, 0.5);
        }

        Assert.Contains("low capacity, not resistance", report.WeakestBecause, StringComparison.Ordinal);
        Assert.Contains("low capacity, not resistance", AssessText.Render(report), StringComparison.Ordinal);
        Assert.Contains("next at 3.226 V", AssessText.Verdict(report), StringComparison.Ordinal);
    }

    [SharedTheory("data/ev_string6_discharge_0p3C.csv")]
    [InlineData("ev_string6_discharge_0p3C.csv", 0.060, 0.5, 1.2)]
    [InlineData("ev_string6_discharge_2C.csv", 0.063, 0.25, 0.5)]
    [InlineData("ev_string6_discharge_2p75C.csv", 0.074, 0.25, 0.45)]
    public void Each_rate_names_group_one_and_its_links(string file, double offsetV, double lowMilliohm, double highMilliohm)
    {
        var report = Files.Run<StringReport>(AssessKind.String, file);
        Assert.Equal(1, report.Weakest);
        Assert.StartsWith("low capacity, not resistance", report.WeakestBecause, StringComparison.Ordinal);
        // reference_answers.csv: sum minus string at rest; 10 s resistance of each group.
        Assert.Equal(offsetV, report.LinkOffsetV!.Value, 0.005);
        Assert.InRange(report.LinkResistanceMilliohm!.Value, lowMilliohm, highMilliohm);
        foreach (var (_, selector, value, _) in Files.Answers(file, "R10s_mOhm"))
            Assert.InRange(report.Cells[int.Parse(selector.AsSpan(5), System.Globalization.CultureInfo.InvariantCulture) - 1].Resistance10sMilliohm!.Value / value, 0.99, 1.01);
    }

    [SharedFact("data/ev_string6_discharge_0p3C.csv")]
    public void The_interval_holds_what_the_faster_runs_say()
    {
        var slow = Files.Run<StringReport>(AssessKind.String, "ev_string6_discharge_0p3C.csv").Cells;
        var fast = Files.Run<StringReport>(AssessKind.String, "ev_string6_discharge_2C.csv").Cells;
        var faster = Files.Run<StringReport>(AssessKind.String, "ev_string6_discharge_2p75C.csv").Cells;
        for (var k = 1; k < 6; k++)
        {
            double ah = slow[k].RemainingAh!.Value, sigma = slow[k].RemainingSigmaAh!.Value;
            Assert.InRange(fast[k].RemainingAh!.Value, ah - 2 * sigma, ah + 2 * sigma);
            var widened = RemainingCharge.SigmaAtRate(ah, sigma, 19.5, 180);
            Assert.InRange(faster[k].RemainingAh!.Value, ah - 2 * widened, ah + 2 * widened);
        }
    }

    [SharedFact("data/ev_string6_discharge_0p3C.csv")]
    public void The_json_has_the_agreed_names()
    {
        using var json = System.Text.Json.JsonDocument.Parse(Files.Run(AssessKind.String, "ev_string6_discharge_0p3C.csv").ToJson());
        foreach (var name in new[] { "kind", "file", "fit", "unfit", "rows", "definition", "discharges", "charges", "cells", "weakest", "weakestBecause", "linkResistanceMilliohm", "linkOffsetV" })
            Assert.True(json.RootElement.TryGetProperty(name, out _), name);
        foreach (var name in new[] { "index", "endV", "remainingAh", "remainingSigmaAh", "resistance10sMilliohm", "restV" })
            Assert.True(json.RootElement.GetProperty("cells")[0].TryGetProperty(name, out _), name);
    }

    /// <summary>Two cells and one with a resistance of its own, discharged at 20 A from rest; curve 4.1 to 3.0 V over 10 Ah, falling fast at the end.</summary>
    private static string Simulated(double weakCapacity, double weakMilliohm)
    {
        static double V(double left, double capacity) => 3.0 + 1.1 * (left / capacity) - 0.5 * Math.Exp(-left / 0.3);
        var text = "time_s,current_A,cell1_V,cell2_V,cell3_V\n";
        for (var t = 0; t < 4000; t += 2)
        {
            double i = t < 60 ? 0 : -20, taken = Math.Max(0, t - 60) * 20 / 3600.0;
            double weak = V(weakCapacity - taken, weakCapacity) + i * weakMilliohm / 1000, sound = V(10 - taken, 10) + i * 1.0e-3;
            text += FormattableString.Invariant($"{t},{i},{sound:F4},{weak:F4},{sound + 0.001:F4}\n");
            if (weak < 2.9) break;
        }

        return text;
    }

    [Fact]
    public void A_cell_of_little_capacity_and_a_cell_of_high_resistance_are_told_apart()
    {
        var small = (StringReport)Files.Text(AssessKind.String, Simulated(8, 1.0));
        Assert.Equal(2, small.Weakest);
        Assert.StartsWith("low capacity, not resistance", small.WeakestBecause, StringComparison.Ordinal);
        var resistive = (StringReport)Files.Text(AssessKind.String, Simulated(10, 12));
        Assert.Equal(2, resistive.Weakest);
        Assert.StartsWith("high resistance", resistive.WeakestBecause, StringComparison.Ordinal);
    }

    [SharedFact("data/ev_cell_cycles_1C.csv")]
    public void One_cell_is_no_string() =>
        Assert.Contains(Files.Run(AssessKind.String, "ev_cell_cycles_1C.csv").Unfit, u => u.Reason == "not a string");
}
