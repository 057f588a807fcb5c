using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Live;
using CellWatch.Testing.Pages;
using Xunit;

namespace CellWatch.Dashboard.Tests.Live;

public sealed class RecentStripTests : IDisposable
{
    private readonly ScriptedLiveView _live = new();
    private readonly RecentStrip _strip;

    public RecentStripTests() => _strip = new RecentStrip(_live);

    public void Dispose() => _strip.Dispose();

    [Fact]
    public void One_point_is_kept_every_five_seconds_whatever_the_rate()
    {
        for (long s = 1; s <= 60; s++) _live.Show(Petrel.At("normal", s));
        Assert.Equal(6, _strip.Points(0, 0).Count);
    }

    [Fact]
    public void The_same_scan_shown_twice_is_one_point()
    {
        _live.Show(Petrel.At("normal", 1));
        _live.Show(Petrel.At("normal", 1));
        Assert.Single(_strip.Points(0, 0));
    }

    [Fact]
    public void An_unknown_spread_is_kept_as_unknown()
    {
        var state = Petrel.At("normal");
        _live.Show(state with { Summary = state.Summary with { SpreadV = null } });
        Assert.True(double.IsNaN(Assert.Single(_strip.Points(0, 0)).SpreadV));
    }

    [Fact]
    public void Alarms_are_noted_when_raised_and_not_when_seen()
    {
        var state = Petrel.At("act-now");
        var alarm = state.Alarms[0];
        _live.Show(state with { Transitions = [new(alarm.Id, AlarmState.Normal, AlarmState.Unacknowledged, 0, Petrel.NoonMs, "condition", alarm)] });
        _live.Show(Petrel.At("act-now", 2) with { Transitions = [new(alarm.Id, AlarmState.Unacknowledged, AlarmState.Acknowledged, 0, Petrel.NoonMs + 500, "acknowledged", alarm)] });
        var noted = Assert.Single(_strip.Alarms(0));
        Assert.Equal(StateWord.ActNow, noted.State);
    }

    [Fact]
    public void What_the_log_recalls_fills_in_and_what_was_seen_live_stays()
    {
        _live.Show(Petrel.At("normal", 1));
        _strip.Recall([new(Petrel.NoonMs - 60_000, 0.02, 0), new(Petrel.NoonMs + 1_000, 0.9, 0)], []);
        Assert.Equal([Petrel.NoonMs - 60_000, Petrel.NoonMs + 500], _strip.Points(0, 0).Select(p => p.UnixMs));
    }

    [Fact]
    public void A_leap_leaves_a_gap_that_can_be_recalled()
    {
        _live.Show(Petrel.At("normal", 1));
        _live.Show(Petrel.At("normal", 7_201));
        var gap = _strip.LongestGap(Petrel.NoonMs);
        Assert.Equal((Petrel.NoonMs + 500, Petrel.NoonMs + 3_600_500), gap);
        _strip.Recall(Enumerable.Range(1, 719).Select(i => new RecentPoint(Petrel.NoonMs + 500 + i * 5_000, 0.02, 0)), []);
        Assert.Null(_strip.LongestGap(Petrel.NoonMs + 500));
    }

    [Fact]
    public async Task The_past_comes_from_the_log_with_its_alarms_and_its_unknowns()
    {
        var raised = new AlarmTransition("cell-high.B11.2", AlarmState.Normal, AlarmState.Unacknowledged, 0, Petrel.NoonMs - 50_000, "condition", Petrel.At("act-now").Alarms[0]);
        var history = new RecalledHistory(Petrel.NoonMs - 100_000, [4.10, double.NaN, 4.12], [4.08, double.NaN, 4.09], [60, 59, 58], [raised]);
        await RecentRecall.FillAsync(_strip, history, Petrel.Map, (Petrel.NoonMs - 100_000, Petrel.NoonMs), default);
        var points = _strip.Points(0, 0);
        Assert.Equal([0.02, double.NaN, 0.03], points.Select(p => Math.Round(p.SpreadV, 6)));
        Assert.Equal([60, 59, 58], points.Select(p => p.PackCurrentA));
        Assert.Equal("B11.2", Assert.Single(_strip.Alarms(0)).Place);
        Assert.Equal("packCurrentA", Assert.Single(history.Asked));
    }

    [Fact]
    public void A_clock_that_stepped_back_starts_a_new_stretch()
    {
        _live.Show(Petrel.At("normal", 100));
        _live.Show(Petrel.At("normal", 2));
        Assert.Single(_strip.Points(0, 0));
    }
}
