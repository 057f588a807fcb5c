using System.Globalization;
using System.Text.RegularExpressions;
using CellWatch.Core.Assess;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.Assess;

public class CapacityTests
{
    [SharedTheory("data/ev_string6_discharge_0p3C.csv")]
    [InlineData("ev_string6_discharge_0p3C.csv", 54.901)]
    [InlineData("ev_string6_discharge_2C.csv", 55.398)]
    [InlineData("ev_string6_discharge_2p75C.csv", 54.879)]
    public void String_files_count_within_a_hundredth(string file, double ah)
    {
        var report = Files.Run<CapacityReport>(AssessKind.Capacity, file);
        var run = Assert.Single(report.Discharges);
        Assert.Equal(ah, run.ChargeAh!.Value, 0.01);
        Assert.Equal(1, run.EndedBy);
        Assert.Empty(report.Charges);
        Assert.True(report.Fit);
        Assert.Empty(report.Unfit);
    }

    // reference_answers.csv: absolute trapezoid over the rows of each step.
    [SharedTheory("data/ev_cell_cycles_1C.csv")]
    [InlineData("ev_cell_cycles_1C.csv")]
    [InlineData("ev_cell_cycles_2C.csv")]
    public void Cell_files_count_within_a_thousandth(string file)
    {
        var report = Files.Run<CapacityReport>(AssessKind.Capacity, file);
        var answers = Files.Answers(file, "step_Ah").Where(a => a.Definition.StartsWith("absolute", StringComparison.Ordinal)).ToArray();
        Assert.InRange(answers.Length, 9, 10);
        foreach (var (_, selector, value, _) in answers)
        {
            var start = double.Parse(Regex.Match(selector, @"(?<=t=)\d+(\.\d)?", RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(1)).Value, CultureInfo.InvariantCulture);
            var runs = selector.StartsWith("charge", StringComparison.Ordinal) ? report.Charges : report.Discharges;
            var run = runs.Single(r => Math.Abs(r.StartS - start) < 2);
            Assert.InRange(run.ChargeAh!.Value / value, 0.999, 1.001);
            Assert.InRange(run.TesterAh!.Value, value - 0.03, value + 0.03);
        }
    }

    [SharedTheory("data/lfp_cell_slow_ocv_25C.csv")]
    [InlineData("cyl21700_0p1C_25C.csv", 4.9446, 4.8922)]
    [InlineData("cyl21700_1C_25C.csv", 4.7825, 4.7366)]
    [InlineData("lfp_cell_slow_ocv_25C.csv", 2.0601, 2.0629)]
    [InlineData("phone_cell_C30_25C.csv", 3.8552, 3.8022 + 0.0366)]
    [InlineData("pouch_rate_25C_part1_clock_fault.csv", 7.2797, 4.0428)]
    [InlineData("ev_cell_C15_cycle_a.csv", 30.097, 29.997)]
    public void Other_files_count_within_a_thousandth(string file, double outAh, double inAh)
    {
        var report = Files.Run<CapacityReport>(AssessKind.Capacity, file);
        Assert.InRange(report.Discharges.Max(r => r.ChargeAh)!.Value / outAh, 0.999, 1.001);
        Assert.InRange(report.Charges.Max(r => r.ChargeAh)!.Value / inAh, 0.999, 1.001);
        Assert.True(report.Fit);
    }

    [SharedFact("data/lfp_cell_slow_ocv_25C.csv")]
    public void A_column_of_scripts_splits_the_file_into_records()
    {
        var report = Files.Run<CapacityReport>(AssessKind.Capacity, "lfp_cell_slow_ocv_25C.csv");
        Assert.Equal("script slow_discharge", Assert.Single(report.Discharges).Record);
        Assert.Equal("script slow_charge", Assert.Single(report.Charges).Record);
        Assert.Equal(0, report.Rows.Marked);
    }

