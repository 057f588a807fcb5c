using CellWatch.Core.Bench;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Bench;

public class ChargeReaderTests
{
    private static readonly DateTimeOffset Began = new(2026, 3, 1, 10, 0, 0, TimeSpan.Zero);
    private static readonly ChannelMap Map = new(MadeCharge.Layout);
    private static readonly CellLimits Limits = new();

    private static ChargeReading Read(Func<int, bool>? left = null, Action<int, SnapshotBuffer>? change = null)
    {
        var reader = new ChargeReader(Map, Limits);
        for (var t = MadeCharge.RestEndS; t <= MadeCharge.EndS; t++)
            if (left?.Invoke(t) ?? true) reader.Add(MadeCharge.Scan(t, Began, change is null ? null : b => change(t, b)));
        return reader.Finish();
    }

    [Fact]
    public void Charge_limiting_cell_and_taper_come_out_as_they_were_made()
    {
        var r = Read();
        Assert.InRange(r.InAh, MadeCharge.InAh - 0.02, MadeCharge.InAh + 0.02);
        Assert.Equal("B07.4", Map.NameOf(r.LimitedBy));
        Assert.InRange((r.LimitedAtUnixMs!.Value - Began.ToUnixTimeMilliseconds()) / 1000.0, MadeCharge.TargetS - 6, MadeCharge.TargetS + 6);
        Assert.InRange(r.LimitedAtA, 57, 60.1);
        Assert.InRange(r.TaperS, 0.97 * MadeCharge.TaperS, 1.03 * MadeCharge.TaperS);
        Assert.True(r.LongestAtTargetS < ChargeReader.ObeysWithinS, $"{r.LongestAtTargetS} s");
        Assert.InRange(r.HighestV, 4.0999, 4.1001);
        // Energy by a sum over the same formula.
        double wh = 0;
        for (var t = MadeCharge.RestEndS; t < MadeCharge.EndS; t++)
            wh += Enumerable.Range(0, 6).Sum(g => MadeCharge.CellV(g, t) * MadeCharge.CurrentA(t)) / 3600;
        Assert.InRange(r.PackWh, 0.999 * wh, 1.001 * wh);
        Assert.Equal((0, 0.0), (r.Gaps.Count, r.NotCountedS));
        Assert.Contains(Began.AddSeconds(MadeCharge.CutS).ToUnixTimeMilliseconds(), r.ZeroUnixMs);
    }

    [Fact]
    public void A_gap_is_said_and_nothing_is_counted_or_drawn_across_it()
    {
        var whole = Read();
        var r = Read(t => t is < 800 or >= 860);
        var gap = Assert.Single(r.Gaps);
        Assert.Equal((Began.AddSeconds(799), 61.0), (gap.At, gap.LengthS));
        Assert.Equal(61, r.NotCountedS, 6);
        Assert.Equal(61 * 60 / 3600.0, whole.InAh - r.InAh, 3);
        Assert.Equal(61, r.LongestSilenceS, 6);
        Assert.Contains(r.Curve.CurrentA, double.IsNaN);
        Assert.DoesNotContain(whole.Curve.CurrentA, double.IsNaN);
    }

    [Fact]
    public void A_log_with_a_scan_every_ten_seconds_is_counted_but_its_data_were_not_fresh()
    {
        var r = Read(t => t % 10 == 0);
        Assert.InRange(r.InAh, MadeCharge.InAh - 0.1, MadeCharge.InAh + 0.1);
        Assert.Empty(r.Gaps);
        Assert.Equal((10.0, 10.0), (r.LongestSilenceS, r.FirstStepS));
        Assert.Contains("a channel silent for 5 s", Account(r).Stops);
    }

    [Fact]
    public void The_course_is_small_and_keeps_every_peak()
    {
        var r = Read(change: (t, b) =>
        {
            if (t == 1001) b.Values[b.Map.PackCurrent] = 75;
            if (t == 1100) b.Values[2] = 3.5;
        });
        Assert.InRange(r.Curve.TimeS.Length, 100, 420);
        Assert.Equal(75, r.Curve.CurrentA.Max());
        Assert.Equal(3.5, r.Curve.LowestV.Min());
        Assert.Equal(0, r.Curve.LeastA!.Min());
    }

