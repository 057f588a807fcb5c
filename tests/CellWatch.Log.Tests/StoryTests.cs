using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Store;
using CellWatch.Testing;
using Microsoft.Data.Sqlite;
using Xunit;

namespace CellWatch.Log.Tests;

/// <summary>What the record has to show of acceptance stories 13, 14 and 19; story 9 is with the import of tables.</summary>
public sealed class StoryTests : IDisposable
{
    private static readonly DateTimeOffset Evening = new(2026, 11, 24, 22, 0, 0, TimeSpan.Zero);

    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    /// <summary>Story 13: a lead pulled in a charge takes 36 cells away for five minutes.</summary>
    [Theory]
    [InlineData(2000)]
    [InlineData(60)]
    public async Task Story_13_the_36_cells_of_a_pulled_lead_have_a_gap_and_no_invented_rows(int maxColumns)
    {
        var turn = 0;
        var pack = new SyntheticPack
        {
            Disturb = b =>
            {
                if (++turn is <= 600 or > 900) return;
                for (var c = 72; c < 108; c++) (b.Values[c], b.Qualities[c], b.Origins[c]) = (double.NaN, Quality.Missing, Origin.Unknown);
            },
        };
        var written = pack.Next(1500);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);

        var traces = await log.ReadTracesAsync(new TraceQuery(["B12.6", "B13.1"], TimeRange.All, maxColumns));
        var (from, to) = (written[600].Time.WallUnixMs, written[900].Time.WallUnixMs);
        var width = Math.Max(1, (long)traces.Columns.ColumnMs);
        var within = Enumerable.Range(0, traces.Columns.Count).Where(c => traces.Columns.StartUnixMs[c] >= from && traces.Columns.StartUnixMs[c] + width <= to).ToArray();
        Assert.NotEmpty(within);
        Assert.All(within, c => Assert.True(double.IsNaN(traces.Channels[1].Mean[c]) && double.IsNaN(traces.Channels[1].Min[c]) && traces.Channels[1].Good[c] == 0));
        Assert.All(within, c => Assert.Equal(traces.Columns.Snapshots[c], traces.Channels[0].Good[c]));
        Assert.Equal(1200, traces.Channels[1].Good.Sum());
        var envelope = await log.ReadEnvelopeAsync(EnvelopeOf.Cells, TimeRange.All, maxColumns);
        Assert.All(within, c => Assert.Equal(72, envelope.Known[c]));
        CellLogTests.AssertSame(written, await CellLogTests.ReadAll(log));
    }

    /// <summary>Story 14: the host slept from 02:00 to 05:00; looked at from near and from far.</summary>
    [Theory]
    [InlineData(5000)]
    [InlineData(1000)]
    [InlineData(100)]
    public async Task Story_14_a_night_the_host_slept_through_in_part_has_a_hole_and_a_sentence(int maxColumns)
    {
        const int everyS = 10;
        var start = new SnapshotTime(5_000_000, Evening.ToUnixTimeMilliseconds());
        var before = new SyntheticPack(modules: 2) { PeriodUs = everyS * 1_000_000, Start = start }.Next(4 * 360);
        // Elapsed time includes sleep, so it runs on with the wall clock.
        var wokenAfterUs = 7 * 3_600_000_000L;
        var after = new SyntheticPack(modules: 2, seed: 2) { PeriodUs = everyS * 1_000_000, Start = new SnapshotTime(start.ElapsedUs + wokenAfterUs, start.WallUnixMs + (wokenAfterUs / 1000)) }.Next(420);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(before);
        log.RecordEvent("host asleep", "No record 02:00-05:00, host asleep.", after[0].Time, lengthS: 10_800);
        await log.AppendAllAsync(after);

        var night = TimeRange.Between(Evening, Evening.AddHours(8.2));
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], night, maxColumns));
        var (asleep, woken) = (before[^1].Time.WallUnixMs, after[0].Time.WallUnixMs);
        var width = Math.Max(1, (long)traces.Columns.ColumnMs);
        Assert.Equal(before.Length + after.Length, traces.Columns.Snapshots.Sum());
        Assert.DoesNotContain(traces.Columns.StartUnixMs, t => t > asleep && t + width <= woken);
        var hole = Assert.Single(Enumerable.Range(0, traces.Columns.Count), c => traces.Columns.BreakBefore[c]);
        Assert.InRange(traces.Columns.StartUnixMs[hole], woken - width, woken);
        Assert.DoesNotContain(await CellLogTests.ReadAll(log), s => s.Time.WallUnixMs > asleep && s.Time.WallUnixMs < woken);
        var slept = Assert.Single(await log.ReadEventsAsync(night), e => e.Kind == "host asleep");
        Assert.Equal(10_800, slept.LengthS);
    }

    /// <summary>Story 19, what the record does: half an hour of room is left at 14:20.</summary>
    [Fact]
    public async Task Story_19_with_half_an_hour_of_room_the_page_says_from_when_nothing_is_given_up_and_room_that_comes_back_ends_it()
    {
        var free = 1L << 40;
        var options = new CellLogOptions { FreeBytes = _ => Interlocked.Read(ref free), LookAtRoomEveryS = 0 };
        var pack = new SyntheticPack(modules: 3);
        var written = pack.Next(3600);
        await using var log = CellLog.Open(_folder.File(), options, new StandingClock(new DateTimeOffset(2026, 11, 25, 14, 20, 0, TimeSpan.Zero)));
        await log.AppendAllAsync(written);
        using (var connection = new SqliteConnection($"Data Source={_folder.File()};Mode=ReadOnly;Pooling=False"))
        {
            connection.Open();
            var space = Space.Of(connection, _folder.File(), options);
            Interlocked.Exchange(ref free, (long)((space.FullRatePerDay + space.RollUpsPerDay) / 48) - space.InsideBytes);
        }

        log.RecordEvent(EventKinds.Mark, "look", written[^1].Time);
        await FaultTests.UntilAsync(() => log.Recording.Sentence != "recording");
        Assert.Matches("^NOT RECORDING from about 14:(49|50|51): ", log.Recording.Sentence);
        Assert.Contains("Make room", log.Recording.Sentence, StringComparison.Ordinal);
        Assert.True(log.Recording.IsRecording);
        Assert.Equal(1 / 48.0, log.Recording.DaysLeft!.Value, 0.001);

        // Recording goes on to the last; the rule keeps two days whatever the room, so nothing is thinned.
        var more = pack.Next(60);
        await log.AppendAllAsync(more);
        Interlocked.Exchange(ref free, 1L << 40);
        log.RecordEvent(EventKinds.Mark, "room", more[^1].Time);
        await FaultTests.UntilAsync(() => log.Recording.Sentence == "recording");
        CellLogTests.AssertSame([.. written, .. more], await CellLogTests.ReadAll(log));
        Assert.DoesNotContain(await log.ReadEventsAsync(TimeRange.All), e => e.Kind is EventKinds.Thinned or EventKinds.Gap);
    }
}