    // Story 9.
    [SharedFact("data/pouch_rate_25C_part1_clock_fault.csv")]
    public void Rows_whose_clock_went_back_are_marked_and_not_used()
    {
        var report = Files.Run<CapacityReport>(AssessKind.Capacity, "pouch_rate_25C_part1_clock_fault.csv");
        Assert.Equal(new AssessRows(5660, 5657, 3), report.Rows);
        Assert.Equal(7.280, report.Discharges.Max(r => r.ChargeAh)!.Value, 0.001);
        var clock = report.Unfit.Single(u => u.Reason == "clock went back");
        Assert.NotNull(clock.AtS);
        Assert.Contains("3 rows", clock.Detail, StringComparison.Ordinal);
        Assert.Contains("clock of the tester stepped", AssessText.Render(report), StringComparison.Ordinal);
    }

    [SharedFact("data/phone_cell_C30_25C.csv")]
    public void A_tester_counter_that_runs_low_is_shown_beside_the_own_count()
    {
        var report = Files.Run<CapacityReport>(AssessKind.Capacity, "phone_cell_C30_25C.csv");
        var run = report.Discharges.Single();
        Assert.Equal(3.716, run.TesterAh!.Value, 0.001);
        Assert.Contains("-0.139", report.Unfit.Single(u => u.Reason == "tester counter differs").Detail, StringComparison.Ordinal);
    }

    // Story 8: apparent 112 to 125 mOhm in the answers.
    [SharedTheory("data/ev_cell_C15_cycle_a.csv")]
    [InlineData(AssessKind.Capacity)]
    [InlineData(AssessKind.Pulse)]
    [InlineData(AssessKind.Charge)]
    [InlineData(AssessKind.String)]
    public void A_jump_that_no_cell_makes_points_to_the_sense_connection(AssessKind kind)
    {
        var report = Files.Run(kind, "ev_cell_C15_cycle_a.csv");
        var sense = report.Unfit.Single(u => u.Reason == "sense connection");
        Assert.Contains("112 to 125 mOhm", sense.Detail, StringComparison.Ordinal);
        Assert.Contains("not believable", sense.Detail, StringComparison.Ordinal);
        Assert.InRange(sense.AtS!.Value, 49930, 49934);
        if (report is PulseReport pulses) Assert.All(pulses.Pulses, p => Assert.Null(p.Resistance10sMilliohm));
    }

    [SharedTheory("data/ev_cell_hppc_25C.csv")]
    [InlineData("ev_cell_hppc_25C.csv")]
    [InlineData("ev_cell_hppc_40C.csv")]
    [InlineData("ev_cell_cycles_1C.csv")]
    [InlineData("ev_cell_cycles_2C.csv")]
    [InlineData("cyl21700_0p1C_25C.csv")]
    [InlineData("cyl21700_1C_25C.csv")]
    [InlineData("cyl21700_3Ah_multipulse.csv")]
    [InlineData("cyl21700_pulse_6cells_25C.csv")]
    [InlineData("lfp_cell_slow_ocv_25C.csv")]
    [InlineData("phone_cell_C30_25C.csv")]
    [InlineData("pouch_rate_25C_part1_clock_fault.csv")]
    [InlineData("ev_string6_discharge_2C.csv")]
    public void A_sound_connection_is_not_accused(string file) =>
        Assert.DoesNotContain(Files.Run(AssessKind.Capacity, file).Unfit, u => u.Reason == "sense connection");

    [SharedTheory("data/retired_cells_pulse_LMO10Ah.csv")]
    [InlineData("retired_cells_pulse_LMO10Ah.csv")]
    [InlineData("retired_cells_pulse_NMC21Ah.csv")]
    [InlineData("retired_cell_steps_NMC21Ah_no6.csv")]
    [InlineData("cyl21700_mean_ocv_25C.csv")]
    [InlineData("ev_cell_cycles_1C_temperature.csv")]
    [InlineData("ev_cell_cycles_2C_temperature.csv")]
    [InlineData("reference_answers.csv")]
    public void What_is_no_time_series_is_refused_in_a_sentence(string file)
    {
        foreach (var kind in Enum.GetValues<AssessKind>())
        {
            var report = Files.Run(kind, file);
            Assert.False(report.Fit);
            Assert.Equal("not a time series", Assert.Single(report.Unfit).Reason);
            Assert.StartsWith("Not fit: This is not a time series", AssessText.Verdict(report), StringComparison.Ordinal);
        }
    }

