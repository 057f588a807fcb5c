using CellWatch.Core.Assess;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.Assess;

/// <summary>The reader is put to every measured file there is, traps included: what each is, whether it is fit for each question, and why not.</summary>
public class EveryFileTests
{
    /// <summary>For each file, what is asked and the reasons against, empty where there is nothing against; null: not a time series, whatever is asked.</summary>
    private static readonly Dictionary<string, (AssessKind Kind, bool Fit, string[] Reasons)[]?> Expected = new(StringComparer.Ordinal)
    {
        ["ev_string6_discharge_0p3C.csv"] = [(AssessKind.Capacity, true, []), (AssessKind.String, true, [])],
        ["ev_string6_discharge_2C.csv"] = [(AssessKind.Capacity, true, []), (AssessKind.String, true, [])],
        ["ev_string6_discharge_2p75C.csv"] = [(AssessKind.Capacity, true, []), (AssessKind.String, true, [])],
        ["ev_cell_hppc_25C.csv"] = [(AssessKind.Pulse, true, []), (AssessKind.Charge, true, []), (AssessKind.String, false, ["not a string"])],
        ["ev_cell_hppc_40C.csv"] = [(AssessKind.Pulse, true, []), (AssessKind.Charge, true, []), (AssessKind.String, false, ["not a string"])],
        ["ev_cell_cycles_1C.csv"] = [(AssessKind.Capacity, true, []), (AssessKind.Charge, true, []), (AssessKind.String, false, ["not a string"])],
        ["ev_cell_cycles_2C.csv"] = [(AssessKind.Capacity, true, []), (AssessKind.Charge, true, []), (AssessKind.String, false, ["not a string"])],
        ["ev_cell_C15_cycle_a.csv"] = [(AssessKind.Capacity, true, ["sense connection"]), (AssessKind.Pulse, false, ["sense connection"])],
        ["ev_cell_rest_48h_a.csv"] = [(AssessKind.Rest, false, ["still relaxing", "no sibling", "temperature not recorded"])],
        ["lfp_cell_slow_ocv_25C.csv"] = [(AssessKind.Capacity, true, [])],
        ["cyl21700_0p1C_25C.csv"] = [(AssessKind.Capacity, true, []), (AssessKind.Charge, true, [])],
        ["cyl21700_1C_25C.csv"] = [(AssessKind.Capacity, true, []), (AssessKind.Charge, true, [])],
        ["cyl21700_3Ah_multipulse.csv"] = [(AssessKind.Pulse, true, [])],
        ["cyl21700_pulse_6cells_25C.csv"] = [(AssessKind.Pulse, true, [])],
        ["phone_cell_C30_25C.csv"] = [(AssessKind.Capacity, true, ["tester counter differs"])],
        ["pouch_rate_25C_part1_clock_fault.csv"] = [(AssessKind.Capacity, true, ["clock went back"])],
        ["cyl21700_mean_ocv_25C.csv"] = null,
        ["ev_cell_cycles_1C_temperature.csv"] = null,
        ["ev_cell_cycles_2C_temperature.csv"] = null,
        ["reference_answers.csv"] = null,
        ["retired_cell_steps_NMC21Ah_no6.csv"] = null,
        ["retired_cells_pulse_LMO10Ah.csv"] = null,
        ["retired_cells_pulse_NMC21Ah.csv"] = null,
    };

    [SharedFact("data/reference_answers.csv")]
    public void No_file_is_left_out() =>
        Assert.Equal(Expected.Keys.Order(StringComparer.Ordinal), Directory.GetFiles(SharedMaterial.PathOf("data"), "*.csv").Select(f => Path.GetFileName(f)!).Order(StringComparer.Ordinal));

    [SharedFact("data/reference_answers.csv")]
    public void Each_is_judged_as_what_it_is_or_refused_in_a_sentence()
    {
        var wrong = new List<string>();
        foreach (var (file, asked) in Expected)
        {
            foreach (var kind in Enum.GetValues<AssessKind>())
            {
                var report = Files.Run(kind, file);
                var reasons = string.Join(", ", report.Unfit.Select(u => u.Reason).Distinct());
                if (asked is null && (report.Fit || reasons != "not a time series" || !AssessText.Verdict(report).StartsWith("Not fit: ", StringComparison.Ordinal))) wrong.Add($"{file} as {kind}: fit {report.Fit}, {reasons}");
                // Unfit is never said without a reason, and each reason has its sentence.
                if (!report.Fit && report.Unfit.Count == 0) wrong.Add($"{file} as {kind}: unfit for no reason");
                if (report.Unfit.Any(u => u.Detail.Length == 0)) wrong.Add($"{file} as {kind}: a reason without a sentence");
            }

            foreach (var (kind, fit, expected) in asked ?? [])
            {
                var report = Files.Run(kind, file);
                var reasons = report.Unfit.Select(u => u.Reason).Distinct().ToList();
                if (report.Fit != fit || expected.Except(reasons).Any() || expected.Length == 0 && reasons.Count > 0) wrong.Add($"{file} as {kind}: fit {report.Fit} ({string.Join(", ", reasons)}), expected fit {fit} ({string.Join(", ", expected)})");
            }
        }

        Assert.True(wrong.Count == 0, string.Join('\n', wrong));
    }
}
