using CellWatch.Simulation.Time;
using Microsoft.Extensions.Time.Testing;

namespace CellWatch.Simulation.Tests.Time;

public sealed class ScaledTimeProviderTests
{
    private readonly FakeTimeProvider _real = new(new DateTimeOffset(2026, 3, 9, 12, 0, 0, TimeSpan.Zero));
    private static readonly DateTimeOffset Opening = new(2026, 3, 9, 9, 40, 0, TimeSpan.Zero);

    [Fact]
    public void Wall_clock_and_time_stamps_run_by_the_factor()
    {
        var clock = new ScaledTimeProvider(8, Opening, _real);
        var before = clock.GetTimestamp();

        _real.Advance(TimeSpan.FromSeconds(10));

        Assert.Equal(Opening.AddSeconds(80), clock.GetUtcNow());
        Assert.Equal(TimeSpan.FromSeconds(80), clock.GetElapsedTime(before));
    }

    [Fact]
    public void A_timer_fires_after_its_scaled_time_and_not_before()
    {
        var clock = new ScaledTimeProvider(8, Opening, _real);
        var fired = 0;
        using var timer = clock.CreateTimer(_ => fired++, null, TimeSpan.FromSeconds(8), Timeout.InfiniteTimeSpan);

        _real.Advance(TimeSpan.FromMilliseconds(999));
        Assert.Equal(0, fired);
        _real.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal(1, fired);
        _real.Advance(TimeSpan.FromSeconds(100));
        Assert.Equal(1, fired);
    }

    [Fact]
    public void A_period_is_scaled_and_does_not_drift_by_the_rounding_of_its_steps()
    {
        // 0.5 s at factor 8 is 62.5 ms: each delay is rounded up, but the next is counted from when it was due.
        var clock = new ScaledTimeProvider(8, Opening, _real);
        var fired = 0;
        using var timer = clock.CreateTimer(_ => fired++, null, TimeSpan.FromSeconds(0.5), TimeSpan.FromSeconds(0.5));

        for (var i = 0; i < 10_000; i++) _real.Advance(TimeSpan.FromMilliseconds(1));

        Assert.Equal(160, fired);
    }

    [Fact]
    public void Led_it_waits_for_whoever_does_the_work_and_makes_up_for_nothing()
    {
        var clock = new ScaledTimeProvider(20, Opening, _real);
        var fired = 0;
        clock.LetRun(TimeSpan.FromSeconds(1.5));
        using var timer = clock.CreateTimer(_ => fired++, null, TimeSpan.FromSeconds(2), Timeout.InfiniteTimeSpan);

        // A tenth of a second would be 2 s of the story; nobody took a step in it.
        for (var i = 0; i < 100; i++) _real.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal((TimeSpan.FromSeconds(1.5), 0), (clock.Elapsed, fired));

        clock.LetRun(TimeSpan.FromSeconds(1.5));
        Assert.Equal(TimeSpan.FromSeconds(1.5), clock.Elapsed);
        for (var i = 0; i < 50; i++) _real.Advance(TimeSpan.FromMilliseconds(1));
        Assert.Equal((TimeSpan.FromSeconds(2.5), 1), (clock.Elapsed, fired));

        clock.Advance(TimeSpan.FromHours(8));
        Assert.Equal(TimeSpan.FromSeconds(8 * 3600 + 2.5), clock.Elapsed);
    }

    [Fact]
    public void A_leap_fires_what_came_due_in_it_once()
    {
        var clock = new ScaledTimeProvider(8, Opening, _real);
        var (once, periodic, later) = (0, 0, 0);
        using var a = clock.CreateTimer(_ => once++, null, TimeSpan.FromMinutes(10), Timeout.InfiniteTimeSpan);
        using var b = clock.CreateTimer(_ => periodic++, null, TimeSpan.FromMinutes(10), TimeSpan.FromMinutes(10));
        using var c = clock.CreateTimer(_ => later++, null, TimeSpan.FromHours(9), Timeout.InfiniteTimeSpan);

        clock.Advance(TimeSpan.FromHours(8));
        Assert.Equal(Opening.AddHours(8), clock.GetUtcNow());
        Assert.Equal((0, 0, 0), (once, periodic, later));

        _real.Advance(ScaledTimeProvider.Grace);

        Assert.Equal((1, 1, 0), (once, periodic, later));
        _real.Advance(TimeSpan.FromMinutes(10) / 8);
        Assert.Equal(2, periodic);
    }

    [Fact]
    public void Held_it_stands_still_and_goes_on_from_there_with_its_timers()
    {
        var clock = new ScaledTimeProvider(10, Opening, _real);
        var fired = new List<TimeSpan>();
        using var timer = clock.CreateTimer(_ => fired.Add(clock.Elapsed), null, TimeSpan.FromSeconds(30), Timeout.InfiniteTimeSpan);
        _real.Advance(TimeSpan.FromSeconds(1));
        clock.Hold();
        clock.Hold();
        _real.Advance(TimeSpan.FromSeconds(60));
        Assert.Equal(TimeSpan.FromSeconds(10), clock.Elapsed);
        Assert.Equal(Opening.AddSeconds(10), clock.GetUtcNow());
        Assert.Empty(fired);

        clock.Resume();
        clock.Resume();
        _real.Advance(TimeSpan.FromSeconds(1.9));
        Assert.Empty(fired);
        _real.Advance(TimeSpan.FromSeconds(0.2));
        Assert.Single(fired);
    }

    [Fact]
    public void A_disposed_timer_fires_no_more()
    {
        var clock = new ScaledTimeProvider(8, Opening, _real);
        var fired = 0;
        var timer = clock.CreateTimer(_ => fired++, null, TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(1));
        timer.Dispose();

        clock.Advance(TimeSpan.FromMinutes(1));
        _real.Advance(TimeSpan.FromMinutes(1));

        Assert.Equal(0, fired);
        Assert.False(timer.Change(TimeSpan.Zero, TimeSpan.FromSeconds(1)));
    }

    [Theory]
    [InlineData(0)]
    [InlineData(-1)]
    [InlineData(double.NaN)]
    [InlineData(double.PositiveInfinity)]
    public void A_factor_that_is_no_pace_is_refused(double factor) =>
        Assert.Throws<ArgumentOutOfRangeException>(() => new ScaledTimeProvider(factor, Opening, _real));
}