    [Fact]
    public void A_gap_under_current_leaves_the_charge_unknown_and_says_so()
    {
        var rows = string.Concat(Enumerable.Range(0, 50).Select(i => FormattableString.Invariant($"{(i < 25 ? i : i + 5000)},-10,3.7\n")));
        var report = (CapacityReport)Files.Text(AssessKind.Capacity, "time_s,current_A,voltage_V\n" + rows);
        Assert.Null(report.Discharges[0].ChargeAh);
        Assert.Contains("gap", report.Discharges[0].Why, StringComparison.Ordinal);
        Assert.Contains("\"chargeAh\": null", report.ToJson(), StringComparison.Ordinal);
    }

    [Fact]
    public void Labels_of_the_battery_data_format_and_other_units_are_understood()
    {
        var bdf = (CapacityReport)Files.Text(AssessKind.Capacity, "\uFEFFTest Time / s,Current / A,Voltage / V,Surface Temperature / degC\r\n0,-36,3.7,25\r\n50,-36,3.7,25\r\n100,-36,3.6,27\r\n");
        Assert.Equal(1, bdf.Discharges[0].ChargeAh!.Value, 9);
        Assert.Equal(25.667, bdf.Discharges[0].MeanTemperatureDegC!.Value, 3);
        var milli = (CapacityReport)Files.Text(AssessKind.Capacity, "time_min,current_mA,voltage_mV\n0,600,3700\n1,600,3800\n2,600,3900\n");
        Assert.Equal(0.02, milli.Charges[0].ChargeAh!.Value, 9);
        Assert.Equal(0.02 * 3.8, milli.Charges[0].EnergyWh!.Value, 9);
    }

    [Fact]
    public void Rows_that_cannot_be_read_are_counted_and_left_out()
    {
        var report = Files.Text(AssessKind.Capacity, "time_s,current_A,voltage_V\n0,-10,3.7\n1,-10,\n2,-10,3.7\n3,-10,3.7\nTotal Number of Data Lines\n4,-10,3.7\n");
        Assert.Equal(new AssessRows(6, 4, 2), report.Rows);
        Assert.Contains(report.Unfit, u => u.Reason == "value missing");
        Assert.Contains(report.Unfit, u => u.Reason == "row not readable" && u.Detail.Contains("line 6", StringComparison.Ordinal));
    }

    [Fact]
    public void An_empty_file_is_an_error_that_says_what_is_needed() =>
        Assert.Contains("header row", Assert.Throws<FormatException>(() => Files.Text(AssessKind.Capacity, "")).Message, StringComparison.Ordinal);

    [SharedFact("data/ev_cell_cycles_1C.csv")]
    public void The_json_has_the_agreed_names()
    {
        using var json = System.Text.Json.JsonDocument.Parse(Files.Run(AssessKind.Capacity, "ev_cell_cycles_1C.csv").ToJson());
        Assert.Equal(["kind", "file", "fit", "unfit", "rows", "definition", "discharges", "charges"], json.RootElement.EnumerateObject().Select(p => p.Name));
        var run = json.RootElement.GetProperty("discharges")[0];
        foreach (var name in new[] { "startS", "endS", "chargeAh", "energyWh", "endedBy", "meanTemperatureDegC" }) Assert.True(run.TryGetProperty(name, out _), name);
        foreach (var name in new[] { "read", "used", "marked" }) Assert.True(json.RootElement.GetProperty("rows").TryGetProperty(name, out _), name);
    }
}
