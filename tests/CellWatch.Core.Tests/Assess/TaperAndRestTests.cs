using System.Globalization;
using System.Text.RegularExpressions;
using CellWatch.Core.Assess;
using CellWatch.Core.Estimation;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.Assess;

public class TaperAndRestTests
{
    // reference_answers.csv: time constants over the current window named in each row.
    [SharedTheory("data/ev_cell_cycles_1C.csv")]
    [InlineData("ev_cell_cycles_1C.csv", 1.5, 12)]
    [InlineData("ev_cell_cycles_2C.csv", 1.5, 12)]
    [InlineData("ev_cell_hppc_25C.csv", 0.8, 6.0)]
    [InlineData("ev_cell_hppc_40C.csv", 0.8, 6.0)]
    [InlineData("cyl21700_0p1C_25C.csv", 0.3, 1.4)]
    [InlineData("cyl21700_1C_25C.csv", 0.3, 1.4)]
    [InlineData("phone_cell_C30_25C.csv", 0.05, 0.15)]
    [InlineData("pouch_rate_25C_part1_clock_fault.csv", 0.70, 1.9)]
    public void Time_constants_agree_with_the_answers_within_three_percent(string file, double fromA, double toA)
    {
        var tapers = Files.Run<ChargeReport>(AssessKind.Charge, file, new AssessOptions(BetweenA: (fromA, toA))).Tapers;
        var answers = Files.Answers(file, "taper_tau_s").ToArray();
        Assert.NotEmpty(answers);
        Assert.Equal(answers.Length, tapers.Count);
        for (var i = 0; i < answers.Length; i++)
        {
            Assert.InRange(tapers[i].TimeConstantS!.Value / answers[i].Value, 0.97, 1.03);
            var r2 = Regex.Match(answers[i].Definition, @"(?<=R2=)[\d.]+", RegexOptions.None, TimeSpan.FromSeconds(1)).Value;
            Assert.Equal(double.Parse(r2, CultureInfo.InvariantCulture), tapers[i].RSquared!.Value, 0.01);
            Assert.Equal((fromA, toA), (tapers[i].FitFromA!.Value, tapers[i].FitToA!.Value));
        }
    }

    [SharedFact("data/ev_cell_cycles_1C.csv")]
    public void Without_a_window_it_fits_from_a_tenth_to_nine_tenths_of_the_charge_current()
    {
        var taper = Files.Run<ChargeReport>(AssessKind.Charge, "ev_cell_cycles_1C.csv").Tapers[0];
        Assert.Equal(1.53, taper.FitFromA!.Value, 2);
        Assert.Equal(13.77, taper.FitToA!.Value, 2);
        Assert.InRange(taper.TimeConstantS!.Value, 300, 360);
        Assert.Equal(0.99, taper.EndCurrentA, 9);
    }

    [SharedFact("data/ev_cell_cycles_1C.csv")]
    public void A_window_that_holds_no_rows_gives_no_figure_but_a_reason()
    {
        var report = Files.Run<ChargeReport>(AssessKind.Charge, "ev_cell_cycles_1C.csv", new AssessOptions(BetweenA: (100, 200)));
        Assert.All(report.Tapers, t => Assert.Null(t.TimeConstantS));
        Assert.All(report.Tapers, t => Assert.Contains("at least 3", t.Why, StringComparison.Ordinal));
        Assert.False(report.Fit);
    }

    [SharedFact("data/ev_string6_discharge_2C.csv")]
    public void A_file_without_a_charge_has_no_taper() =>
        Assert.Contains(Files.Run(AssessKind.Charge, "ev_string6_discharge_2C.csv").Unfit, u => u.Reason == "no taper");

    // Story 6.
    [SharedFact("data/ev_cell_rest_48h_a.csv")]
    public void Relaxation_is_not_a_leak()
    {
        var report = Files.Run<RestReport>(AssessKind.Rest, "ev_cell_rest_48h_a.csv");
        Assert.False(report.Fit);
        Assert.True(report.Relaxing);
        Assert.Null(report.LeakMilliampere);
        Assert.Equal("still relaxing, no sibling to compare, temperature not recorded", report.Why);
        Assert.Equal(-6.76, report.SlopeMvPerDay!.Value, 0.05); // reference_answers.csv, last 24 h
        Assert.InRange(report.SlopeSigmaMvPerDay!.Value, 0.01, 0.2);
        var text = AssessText.Render(report);
        Assert.Contains("still relaxing", text, StringComparison.Ordinal);
        Assert.DoesNotContain("-6.8", text, StringComparison.Ordinal);
    }

    [SharedFact("data/ev_cell_C15_cycle_a.csv")]
    public void Five_minutes_of_rest_tell_nothing()
    {
        var report = Files.Run<RestReport>(AssessKind.Rest, "ev_cell_C15_cycle_a.csv");
        Assert.False(report.Fit);
        Assert.Null(report.SlopeMvPerDay);
        Assert.Contains(report.Unfit, u => u.Reason == "no rest");
    }

    [Fact]
    public void Ten_days_of_rest_beside_siblings_give_a_leak_where_curve_and_capacity_are_given()
    {
        var random = new Random(5);
        var csv = "time_s,current_A,cell1_V,cell2_V,cell3_V,cell4_V,temp1_degC\n" + string.Concat(Enumerable.Range(0, 1440).Select(i =>
        {
            double Noise() => 0.0001 * (random.NextDouble() - 0.5);
            return FormattableString.Invariant($"{i * 600},0,{3.85 + Noise():F5},{3.851 - 0.001 * i / 144 + Noise():F5},{3.849 + Noise():F5},{3.85 + Noise():F5},20\n");
        }));
        var report = (RestReport)Files.Text(AssessKind.Rest, csv, new AssessOptions(CapacityAh: 110, CurveMvPerPercent: 8));
        Assert.False(report.Relaxing);
        Assert.Equal(5.73, report.LeakMilliampere!.Value, 0.2); // story 5
        Assert.Null(((RestReport)Files.Text(AssessKind.Rest, csv)).LeakMilliampere);
        Assert.Contains("not given", ((RestReport)Files.Text(AssessKind.Rest, csv)).Why, StringComparison.Ordinal);
    }
}
