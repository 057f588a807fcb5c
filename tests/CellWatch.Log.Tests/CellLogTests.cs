using CellWatch.Core.Commands;
using CellWatch.Core.History;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Log.Tests;

public sealed class CellLogTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    [Fact]
    public async Task Half_an_hour_is_read_back_whole_with_what_is_not_yet_sealed()
    {
        var pack = new SyntheticPack(modules: 3);
        var written = pack.Next(1800);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);

        Assert.True(log.Recording.IsRecording, log.Recording.Sentence);
        AssertSame(written, await ReadAll(log));
    }

    [Fact]
    public async Task A_second_run_goes_on_where_the_first_ended()
    {
        var first = new SyntheticPack(modules: 2);
        var written = first.Next(700).ToList();
        await Write(written);
        // After a reboot elapsed time starts anew and wall time is an hour on.
        var second = new SyntheticPack(modules: 2, seed: 2) { Start = new SnapshotTime(1_000_000, 1_790_000_000_000 + 3_600_000) };
        var more = second.Next(50);
        await Write(more);
        await using var log = CellLog.Open(_folder.File());
        AssertSame([.. written, .. more], await ReadAll(log));
    }

    [Fact]
    public async Task Traces_at_full_rate_show_every_snapshot_and_its_quality()
    {
        var turn = 0;
        var pack = new SyntheticPack(modules: 1)
        {
            Disturb = b =>
            {
                if (++turn is >= 10 and < 20) b.Qualities[2] = Quality.Stuck;
            },
        };
        var written = pack.Next(60);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1", "B01.3", "packCurrentA", "B99.1"], TimeRange.All, 2000));

        Assert.Equal(60, traces.Columns.Count);
        Assert.Equal(written.Select(s => s.Time.WallUnixMs), traces.Columns.StartUnixMs);
        Assert.DoesNotContain(true, traces.Columns.BreakBefore);
        Assert.Equal(written.Select(s => s.RawValues[0]), traces.Channels[0].Mean);
        Assert.Equal("V", traces.Channels[0].Unit);
        Assert.Equal(10, traces.Channels[1].Mean.Count(double.IsNaN));
        Assert.Equal(written.Select(s => s.RawValues[2]), traces.Channels[1].Raw);
        Assert.Equal(10, traces.Channels[1].Quality!.Count(q => q == Quality.Stuck));
        Assert.All(traces.Channels[3].Mean, m => Assert.True(double.IsNaN(m)));
    }

    [Fact]
    public async Task Decimated_traces_keep_the_true_extremes()
    {
        var turn = 0;
        var pack = new SyntheticPack(modules: 1) { Disturb = b => b.Values[0] = ++turn == 777 ? 2.5 : b.Values[0] };
        var written = pack.Next(1500);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 100));

        Assert.InRange(traces.Columns.Count, 99, 101);
        Assert.Equal(2.5, traces.Channels[0].Min.Min());
        Assert.Equal(written.Max(s => s.RawValues[0]), traces.Channels[0].Max.Max());
        Assert.Equal(1500, traces.Channels[0].Good.Sum());
        Assert.Equal(written.Average(s => s.RawValues[0]), traces.Channels[0].Mean.Zip(traces.Channels[0].Good, (m, g) => m * g).Sum() / 1500, 9);
    }

    [Fact]
    public async Task No_more_columns_than_asked_are_given_where_one_commit_holds_many_snapshots()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(new SyntheticPack(modules: 1).Next(300));
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 100));
        Assert.InRange(traces.Columns.Count, 50, 101);
        Assert.Equal(300, traces.Columns.Snapshots.Sum());
    }

    [Fact]
    public async Task The_envelope_spans_all_cells()
    {
        var pack = new SyntheticPack(modules: 2);
        var written = pack.Next(30);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);
        var envelope = await log.ReadEnvelopeAsync(EnvelopeOf.Cells, TimeRange.All, 1000);

        Assert.Equal(written.Select(s => s.RawCellVoltageV.ToArray().Min()), envelope.Min);
        Assert.Equal(written.Select(s => s.RawCellVoltageV.ToArray().Max()), envelope.Max);
        Assert.All(envelope.Known, k => Assert.Equal(12, k));
    }

    [Fact]
    public async Task A_pause_is_a_break_and_no_row_is_invented()
    {
        var before = new SyntheticPack(modules: 1).Next(20);
        var after = new SyntheticPack(modules: 1) { Start = new SnapshotTime(5_000_000 + 300_000_000, 1_790_000_300_000) }.Next(20);
        await using var log = CellLog.Open(_folder.File());
        foreach (var s in before.Concat(after)) log.Append(s);
        await log.FlushAsync().WaitAsync(TimeSpan.FromSeconds(10));
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 1000));

        Assert.Equal(40, traces.Columns.Count);
        Assert.Equal([20], Enumerable.Range(0, 40).Where(i => traces.Columns.BreakBefore[i]));
    }

    [Theory]
    [InlineData(3_600_000)]
    [InlineData(-3_600_000)]
    [InlineData(86_400_000)]
    [InlineData(-86_400_000)]
    public async Task A_clock_that_is_set_is_marked_and_nothing_is_lost(long stepMs)
    {
        var turn = 0;
        var pack = new SyntheticPack(modules: 1) { Disturb = b => turn++ };
        var first = pack.Next(100);
        var second = new SyntheticPack(modules: 1, seed: 3) { Start = new SnapshotTime(5_000_000 + 100_000_000, 1_790_000_100_000 + stepMs) }.Next(100);
        await using var log = CellLog.Open(_folder.File());
        foreach (var s in first.Concat(second)) log.Append(s);
        await log.FlushAsync().WaitAsync(TimeSpan.FromSeconds(10));

        AssertSame([.. first, .. second], await ReadAll(log));
        var steps = (await log.ReadEventsAsync(TimeRange.All)).Where(e => e.Kind == EventKinds.ClockStep).ToArray();
        Assert.Equal(stepMs / 1000.0, Assert.Single(steps).LengthS);
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], TimeRange.All, 1000));
        Assert.Equal(200, traces.Columns.Count);
        Assert.Equal([100], Enumerable.Range(0, 200).Where(i => traces.Columns.BreakBefore[i]));
        Assert.Equal(first.Concat(second).Select(s => s.Time.WallUnixMs), traces.Columns.StartUnixMs);
        // An instant that the clock said twice answers with both stretches; one it never said, with none.
        var twice = await log.ReadTracesAsync(new TraceQuery(["B01.1"], new TimeRange(second[0].Time.WallUnixMs, second[^1].Time.WallUnixMs + 1), 1000));
        Assert.Equal(100, twice.Columns.Count);
    }

    [Fact]
    public async Task Records_are_read_back_as_written()
    {
        var time = new SnapshotTime(7_000_000, 1_790_000_000_000);
        var alarm = new AlarmView
        {
            Id = "cell-high.B11.2",
            Rule = "cell-high",
            Priority = AlarmPriority.High,
            State = AlarmState.Unacknowledged,
            Word = "ACT NOW",
            Place = "B11.2",
            Message = "4.215 V is over 4.200 V",
            DoFirst = "Stop the charge.",
            Value = 4.215,
            Limit = 4.2,
            Unit = "V",
            SinceUnixMs = time.WallUnixMs,
            IsActive = true,
        };
        var transition = new AlarmTransition(alarm.Id, AlarmState.Normal, AlarmState.Unacknowledged, time.ElapsedUs, time.WallUnixMs, "condition", alarm);
        await using var log = CellLog.Open(_folder.File());
        log.RecordAlarm(transition);
        log.RecordCommand(new ShelveAlarm(alarm.Id, 30, "known", "Ada"), new CommandAnswer(true, "shelved until 15:20"), time);
        log.RecordEvent(EventKinds.Mark, "kettle on", time, "Ada");
        var run = await log.OpenRunAsync(RunKind.Charge, "first charge", time, "Ada");
        Assert.True(await log.CloseRunAsync(run, time with { WallUnixMs = time.WallUnixMs + 1000 }, "Bo", "{\"a\":1}"));
        Assert.False(await log.CloseRunAsync(run, time, "Bo"));
        await log.AddNoteAsync("link 3 warm", time, "Ada", run);
        var file = await log.AddAttachmentAsync("link3.png", "image/png", new byte[] { 1, 2, 3 }, time, "Ada", run);

        Assert.Equal(transition, Assert.Single(await log.ReadAlarmsAsync(TimeRange.All)).Transition);
        var command = Assert.Single(await log.ReadCommandsAsync(TimeRange.All));
        Assert.Equal(("Ada", nameof(ShelveAlarm), true), (command.By, command.Command, command.Accepted));
        Assert.Contains("known", command.Details, StringComparison.Ordinal);
        Assert.Equal("kettle on", Assert.Single(await log.ReadEventsAsync(TimeRange.All)).Text);
        var read = Assert.Single(await log.ReadRunsAsync(TimeRange.All));
        Assert.Equal(new RunRecord(run, RunKind.Charge, "first charge", time.WallUnixMs, time.WallUnixMs + 1000, "Ada", "Bo", "{\"a\":1}"), read);
        Assert.Equal(run, Assert.Single(await log.ReadNotesAsync(TimeRange.All)).Run);
        Assert.Equal(3, Assert.Single(await log.ReadAttachmentsAsync(TimeRange.All)).Length);
        Assert.Equal(new byte[] { 1, 2, 3 }, await log.ReadAttachmentAsync(file));
        Assert.Null(await log.ReadAttachmentAsync(file + 1));
    }

    [Fact]
    public async Task A_second_service_on_the_same_file_is_refused_with_a_sentence()
    {
        await using var log = CellLog.Open(_folder.File());
        await log.FlushAsync();
        var refused = Assert.Throws<LogInUseException>(() => CellLog.Open(_folder.File()));
        Assert.Contains("being written by another service (process", refused.Message, StringComparison.Ordinal);
    }

    private async Task Write(IEnumerable<Snapshot> snapshots)
    {
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(snapshots);
    }

    internal static async Task<List<Snapshot>> ReadAll(CellLog log)
    {
        var all = new List<Snapshot>();
        await foreach (var s in log.ReadSnapshotsAsync(TimeRange.All)) all.Add(s);
        return all;
    }

    internal static void AssertSame(IReadOnlyList<Snapshot> expected, IReadOnlyList<Snapshot> actual)
    {
        Assert.Equal(expected.Count, actual.Count);
        for (var i = 0; i < expected.Count; i++)
        {
            Assert.Equal(expected[i].Sequence, actual[i].Sequence);
            Assert.Equal(expected[i].Time, actual[i].Time);
            Assert.True(expected[i].RawValues.SequenceEqual(actual[i].RawValues), $"values of snapshot {i} differ");
            Assert.True(expected[i].Quality.SequenceEqual(actual[i].Quality), $"qualities of snapshot {i} differ");
            Assert.True(expected[i].Origin.SequenceEqual(actual[i].Origin), $"origins of snapshot {i} differ");
            Assert.True(expected[i].Proven.SequenceEqual(actual[i].Proven), $"proofs of snapshot {i} differ");
        }
    }
}
