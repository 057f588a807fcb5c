using CellWatch.Core.Bench;

namespace CellWatch.Core.Tests.Bench;

public class QuarantineTests
{
    private static readonly DateTimeOffset Arrived = new(2026, 1, 5, 10, 0, 0, TimeSpan.Zero);
    private static readonly QuarantineRules Rules = new();

    [Fact]
    public void Fourteen_cool_days_with_all_readings_pass()
    {
        var state = Rules.Judge(Log(14.2));
        Assert.True(state.Passed, state.Sentence);
        Assert.Equal(0, QuarantineRules.SlopeKPerDay(Log(14.2)), 6);
    }

    [Fact]
    public void A_warm_point_stops() => Assert.True(Rules.Judge(Log(14.2, warmK: 4)).Stop);

    [Fact]
    public void Thirteen_days_are_not_fourteen() => Assert.False(Rules.Judge(Log(13)).Passed);

    [Fact]
    public void A_day_without_a_look_breaks_the_count()
    {
        var log = Log(14.2);
        var holed = log with { Readings = [.. log.Readings.Where(r => (r.At - Arrived).TotalDays is < 5 or > 7)] };
        Assert.Contains("Nobody looked", Rules.Judge(holed).Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void A_sweet_smell_stops_whatever_the_temperature()
    {
        var log = Log(14.2);
        var smelt = log with { Readings = log.Readings.Add(new QuarantineReading(Arrived.AddDays(14.3), 10, [10], "sweet smell", true, "Ada")) };
        Assert.Contains("STOP: sweet smell", Rules.Judge(smelt).Sentence, StringComparison.Ordinal);
    }

    internal static Quarantine Log(double days, double warmK = 1)
    {
        var hours = Enumerable.Range(1, 14).Select(i => i * 2.0).Concat(Enumerable.Range(1, 40).Select(i => 28 + 12.0 * i)).Where(h => h <= days * 24).Append(days * 24);
        return new Quarantine(Arrived, null, [.. hours.Select(h => new QuarantineReading(Arrived.AddHours(h), 8, [8.5, 8.6, 8.2, 8, 8.4, 8 + warmK], "", false, "Ada"))]);
    }
}
