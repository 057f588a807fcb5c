using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Proofs;

public class LiveStretchTests
{
    private static readonly DateTimeOffset Began = new(2026, 3, 1, 10, 0, 0, TimeSpan.Zero);

    private static List<Snapshot> Scans(int count, Action<int, SnapshotBuffer>? change = null) =>
        [.. Enumerable.Range(0, count).Select(t => MadeCharge.Scan(t, Began, b => change?.Invoke(t, b)))];

    private static long At(double s) => Began.AddSeconds(s).ToUnixTimeMilliseconds();

    [Fact]
    public void What_is_old_short_or_has_a_hole_is_refused()
    {
        string Refused(IReadOnlyList<Snapshot> scans, double nowS) => Assert.Throws<RefusedException>(() => LiveStretch.Of(scans, At(nowS))).Message;
        Assert.Contains("Nothing was heard", Refused([], 0), StringComparison.Ordinal);
        Assert.Contains("The last scan is 11 s old", Refused(Scans(60), 70), StringComparison.Ordinal);
        Assert.Contains("Only 5 scans", Refused(Scans(5), 5), StringComparison.Ordinal);
        Assert.Contains("10 s without data", Refused([.. Scans(60).Where((_, i) => i is < 20 or >= 29)], 60), StringComparison.Ordinal);
        Assert.Equal(60, LiveStretch.Of(Scans(60), At(60)).Count);
    }

    [Theory]
    [InlineData(Quality.Stale)]
    [InlineData(Quality.Missing)]
    public void A_channel_that_was_not_good_throughout_gives_no_figure(Quality quality)
    {
        var stretch = LiveStretch.Of(Scans(60, (t, b) => b.Qualities[b.Map.PackCurrent] = t == 30 ? quality : Quality.Good), At(60));
        Assert.Contains("gave no good value in 1 of 60 scans", Assert.Throws<RefusedException>(() => stretch.Mean(stretch.Map.PackCurrent)).Message, StringComparison.Ordinal);
        Assert.Equal(MadeCharge.CellV(0, 0), stretch.Mean(0), 9);
    }

    [Fact]
    public void A_rise_within_the_noise_is_none_and_a_clear_one_is_its_kelvins()
    {
        var draws = new CellWatch.Core.Bench.SeededDraws(3);
        double Noisy(double sigma, double riseK, int t) => 20 + sigma * draws.Normal() + (t > 30 ? riseK : 0);
        // Second sensor: noise of 2 K; even a true rise of 1.5 K is not told from twelve scans of it.
        var (before, after) = LiveStretch.Of(Scans(60, (t, b) =>
        {
            b.Values[b.Map.FirstTemperature] = Noisy(0.05, 2, t);
            b.Values[b.Map.FirstTemperature + 1] = Noisy(2, 1.5, t);
        }), At(60)).TemperatureEnds();
        Assert.InRange(after[0] - before[0], 1.9, 2.1);
        Assert.Equal(before[1], after[1]);
    }

    [Fact]
    public void A_current_that_drifts_is_not_taken()
    {
        var stretch = LiveStretch.Of(Scans(10, (t, b) => b.Values[b.Map.PackCurrent] = -20 - 0.3 * t), At(10));
        Assert.Contains("moved by", Assert.Throws<RefusedException>(() => stretch.SteadyMean(stretch.Map.PackCurrent, 0.2, "A")).Message, StringComparison.Ordinal);
        Assert.Equal(-20, LiveStretch.Of(Scans(10, (_, b) => b.Values[b.Map.PackCurrent] = -20), At(10)).SteadyMean(stretch.Map.PackCurrent, 0.2, "A"), 9);
    }
}
