using CellWatch.Core.Bench;

namespace CellWatch.Core.Tests.Bench;

public class PulseWindowTests
{
    private static readonly double[] Times = [.. Enumerable.Range(0, 400).Select(i => 0.5 * i)];

    [Fact]
    public void The_last_discharge_pulse_is_taken_with_ten_seconds_of_rest_before_it()
    {
        double[] current = [.. Times.Select(t => t is >= 30 and < 41 ? -100.0 : t is >= 120 and < 131 ? -99 : t is >= 150 and < 161 ? 75 : 0)];
        var (from, to) = PulseWindow.LastOf(Times, current)!.Value;
        Assert.Equal((110, 130.5), (Times[from], Times[to]));
    }

    [Fact]
    public void A_charge_or_a_small_discharge_is_no_pulse()
    {
        Assert.Null(PulseWindow.LastOf(Times, [.. Times.Select(t => t > 50 ? 100.0 : 0)]));
        Assert.Null(PulseWindow.LastOf(Times, [.. Times.Select(t => t > 50 ? -20.0 : double.NaN)]));
        Assert.Null(PulseWindow.LastOf([], []));
    }

    [Fact]
    public void A_pulse_at_the_very_beginning_keeps_what_there_is()
    {
        double[] current = [.. Times.Select(t => t is >= 2 and < 13 ? -100.0 : 0)];
        Assert.Equal((0, 25), PulseWindow.LastOf(Times, current)!.Value);
    }
}
