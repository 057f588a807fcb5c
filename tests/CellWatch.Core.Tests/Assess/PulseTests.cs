using System.Globalization;
using System.Text.RegularExpressions;
using CellWatch.Core.Assess;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.Assess;

public class PulseTests
{
    private static double TimeIn(string selector) =>
        double.Parse(Regex.Match(selector, @"(?<=t0=)[\d.]+", RegexOptions.None, TimeSpan.FromSeconds(1)).Value, CultureInfo.InvariantCulture);

    // reference_answers.csv, all pulse rows of both files.
    [SharedTheory("data/ev_cell_hppc_25C.csv")]
    [InlineData("ev_cell_hppc_25C.csv")]
    [InlineData("ev_cell_hppc_40C.csv")]
    public void Pulses_of_a_recorded_pulse_test_agree_with_the_answers(string file)
    {
        var report = Files.Run<PulseReport>(AssessKind.Pulse, file);
        Assert.Equal(20, report.Pulses.Count);
        var checkedRows = 0;
        void Check(string quantity, bool isCharge, Func<Pulse, double?> value)
        {
            foreach (var (_, selector, expected, _) in Files.Answers(file, quantity))
            {
                var t0 = TimeIn(selector);
                var pulse = report.Pulses.Single(p => isCharge ? p.CurrentA > 0 && p.StartS - t0 is > 60 and < 80 : Math.Abs(p.StartS - t0) < 0.01);
                Assert.InRange(value(pulse)!.Value / expected, 0.99, 1.01);
                checkedRows++;
            }
        }

        Check("R10s_discharge_mOhm", false, p => p.Resistance10sMilliohm);
        Check("R30s_discharge_mOhm", false, p => p.ResistanceEndMilliohm);
        Check("R10s_charge_mOhm", true, p => p.Resistance10sMilliohm);
        Check("rest_V_before_pulse", false, p => p.RestV);
        Assert.Equal(40, checkedRows);
        Assert.Equal([true, .. Enumerable.Repeat(false, 9)], report.Pulses.Where(p => p.CurrentA > 0).Select(p => p.CutShort)); // the first is cut by the 4.2 V limit
        Assert.All(report.Pulses.Where(p => p.CurrentA < 0), p => Assert.Equal(1.0 / 30, p.PlusMinusMilliohm, 3));
    }

    // reference_answers.csv: end of pulse of six cells at nine levels, 54 rows.
    [SharedFact("data/cyl21700_pulse_6cells_25C.csv")]
    public void Pulses_of_six_cells_at_nine_levels_agree_with_the_answers()
    {
        var report = Files.Run<PulseReport>(AssessKind.Pulse, "cyl21700_pulse_6cells_25C.csv");
        Assert.Equal(54, report.Pulses.Count);
        var answers = Files.Answers("cyl21700_pulse_6cells_25C.csv", "R_end_of_pulse_mOhm").ToArray();
        Assert.Equal(54, answers.Length);
        foreach (var (_, selector, expected, _) in answers)
        {
            var words = selector.Split(' '); // soc 90 cell 1
            var pulse = report.Pulses.Single(p => p.Record == $"cell {words[3]} soc_percent {words[1]}");
            Assert.InRange(pulse.ResistanceEndMilliohm!.Value / expected, 0.99, 1.01);
            // The answers are for the last row; one record jumps by 3 mV between two rows of one instant there.
            if (pulse.Resistance10sMilliohm is { } ten) Assert.InRange(ten / expected, 0.98, 1.02);
            Assert.Contains("rest before the pulse", pulse.Why, StringComparison.Ordinal);
        }
    }

    [SharedFact("data/cyl21700_3Ah_multipulse.csv")]
    public void Pulses_of_three_and_six_amperes_agree_with_the_answers()
    {
        var report = Files.Run<PulseReport>(AssessKind.Pulse, "cyl21700_3Ah_multipulse.csv");
        Assert.InRange(report.Pulses.First(p => p.CurrentA is < -2.9 and > -3.1).Resistance10sMilliohm!.Value / 20.66, 0.99, 1.01);
        Assert.InRange(report.Pulses.First(p => p.CurrentA < -5.9).Resistance10sMilliohm!.Value / 19.72, 0.99, 1.01);
    }

    private static string Csv(Func<int, (double I, double V)> at, int rows) =>
        "time_s,current_A,voltage_V\n" + string.Concat(Enumerable.Range(0, rows).Select(t => FormattableString.Invariant($"{t},{at(t).I},{at(t).V:F4}\n")));

    [Theory]
    [InlineData(12, 1)] // 12 s of rest, 100 s of load: a pulse
    [InlineData(5, 0)] // rest too short
    public void A_pulse_needs_ten_seconds_of_rest_before_it(int restS, int pulses)
    {
        var report = (PulseReport)Files.Text(AssessKind.Pulse, Csv(t => t < 20 ? (-10, 3.6) : t < 21 + restS ? (0, 3.7) : t < 121 + restS ? (-10, 3.68) : (0, 3.7), 200), new AssessOptions(CapacityAh: 30));
        Assert.Equal(pulses, report.Pulses.Count(p => p.StartS > 0));
    }

    [Fact]
    public void A_load_of_more_than_three_minutes_is_no_pulse()
    {
        var report = (PulseReport)Files.Text(AssessKind.Pulse, Csv(t => t < 20 ? (0, 3.7) : (-10, 3.68), 250));
        Assert.Empty(report.Pulses);
        Assert.False(report.Fit);
        Assert.Contains(report.Unfit, u => u.Reason == "no pulse");
    }

    [Fact]
    public void A_short_pulse_has_no_ten_second_value_and_says_why()
    {
        var report = (PulseReport)Files.Text(AssessKind.Pulse, Csv(t => t < 20 ? (0, 3.7) : t < 25 ? (-10, 3.68) : (0, 3.7), 60));
        var pulse = Assert.Single(report.Pulses);
        Assert.Equal(2.0, pulse.Resistance2sMilliohm!.Value, 6);
        Assert.Null(pulse.Resistance10sMilliohm);
        Assert.Contains("10 s", pulse.Why, StringComparison.Ordinal);
        Assert.Contains("\"resistance10sMilliohm\": null", report.ToJson(), StringComparison.Ordinal);
    }

    [Fact]
    public void A_current_that_wanders_is_no_pulse() =>
        Assert.Empty(((PulseReport)Files.Text(AssessKind.Pulse, Csv(t => t < 20 ? (0, 3.7) : t < 60 ? (-10 - 0.2 * (t - 20), 3.68) : (0, 3.7), 90))).Pulses);
}
