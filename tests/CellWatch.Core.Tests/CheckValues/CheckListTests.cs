using System.Text.RegularExpressions;
using CellWatch.Core.Tests.Estimation;
using CellWatch.Core.Tests.Imbalance;
using CellWatch.Core.Tests.Planning;
using CellWatch.Core.Tests.Rules;
using CellWatch.Core.Tests.Statistics;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.CheckValues;

/// <summary>Which test holds which numbered check of the battery-maths reference; a number without a test fails here.</summary>
public class CheckListTests
{
    private static readonly Dictionary<string, (Type In, string Test)[]> TestsOf = new()
    {
        ["2.1"] = [(typeof(CircuitAndPulseTests), nameof(CircuitAndPulseTests.Ten_seconds_under_load_come_out_the_same_in_one_step_or_ten)), (typeof(CircuitAndPulseTests), nameof(CircuitAndPulseTests.Forward_Euler_would_be_half_a_millivolt_off))],
        ["3.1"] = [(typeof(CircuitAndPulseTests), nameof(CircuitAndPulseTests.Pulse_resistance_and_power))],
        ["3.2"] = [(typeof(CircuitAndPulseTests), nameof(CircuitAndPulseTests.Resistance_from_several_currents_is_the_slope_of_a_line))],
        ["4.1"] = [(typeof(CircuitAndPulseTests), nameof(CircuitAndPulseTests.A_third_of_the_rating_and_state_of_health))],
        ["5.1"] = [(typeof(ChargeCounterTests), nameof(ChargeCounterTests.A_ramp_counts_exactly)), (typeof(ChargeCounterTests), nameof(ChargeCounterTests.Counting_by_the_value_before_would_lose_a_sixth))],
        ["5.2"] = [(typeof(ChargeCounterTests), nameof(ChargeCounterTests.A_quarter_of_a_sine_in_five_steps)), (typeof(ChargeCounterTests), nameof(ChargeCounterTests.Counting_by_the_value_before_would_lose_a_sixth))],
        ["5.3"] = [(typeof(ChargeCounterTests), nameof(ChargeCounterTests.Errors_of_a_sensor))],
        ["5.4"] = [(typeof(ChargeCounterTests), nameof(ChargeCounterTests.A_gain_error_is_counted_in_full))],
        ["5.5"] = [(typeof(ChargeCounterTests), nameof(ChargeCounterTests.Errors_of_a_sensor))],
        ["5.6"] = [(typeof(ChargeCounterTests), nameof(ChargeCounterTests.Errors_of_a_sensor))],
        ["6.1"] = [(typeof(SocFilterStepTests), nameof(SocFilterStepTests.One_step_agrees_to_every_printed_digit))],
        ["6.2"] = [(typeof(SocFilterStepTests), nameof(SocFilterStepTests.Three_microvolts_a_second_are_relaxed_by_the_common_limit_and_not_by_the_strict_one))],
        ["7.1"] = [(typeof(CapacityFitTests), nameof(CapacityFitTests.With_a_constant_ratio_the_recursion_equals_total_least_squares)), (typeof(CapacityFitTests), nameof(CapacityFitTests.Sums_without_scale))],
        ["7.2"] = [(typeof(CapacityFitTests), nameof(CapacityFitTests.With_deviations_that_differ_it_gives_the_approximate_answer)), (typeof(CapacityFitTests), nameof(CapacityFitTests.The_exact_weighted_answer_lies_within_a_hundredth_of_the_recursion))],
        ["8.1"] = [(typeof(RobustTests), nameof(RobustTests.Modified_scores_of_the_handbook_data_flag_the_last_value_only))],
        ["8.2"] = [(typeof(RobustTests), nameof(RobustTests.One_cell_of_twelve_stands_out_by_its_modified_score_but_not_by_three_sigma))],
        ["8.3"] = [(typeof(RobustTests), nameof(RobustTests.Hampel_replaces_the_centre_that_stands_out))],
        ["8.4"] = [(typeof(GrubbsTests), nameof(GrubbsTests.The_handbook_example_gives_its_published_statistic_and_limit)), (typeof(GrubbsTests), nameof(GrubbsTests.Critical_values_agree_with_the_table))],
        ["9.1"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Four_causes_that_were_put_in_come_out)), (typeof(DeviationSumsTests), nameof(DeviationSumsTests.The_four_signatures_come_back_as_they_were_put_in))],
        ["9.2"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Bleeding_takes_this_long))],
        ["9.3"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Bleeding_takes_this_long))],
        ["9.4"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Bleeding_takes_this_long)), (typeof(BalancePlanTests), nameof(BalancePlanTests.Twelve_cells_are_done_after_7_24_hours_with_2_75_Ah_and_11_3_Wh))],
        ["9.5"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Bleeding_takes_this_long))],
        ["10.1"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Tapers_end_when_the_fit_says))],
        ["10.2"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Tapers_end_when_the_fit_says))],
        ["10.3"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Tapers_end_when_the_fit_says))],
        ["10.4"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.The_charge_current_is_set_by_the_cell_that_reaches_the_limit_first))],
        ["10.5"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Zones_of_the_guideline))],
        ["11.2"] = [(typeof(ThermistorTests), nameof(ThermistorTests.Divider_counts_and_their_faults))],
        ["12.1"] = [(typeof(SafetyAndThermalTests), nameof(SafetyAndThermalTests.The_weaker_pole_comes_out))],
        ["12.2"] = [(typeof(SafetyAndThermalTests), nameof(SafetyAndThermalTests.The_meter_does_not_spoil_it))],
        ["12.3"] = [(typeof(SafetyAndThermalTests), nameof(SafetyAndThermalTests.Precharge_of_a_published_example))],
        ["12.4"] = [(typeof(SafetyAndThermalTests), nameof(SafetyAndThermalTests.Precharge_of_a_400_V_pack))],
        ["13.1"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.A_string_gives_what_its_cells_allow))],
        ["13.2"] = [(typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Parallel_joining_axles_and_joints))],
        ["13.3"] = [(typeof(FittingTests), nameof(FittingTests.Support_loads_by_moments_agree_with_the_worked_case)), (typeof(ImbalanceMathsTests), nameof(ImbalanceMathsTests.Parallel_joining_axles_and_joints))],
        ["14.1"] = [(typeof(SafetyAndThermalTests), nameof(SafetyAndThermalTests.Heat_of_a_cell))],
        ["14.2"] = [(typeof(SafetyAndThermalTests), nameof(SafetyAndThermalTests.Heat_of_a_cell))],
        ["15.1"] = [(typeof(PersistenceTests), nameof(PersistenceTests.With_deadband_and_delays_the_high_alarm_is_active_at_7_and_clears_at_20)), (typeof(PersistenceTests), nameof(PersistenceTests.Without_deadband_and_delays_it_comes_and_goes_twice)), (typeof(PersistenceTests), nameof(PersistenceTests.With_the_deadband_alone_it_is_active_at_1_and_clears_at_12))],
        ["15.2"] = [(typeof(PersistenceTests), nameof(PersistenceTests.A_low_limit_is_active_at_5_and_clears_at_14))],
        ["15.3"] = [(typeof(AlarmLifeTests), nameof(AlarmLifeTests.Activations_at_0_20_45_90_and_300_s_are_chattering)), (typeof(AlarmLifeTests), nameof(AlarmLifeTests.Eleven_activations_spread_over_ten_minutes_are_no_flood_and_one_more_is))],
    };

    [SharedFact("reference/battery-maths.md")]
    public void Every_numbered_check_of_the_reference_has_its_test()
    {
        var text = File.ReadAllText(SharedMaterial.PathOf("reference/battery-maths.md"));
        var numbers = Regex.Matches(text, @"(?:^Check |^\| |check )(?<n>\d{1,2}\.\d)(?=[ :,|.])", RegexOptions.Multiline | RegexOptions.ExplicitCapture, TimeSpan.FromSeconds(5))
            .Select(m => m.Groups["n"].Value).Distinct().ToList();
        Assert.True(numbers.Count >= 40, $"only {numbers.Count} numbers were found: {string.Join(' ', numbers)}");
        Assert.Empty(numbers.Except(TestsOf.Keys));
        Assert.Empty(TestsOf.Keys.Except(numbers));
    }

    [Fact]
    public void Each_test_that_is_named_is_run() => Assert.All(TestsOf.Values.SelectMany(t => t), t =>
        Assert.NotEmpty(t.In.GetMethod(t.Test)!.GetCustomAttributes(typeof(FactAttribute), inherit: true)));
}
