using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Log.Tests;

public sealed class RollUpTests : IDisposable
{
    private readonly TemporaryFolder _folder = new();

    public void Dispose() => _folder.Dispose();

    // 30 hours at one snapshot in 5 s: full rate, 10 s and 1 min blocks, and one whole day at 10 min.
    [Theory]
    [InlineData(30_000, 0)]
    [InlineData(3_000, 40)]
    [InlineData(700, 180)]
    [InlineData(100, 1200)]
    public async Task Every_level_gives_the_true_extremes(int maxColumns, int columnS)
    {
        var turn = 0;
        var pack = new SyntheticPack(modules: 1)
        {
            PeriodUs = 5_000_000,
            CurrentA = s => 20 * Math.Sin(s / 7000),
            Disturb = b =>
            {
                if (++turn % 1000 == 0) b.Values[1] = 4.5;
                if (turn % 777 == 0) b.Qualities[2] = Quality.Doubtful;
                if (turn is > 9000 and < 9500) (b.Values[3], b.Qualities[3]) = (double.NaN, Quality.Missing);
            },
        };
        var written = pack.Next(21_600);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1", "B01.2", "B01.3", "B01.4", "B01.t1", "packCurrentA"], TimeRange.All, maxColumns));
        int[] channels = [0, 1, 2, 3, pack.Map.FirstTemperature, pack.Map.PackCurrent];

        Assert.True(traces.Columns.Count <= maxColumns + 1);
        Assert.Equal(columnS, traces.Columns.ColumnMs / 1000);
        Assert.Equal(written.Length, traces.Columns.Snapshots.Sum());
        Assert.DoesNotContain(true, traces.Columns.BreakBefore);
        for (var i = 0; i < channels.Length; i++)
        {
            var good = written.Where(s => s.Quality[channels[i]] == Quality.Good).Select(s => (At: s.Time.WallUnixMs, V: s.RawValues[channels[i]])).ToArray();
            Assert.Equal(good.Length, traces.Channels[i].Good.Sum());
            var widthMs = Math.Max(1, (long)traces.Columns.ColumnMs);
            var expected = good.GroupBy(g => g.At / widthMs).ToDictionary(g => g.Key, g => (Min: g.Min(x => x.V), Max: g.Max(x => x.V), Mean: g.Average(x => x.V)));
            for (var c = 0; c < traces.Columns.Count; c++)
            {
                if (!expected.TryGetValue(traces.Columns.StartUnixMs[c] / widthMs, out var e))
                {
                    Assert.True(double.IsNaN(traces.Channels[i].Min[c]));
                    continue;
                }

                Assert.Equal(e.Min, traces.Channels[i].Min[c]);
                Assert.Equal(e.Max, traces.Channels[i].Max[c]);
                // Means are kept to half a step and, on coarser levels, an eighth and a thirty-second more.
                Assert.Equal(e.Mean, traces.Channels[i].Mean[c], 0.657 / (i < 4 ? 10_000 : i == 4 ? 100 : 1000));
            }
        }

        var envelope = await log.ReadEnvelopeAsync(EnvelopeOf.Cells, TimeRange.All, maxColumns);
        var cells = written.SelectMany(s => Enumerable.Range(0, pack.Map.CellCount).Where(c => s.CellQuality[c] == Quality.Good).Select(c => s.RawValues[c])).ToArray();
        Assert.Equal(cells.Min(), envelope.Min.Min());
        Assert.Equal(cells.Max(), envelope.Max.Max());
        Assert.Equal(traces.Columns.StartUnixMs, envelope.Columns.StartUnixMs);
    }

    [Fact]
    public async Task A_part_of_a_day_is_not_mixed_with_what_lies_beside_it()
    {
        var pack = new SyntheticPack(modules: 1);
        var written = pack.Next(9000);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(written);
        var from = written[1000].Time.WallUnixMs;
        var to = written[7000].Time.WallUnixMs;
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], new TimeRange(from, to), 2000));

        Assert.Equal(6000, traces.Columns.Snapshots.Sum());
        Assert.Equal(written[1000..7000].Min(s => s.RawValues[0]), traces.Channels[0].Min.Min());
        Assert.Equal(written[1000..7000].Max(s => s.RawValues[0]), traces.Channels[0].Max.Max());
    }

    // A pause of 4 min 10 s that begins and ends within buckets of 10 min, in a day whose roll-ups are all built: at full rate, in columns of
    // raw snapshots and at 10 s.
    [Theory]
    [InlineData(2000)]
    [InlineData(500)]
    [InlineData(100)]
    public async Task A_pause_in_a_day_long_past_stays_a_pause(int maxColumns)
    {
        var pack = new SyntheticPack(modules: 1) { PeriodUs = 5_000_000 };
        var before = pack.Next(5000);
        var pauseMs = 250_000L;
        var (elapsedUs, wallMs) = (before[^1].Time.ElapsedUs, before[^1].Time.WallUnixMs);
        var after = new SyntheticPack(modules: 1, seed: 2) { PeriodUs = 5_000_000, Start = new SnapshotTime(elapsedUs + (pauseMs * 1000), wallMs + pauseMs) }.Next(25_000);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(before.Concat(after));
        var range = new TimeRange(wallMs - 1_800_000, wallMs + 1_800_000);
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1"], range, maxColumns));

        var expected = before.Concat(after).Where(s => s.Time.WallUnixMs >= range.FromUnixMs && s.Time.WallUnixMs < range.ToUnixMs).ToArray();
        Assert.InRange(traces.Columns.Snapshots.Sum(), expected.Length, expected.Length + 2);
        var widthMs = (long)Math.Max(1, traces.Columns.ColumnMs);
        Assert.DoesNotContain(traces.Columns.StartUnixMs, t => t > wallMs + 10_000 && t + widthMs <= wallMs + pauseMs);
        Assert.Equal([true], traces.Columns.BreakBefore.Where(b => b));
    }

    [Fact]
    public async Task A_change_of_layout_keeps_old_channels_under_their_names()
    {
        var before = new SyntheticPack(modules: 2).Next(700);
        var after = new SyntheticPack(modules: 1) { Start = new SnapshotTime(5_000_000 + 700_000_000, 1_790_000_700_000) }.Next(700);
        await using var log = CellLog.Open(_folder.File());
        await log.AppendAllAsync(before.Concat(after));
        var traces = await log.ReadTracesAsync(new TraceQuery(["B01.1", "B02.1"], TimeRange.All, 5000));

        Assert.Equal(1400, traces.Channels[0].Good.Sum());
        Assert.Equal(700, traces.Channels[1].Good.Sum());
        CellLogTests.AssertSame([.. before, .. after], await CellLogTests.ReadAll(log));
        Assert.Contains(await log.ReadEventsAsync(TimeRange.All), e => e.Kind == EventKinds.Layout);
    }
}
