using CellWatch.Core.Bench;
using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Bench;

public class BenchRecordsTests
{
    private static readonly DateTimeOffset At = new(2026, 2, 1, 8, 0, 0, TimeSpan.Zero);

    [Fact]
    public void Meter_and_front_end_that_disagree_are_flagged()
    {
        var outcome = Inspection.Judge(Entry(live: [3.850, 3.851, 3.850, 3.820, 3.850, 3.850]), 6);
        Assert.Equal(Verdict.Accept, outcome.Verdict);
        Assert.Contains(outcome.Flags, f => f.StartsWith("group 4: meter 3.850 V, front end 3.820 V", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData(1.9, Verdict.Reject)]
    [InlineData(2.5, Verdict.LowPowerOnly)]
    [InlineData(3.85, Verdict.Accept)]
    public void A_deeply_discharged_group_is_judged_by_its_voltage(double v, Verdict verdict) =>
        Assert.Equal(verdict, Inspection.Judge(Entry(meter: [v, 3.85, 3.85, 3.85, 3.85, 3.85]), 6).Verdict);

    [Fact]
    public void A_swollen_or_leaking_module_is_rejected()
    {
        Assert.Equal(Verdict.Reject, Inspection.Judge(Entry() with { SwellingMm = 3 }, 6).Verdict);
        Assert.Equal(Verdict.Reject, Inspection.Judge(Entry() with { Leak = true }, 6).Verdict);
    }

    [Fact]
    public void Readings_that_cannot_be_are_refused()
    {
        Assert.Contains("one group at a time", Assert.Throws<RefusedException>(() => Inspection.Judge(Entry(meter: [3.85, 7.7, 11.5, 15.4, 19.2, 23.1]), 6)).Message, StringComparison.Ordinal);
        Assert.Contains("degF", Assert.Throws<RefusedException>(() => Inspection.Judge(Entry() with { TemperatureDegC = 72 }, 6)).Message, StringComparison.Ordinal);
        Assert.Contains("6 group readings", Assert.Throws<RefusedException>(() => Inspection.Judge(Entry(meter: [3.85]), 6)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_surprising_reading_is_asked_for_twice_and_the_last_can_be_taken_back()
    {
        var entry = HandEntry.ForStack(6, 3.9).Enter(0, out _).Enter(3.91, out _);
        var doubted = entry.Enter(11.7, out var answer);
        Assert.Contains("7.8 was expected", answer, StringComparison.Ordinal);
        Assert.Equal(2, doubted.Taken.Length);
        var confirmed = doubted.Enter(11.7, out _);
        Assert.True(confirmed.Taken[^1].Confirmed);
        Assert.Equal(2, confirmed.Undo().Taken.Length);
        Assert.Throws<RefusedException>(() => entry.Enter(double.NaN, out _));
    }

    [Fact]
    public void A_capacity_run_is_attended_unless_its_cut_was_tried()
    {
        Assert.Throws<RefusedException>(() => RunCourse.Start("B07", RunMethod.Capacity, "load", attended: false, [], "Ada", At));
        var run = RunCourse.Start("B07", RunMethod.Capacity, "load", attended: true, [], "Ada", At);
        Assert.Throws<RefusedException>(() => RunCourse.SetAttended(run, false, "Ada", At));
        Assert.Throws<RefusedException>(() => RunCourse.CutTried(run, -37, -36.8, 0.2, "Ada", At));
        var tried = RunCourse.CutTried(run, -37, -0.05, 0.2, "Ada", At);
        Assert.True(RunCourse.SetAttended(tried, false, "Ada", At).CutArmed);
        Assert.False(RunCourse.Start("B08", RunMethod.Rest, "shelf", attended: false, [run], "Ada", At).Attended);
    }

    [Fact]
    public void An_interrupted_run_waits_for_a_decision_and_is_never_spliced()
    {
        var run = RunCourse.AddRaw(RunCourse.Start("B07", RunMethod.Capacity, "load", true, [], "Ada", At), new RawReference("a.csv", 100, "00"), "Ada", At);
        var interrupted = RunCourse.Interrupt(run, "no data for 40 s", At);
        Assert.Throws<RefusedException>(() => RunCourse.AddRaw(interrupted, new RawReference("b.csv", 10, "01"), "Ada", At));
        Assert.Throws<RefusedException>(() => RunCourse.Hold(interrupted, false, "", "Ada", At));
        var resumed = RunCourse.AddRaw(RunCourse.Hold(interrupted, false, "lead pulled, load off within 2 s", "Ada", At), new RawReference("b.csv", 10, "01"), "Ada", At);
        Assert.True(resumed.HasHole);
        Assert.Contains(resumed.Events, e => e.What.StartsWith("interrupted", StringComparison.Ordinal));
    }

    [Fact]
    public void A_module_is_in_one_run_at_a_time_and_a_discard_needs_its_reason()
    {
        var run = RunCourse.Start("B07", RunMethod.Rest, "shelf", false, [], "Ada", At);
        Assert.Throws<RefusedException>(() => RunCourse.Start("B07", RunMethod.Pulse, "load", true, [run], "Ada", At));
        Assert.Throws<RefusedException>(() => RunCourse.Discard(run, " ", "Ada", At));
        var over = RunCourse.Discard(run, "wrong module", "Ada", At);
        Assert.Equal("B07-rest-2", RunCourse.Start("B07", RunMethod.Rest, "shelf", false, [over], "Ada", At).Id);
    }

    [Fact]
    public void Eighteen_modules_rest_beside_one_load_and_the_queue_says_when_all_are_done()
    {
        var open = Enumerable.Range(1, 18).SelectMany(i => new[] { ($"B{i:00}", RunMethod.Capacity), ($"B{i:00}", RunMethod.Rest), ($"B{i:00}", RunMethod.Pulse) }).ToList();
        Rig[] rigs = [new("shelf", [RunMethod.Rest], 18, 24), new("load", [RunMethod.Capacity, RunMethod.Pulse], 1, 24)];
        var queue = BenchQueue.Plan(open, rigs, new StepHours(240, 12, 3), At);
        Assert.Equal(54, queue.Runs.Count);
        foreach (var module in queue.Runs.GroupBy(r => r.Module))
        {
            var ordered = module.OrderBy(r => r.From).ToList();
            for (var i = 1; i < ordered.Count; i++) Assert.True(ordered[i].From >= ordered[i - 1].To);
        }

        // The load alone needs 18 x 15 h = 270 h; the last module's rest adds to it.
        Assert.InRange((queue.AllDoneAt - At).TotalHours, 270, 18 * 15 + 240 + 15);
        Assert.Equal(At, queue.Next!.From);
    }

    [Fact]
    public void A_method_without_a_rig_is_said() =>
        Assert.Contains("pulse", Assert.Single(BenchQueue.Plan([("B01", RunMethod.Pulse)], [new Rig("shelf", [RunMethod.Rest], 18, 24)], new StepHours(), At).Unserved), StringComparison.Ordinal);

    [Fact]
    public void Five_milliampere_for_ninety_days_are_ten_point_eight_ampere_hours()
    {
        // the-job section 17: 5 mA x 90 days = 10.8 Ah.
        var date = StorageDate.Of([new StoredCell("B07.3", 10.8, new Uncertain(0, 0)), new StoredCell("B08.1", 40, new Uncertain(0, 0))], 5, At);
        Assert.Equal("B07.3", date.LowestCell);
        Assert.Equal(90, (date.Reaches - At).TotalDays, 6);
        Assert.Equal(30, (date.NextCheck - At).TotalDays, 6);
    }

    [Fact]
    public void The_early_end_counts_the_uncertainty_of_the_leak()
    {
        var date = StorageDate.Of([new StoredCell("B07.3", 10.8, new Uncertain(1, 1))], 4, At);
        Assert.Equal(90, (date.Reaches - At).TotalDays, 6);
        Assert.Equal(10800 / 6.96 / 24, (date.Earliest - At).TotalDays, 6);
    }

    [Fact]
    public void Unlike_tests_are_refused_with_what_differs()
    {
        var first = Point(103, At, 24);
        var outcome = HealthCheck.Judge([[first, Point(100, At.AddDays(180), 12)]]);
        Assert.Empty(outcome.Cells);
        Assert.Contains("12 degC against 24 degC", outcome.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_fade_smaller_than_its_uncertainty_is_not_a_fact()
    {
        var small = HealthCheck.Judge([[Point(103, At, 24), Point(102.4, At.AddDays(180), 24)]]);
        Assert.False(small.Cells[0].IsFact);
        Assert.Contains("no fade", small.Sentence, StringComparison.Ordinal);
        var large = HealthCheck.Judge([[Point(103, At, 24), Point(99, At.AddDays(180), 24)]]);
        Assert.True(large.Cells[0].IsFact);
        Assert.Equal(4, large.Cells[0].FadeAh.Value, 9);
        Assert.Equal(Math.Sqrt(2) * 0.6, large.Cells[0].FadeAh.Sigma, 9);
    }

    [Fact]
    public void A_module_that_came_in_since_is_kept_apart() =>
        Assert.Contains("B19", HealthCheck.Judge([[Point(104, At, 24) with { Cell = "B19.1" }]]).Sentence, StringComparison.Ordinal);

    [Fact]
    public void A_fault_is_closed_only_with_a_measurement_after_the_fix()
    {
        var file = new FaultFile { Id = "F1", Symptom = "B02.2 and B02.3 mirror", EvidenceWindow = "14:21-14:41", Tests = ["hand meter: 3.901, 3.902 V"], Finding = "corroded tap", Fix = "cleaned" };
        Assert.Contains("measurement after the fix", Assert.Throws<RefusedException>(() => FaultTriage.Close(file)).Message, StringComparison.Ordinal);
        Assert.True(FaultTriage.Close(file with { ProofAfterFix = "bleed 124 mA: 2 mV" }).Closed);
    }

    [Fact]
    public void A_charge_with_anything_unknown_is_not_supervised()
    {
        var good = new ChargeFacts(ChargeKind.Ac, true, true, "all proven", true, 0.4, "red button on the wall box", 0.5, true, "1.1 MOhm", 21, 23, 35, 4, 1, true, false, false);
        var limits = new Core.Pack.CellLimits();
        Assert.All(ChargeLadder.Preconditions(good, limits), p => Assert.True(p.Met, p.Name));
        ChargeFacts[] bad =
        [
            good with { CellTypeChosen = false }, good with { AllProven = false }, good with { FrontEndsIsolated = null }, good with { FrontEndsIsolated = false }, good with { DataAgeS = 6 },
            good with { HandCutOff = "" }, good with { CutOffTriedHoursAgo = null }, good with { IsolationPassed = false }, good with { ColdestDegC = 3 }, good with { PresenceMinutesAgo = 31 },
            good with { PresenceMinutesAgo = null }, good with { PrechargeGood = false }, good with { ChargePercent = 80 }, good with { Kind = ChargeKind.Dc, ColdestDegC = 26, HottestDegC = 27 },
        ];
        Assert.All(bad, f => Assert.Contains(ChargeLadder.Preconditions(f, limits), p => !p.Met));
        Assert.Contains("Do not touch the laptop", ChargeLadder.Preconditions(good with { FrontEndsIsolated = null }, limits).Single(p => !p.Met).Sentence, StringComparison.Ordinal);
    }

    private static CapacityPoint Point(double ah, DateTimeOffset at, double degC) => new("B07.3", new Uncertain(ah, 0.6), new TestConditions(at, "full discharge", degC, 37, 100, 0));

    private static InspectionEntry Entry(double[]? meter = null, double[]? live = null)
    {
        var v = meter ?? [3.85, 3.85, 3.85, 3.85, 3.85, 3.85];
        return new InspectionEntry(v, live ?? [], v.Sum(), 0.1, 19, 50, false, false, "clean", "meter 2, calibrated 2026-01");
    }
}
