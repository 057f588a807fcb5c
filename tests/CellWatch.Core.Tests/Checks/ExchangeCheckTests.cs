using CellWatch.Core.Commands;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Checks;

/// <summary>Two modules exchange their readings while the program looks on.</summary>
public sealed class ExchangeCheckTests
{
    private const string Alarm = "harness-exchanged.B02";

    [Fact]
    public void Both_modules_are_named_and_not_proven_until_a_person_resets_it()
    {
        var (bench, model) = AtRest(series: 6);
        bench.Fault = b => Exchange(b, 6, 18, 6);
        model.Run(12);

        var alarm = Assert.Single(bench.State.Alarms, a => a.Rule == "harness-exchanged");
        Assert.Equal("B02 and B04 exchanged their readings from one scan to the next: their harnesses changed places? Neither is proven any more.", PackBench.Plain(alarm.Message));
        Assert.Equal(36 - 12, bench.State.Summary.ProvenCells);
        Assert.Equal(36, bench.State.Summary.KnownCells);
        Assert.False(bench.Do(new ArmPermit(true, "Ada")).Accepted);

        model.Run(60);
        bench.Do(new AcknowledgeAlarm(Alarm, "Ada"));
        Assert.Equal(36 - 12, bench.Run(1).Summary.ProvenCells);
        Assert.True(bench.Do(new ResetAlarm(Alarm, "Ada")).Accepted);
        Assert.Equal(36, bench.Run(1).Summary.ProvenCells);
    }

    [Fact]
    public void Put_back_they_are_proven_again_and_the_alarm_is_held()
    {
        var (bench, model) = AtRest(series: 6);
        bench.Fault = b => Exchange(b, 6, 18, 6);
        model.Run(12);
        bench.Fault = null;
        model.Run(60);
        Assert.Equal(36, bench.State.Summary.ProvenCells);
        Assert.Equal(AlarmState.LatchedUnacknowledged, bench.Alarm(Alarm)!.State);
    }

    /// <summary>Another current is another pattern, and two cells have none: neither is guessed at.</summary>
    [Theory]
    [InlineData(6, true)]
    [InlineData(2, false)]
    public void What_cannot_be_told_is_not_claimed(int series, bool currentJumps)
    {
        var (bench, model) = AtRest(series);
        if (currentJumps) model.ChargeA = 60;
        bench.Fault = b => Exchange(b, series, 3 * series, series);
        model.Run(120);
        Assert.DoesNotContain(bench.Transitions, t => t.Alarm.Rule == "harness-exchanged");
    }

    [Fact]
    public void Hours_of_charge_and_rest_exchange_nothing()
    {
        var (bench, model) = AtRest(series: 6);
        foreach (var currentA in new[] { 30.0, 0, -50, 0 })
        {
            model.ChargeA = currentA;
            model.Run(1500);
        }

        Assert.DoesNotContain(bench.Transitions, t => t.Alarm.Rule is "harness-exchanged" or "current-turned");
    }

    private static (PackBench Bench, ModelPack Model) AtRest(int series)
    {
        var bench = new PackBench(modules: 6, series: series);
        var model = new ModelPack(bench, 0.6, seed: 21);
        for (var cell = 0; cell < model.Level.Length; cell++) model.Level[cell] += 0.004 * Math.Sin(7 * cell);
        model.Run(90);
        return (bench, model);
    }

    private static void Exchange(SnapshotBuffer buffer, int a, int b, int count)
    {
        for (var i = 0; i < count; i++) (buffer.Values[a + i], buffer.Values[b + i]) = (buffer.Values[b + i], buffer.Values[a + i]);
    }
}