    [Fact]
    public void A_current_that_stays_while_a_cell_is_at_its_target_did_not_obey()
    {
        var r = Read(change: (t, b) =>
        {
            if (t >= MadeCharge.BeginS) b.Values[b.Map.PackCurrent] = 60;
        });
        Assert.True(r.LongestAtTargetS >= ChargeReader.ObeysWithinS, $"{r.LongestAtTargetS} s");
        Assert.Contains("current does not fall while a cell is at its target for 10 s", Account(r).Stops);
        Assert.False(Account(r).CurrentObeyed);
    }

    [Fact]
    public void A_silent_cell_an_unproven_one_and_nobody_present_are_stops()
    {
        Assert.Equal(["a channel silent for 5 s"], Account(Read(change: (t, b) => b.Qualities[2] = t is > 900 and < 910 ? Quality.Stale : Quality.Good)).Stops);
        Assert.Equal(["a channel unproven"], Account(Read(change: (_, b) => b.Proven[2] = false)).Stops);
        Assert.Equal(["nobody confirmed presence for 30 min"], Account(Read(), present: false).Stops);
        Assert.Empty(Account(Read()).Stops);
    }

    [Fact]
    public void A_cut_off_counts_only_where_the_current_was_seen_to_fall()
    {
        Assert.Equal(Began.AddSeconds(MadeCharge.CutS + 20), Account(Read()).CutOffTriedAt);
        var without = Account(Read(change: (t, b) =>
        {
            if (t is >= MadeCharge.CutS and < MadeCharge.BeginS) b.Values[b.Map.PackCurrent] = 30;
        }));
        Assert.Null(without.CutOffTriedAt);
        Assert.Contains(without.Details!.Remarks, r => r.Contains("does not show the current fall to zero", StringComparison.Ordinal));
    }

    [Fact]
    public void An_alarm_of_the_log_is_the_stop_it_stands_for_and_among_the_events()
    {
        var alarm = new CellWatch.Core.Rules.AlarmView { Id = "heat-unexplained B07", Rule = "heat-unexplained", Priority = CellWatch.Core.Rules.AlarmPriority.High, State = CellWatch.Core.Rules.AlarmState.Unacknowledged, Word = "ACT NOW", Place = "B07", Message = "B07 warms 4 times as fast as the current explains.", DoFirst = "" };
        var step = new CellWatch.Core.Rules.AlarmTransition("heat-unexplained B07", CellWatch.Core.Rules.AlarmState.Normal, CellWatch.Core.Rules.AlarmState.Unacknowledged, 0, Began.AddSeconds(900).ToUnixTimeMilliseconds(), "condition", alarm);
        var record = Account(Read(), alarms: [new CellWatch.Core.History.AlarmRecord(1, step)]);
        Assert.Equal(["a temperature that the current does not explain"], record.Stops);
        Assert.Contains(record.Details!.Events, e => e.What == alarm.Message && e.At == Began.AddSeconds(900));
    }

    private static ChargeRecord Account(ChargeReading reading, bool present = true, IReadOnlyList<CellWatch.Core.History.AlarmRecord>? alarms = null)
    {
        CellWatch.Core.History.CommandRecord Command(long number, int s, string what) => new(number, Began.AddSeconds(s).ToUnixTimeMilliseconds(), "Ada", what, "{}", true, "Noted.");
        var commands = new List<CellWatch.Core.History.CommandRecord> { Command(1, MadeCharge.CutS + 20, "HandCutOffTried") };
        if (present) commands.Add(Command(2, 1500, "ConfirmPresence"));
        return ChargeAccount.Make(new ChargeOrder("first DC charge", ChargeKind.Dc), "cell log", reading, new ChargeTrail(alarms ?? [], commands, [], 40), [], Map, Limits, TimeSpan.Zero);
    }
}
