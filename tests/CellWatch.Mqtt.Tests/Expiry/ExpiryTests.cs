using CellWatch.Core.Live;
using CellWatch.Mqtt.Tests.Doubles;
using CellWatch.Testing;
using Microsoft.Extensions.Time.Testing;
using Xunit;

namespace CellWatch.Mqtt.Tests.Expiry;

/// <summary>MQTT 5.0, 3.3.2.3.3: nobody takes an old voltage for a new one.</summary>
public sealed class ExpiryTests
{
    [Theory]
    [InlineData(0.1, 0, 15)]
    [InlineData(1, 0, 15)]
    [InlineData(10, 0, 30)]
    [InlineData(1, 60, 180)]
    public void A_live_value_is_kept_for_three_periods_and_at_least_15_s(double snapshotS, double leastS, double expiryS) =>
        Assert.Equal(expiryS, new PublisherOptions { SnapshotPeriod = TimeSpan.FromSeconds(snapshotS), LeastPeriod = TimeSpan.FromSeconds(leastS) }.LiveExpiry.TotalSeconds);

    [Fact]
    public async Task Live_values_expire_and_alarms_and_presence_do_not()
    {
        await using var bench = new Bench();
        var publisher = await bench.PublishAsync();
        await using var reader = await bench.ReadAsync();
        publisher.Offer(Some.StateWith(1, Some.Alarm()) with { FrontEnds = [Some.FrontEnd()] });
        await reader.FirstAsync("petrel/instrument/instrument-1");
        await reader.FirstAsync("petrel/alarm/cell-high.B01.2");
        Assert.All(reader.All, g => Assert.Equal(g.Topic switch
        {
            "petrel/permit" => 3u,
            "petrel/presence" or "petrel/alarm/cell-high.B01.2" => 0u,
            _ => 15u,
        }, g.ExpiryS));
    }

    [Fact]
    public async Task A_late_reader_is_told_the_time_that_is_left_and_gets_nothing_once_it_is_over()
    {
        var time = new FakeTimeProvider();
        await using var bench = new Bench(brokerTime: time);
        var publisher = await bench.PublishAsync();
        await using (var early = await bench.ReadAsync())
        {
            publisher.Offer(Some.State() with { Charge = new ChargeView() });
            await early.FirstAsync("petrel/module/B03/temperatures");
        }

        time.Advance(TimeSpan.FromSeconds(10));
        await using (var late = await bench.ReadAsync("petrel/pack"))
            Assert.Equal(5u, (await late.FirstAsync("petrel/pack")).ExpiryS);

        time.Advance(TimeSpan.FromSeconds(5));
        await Eventually.TrueAsync(async () => (await bench.Broker.RetainedTopicsAsync()).SequenceEqual(["petrel/presence"]),
            "the expired values were taken out", meanwhile: () => time.Advance(TimeSpan.FromSeconds(1)));
        await using var tooLate = await bench.ReadAsync();
        await tooLate.FirstAsync("petrel/presence");
        await using var second = await bench.ReadAsync("petrel/pack");
        await second.PublishAsync("other/marker", "x");
        Assert.DoesNotContain(tooLate.All, g => g.Topic is "petrel/pack" or "petrel/permit");
        Assert.Empty(second.All);
    }
}
