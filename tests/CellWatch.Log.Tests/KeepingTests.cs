using CellWatch.Core.History;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Log.Tests;

/// <summary>What stays at full rate, what the forecast says, and the change of the clocks in autumn.</summary>
public sealed class KeepingTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Ten_minutes_before_and_after_an_alarm_stay_at_full_rate_when_the_days_around_are_thinned()
    {
        var pack = new SyntheticPack(modules: 1) { PeriodUs = 10_000_000 };
        var written = pack.Next(3 * 8640);
        var alarmAt = written[4000];
        await using var log = CellLog.Open(_folder.File(), new CellLogOptions { Retention = new Retention { FullRateDays = 0.25, FullRateAtLeastDays = 0.1 }, LookAtRoomEveryS = 0 });
        await log.AppendAllAsync(written[..4100]);
        log.RecordAlarm(Raised(alarmAt.Time));
        await log.AppendAllAsync(written[4100..]);
        log.RecordEvent(EventKinds.Mark, "look", written[^1].Time);
        await FaultTests.UntilAsync(async () => (await log.ReadEventsAsync(TimeRange.All)).Any(e => e.Kind == EventKinds.Thinned));
        await log.FlushAsync();

        var frozen = Assert.Single(await log.ReadFrozenAsync());
        Assert.Equal("cell-high.B01.2", frozen.Reason);
        Assert.Equal(new TimeRange(alarmAt.Time.WallUnixMs - 600_000, alarmAt.Time.WallUnixMs + 600_000), frozen.Range);
        var left = await CellLogTests.ReadAll(log);
        var kept = left.Where(s => s.Time.WallUnixMs >= frozen.Range.FromUnixMs && s.Time.WallUnixMs < frozen.Range.ToUnixMs).ToList();
        CellLogTests.AssertSame(written[3940..4060], kept);
        // A day before and half a day after it nothing is left at full rate.
        Assert.DoesNotContain(left, s => s.Sequence is < 3000 or (> 5000 and < 15_000));
    }

    [Fact]
    public async Task The_forecast_says_how_long_there_is_room_and_when_thinning_has_to_begin()
    {
        var free = 1L << 40;
        var rule = new Retention { FullRateDays = 30, LeaveFreeBytes = 0, FullRateAtLeastDays = 1 };
        await using var log = CellLog.Open(_folder.File(), new CellLogOptions { Retention = rule, FreeBytes = _ => Interlocked.Read(ref free) });
        await log.AppendAllAsync(new SyntheticPack(modules: 2).Next(7200));
        var ample = await log.ReadStorageAsync();
        Assert.Equal(double.PositiveInfinity, ample.DaysLeft);
        Assert.Equal(double.PositiveInfinity, ample.DaysToThinning);
        Assert.True(ample.BytesPerDay > 0);

        // Room for ten days at full rate: thinned from then on, and roll-ups alone fit for much longer.
        Interlocked.Exchange(ref free, (long)(10 * ample.BytesPerDay!.Value));
        var tight = await log.ReadStorageAsync();
        Assert.InRange(tight.DaysToThinning!.Value, 9.9, 10.6);
        Assert.InRange(tight.DaysLeft!.Value, 20, 730);
        Assert.Equal(rule.InWords, tight.Rule);
    }

    [Fact]
    public async Task A_week_before_the_disk_is_full_a_warning_names_the_day_and_recording_goes_on()
    {
        var free = 1L << 40;
        // Nothing may be thinned yet, so room ends when the disk does.
        var options = new CellLogOptions { Retention = new Retention { LeaveFreeBytes = 0, FullRateAtLeastDays = 30 }, FreeBytes = _ => Interlocked.Read(ref free), LookAtRoomEveryS = 0 };
        var pack = new SyntheticPack(modules: 2);
        await using var log = CellLog.Open(_folder.File(), options, new StandingClock(new DateTimeOffset(2026, 11, 25, 14, 20, 0, TimeSpan.Zero)));
        await log.AppendAllAsync(pack.Next(7200));
        var perDay = (await log.ReadStorageAsync()).BytesPerDay!.Value;

        foreach (var (days, sentence) in ((double, string)[])[(8, "recording"), (6, "recording; the disk will be full in about 6 days, on 1 December. Make room."), (1.2, "recording; the disk will be full in about a day, on 26 November. Make room.")])
        {
            Interlocked.Exchange(ref free, (long)(days * perDay));
            var last = pack.Next();
            log.RecordEvent(EventKinds.Mark, "look", last.Time);
            var said = "";
            for (var looks = 0; looks < 100 && said != sentence; looks++)
            {
                await Task.Delay(20);
                said = log.Recording.Sentence;
            }

            Assert.Equal(sentence, said);
            Assert.True(log.Recording.IsRecording);
        }
    }

    /// <summary>European summer time ends on 25 October 2026 at 01:00 UTC (EU directive 2000/84/EC: last Sunday of October).</summary>
    [Fact]
    public async Task The_hour_that_comes_twice_in_autumn_is_two_hours_of_record_and_no_clock_step()
    {
        var start = new DateTimeOffset(2026, 10, 24, 22, 0, 0, TimeSpan.Zero);
        var pack = new SyntheticPack(modules: 1) { PeriodUs = 10_000_000, Start = new SnapshotTime(1, start.ToUnixTimeMilliseconds()) };
        var written = pack.Next(25 * 360);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);

        // The local day of 25 October in central Europe has 25 hours: from +02:00 to +01:00.
        var day = TimeRange.Between(new DateTimeOffset(2026, 10, 25, 0, 0, 0, TimeSpan.FromHours(2)), new DateTimeOffset(2026, 10, 26, 0, 0, 0, TimeSpan.FromHours(1)));
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], day, 20_000));
        Assert.Equal(9000, traces.Columns.Snapshots.Sum());
        Assert.DoesNotContain(true, traces.Columns.BreakBefore);
        Assert.DoesNotContain(await log.ReadEventsAsync(TimeRange.All), e => e.Kind == EventKinds.ClockStep);
    }

    [Fact]
    public async Task A_file_that_may_not_grow_waits_in_memory_says_so_and_loses_nothing_when_it_may_again()
    {
        // Stands for a full disk where no small disk can be mounted: SQLite answers with the same error at its own limit.
        var pages = 80L;
        var written = new SyntheticPack(modules: 18).Next(1200);
        await using var log = CellLog.Open(_folder.File(), new CellLogOptions { CommitEveryS = 0.2, MostPages = () => Interlocked.Read(ref pages) });
        foreach (var s in written) log.Append(s);
        await FaultTests.UntilAsync(() => log.Recording.Sentence.StartsWith("NOT RECORDING", StringComparison.Ordinal));
        Assert.Contains("disk is full", log.Recording.Sentence, StringComparison.Ordinal);

        Interlocked.Exchange(ref pages, 1 << 20);
        await log.FlushAsync();
        Assert.True(log.Recording.IsRecording, log.Recording.Sentence);
        CellLogTests.AssertSame(written, await CellLogTests.ReadAll(log));
    }

    private static AlarmTransition Raised(SnapshotTime time)
    {
        var alarm = new AlarmView
        {
            Id = "cell-high.B01.2",
            Rule = "cell-high",
            Priority = AlarmPriority.High,
            State = AlarmState.Unacknowledged,
            Word = "ACT NOW",
            Place = "B01.2",
            Message = "4.215 V is over 4.200 V",
            DoFirst = "Stop the charge.",
            Value = 4.215,
            Limit = 4.2,
            Unit = "V",
            SinceUnixMs = time.WallUnixMs,
            IsActive = true,
        };
        return new AlarmTransition(alarm.Id, AlarmState.Normal, AlarmState.Unacknowledged, time.ElapsedUs, time.WallUnixMs, "condition", alarm);
    }
}
