using CellWatch.Core.Rules;
using CellWatch.Mqtt.Tests.Doubles;
using CellWatch.Testing;
using Microsoft.Extensions.Time.Testing;
using Xunit;

namespace CellWatch.Mqtt.Tests.Reconnect;

public sealed class ReconnectTests
{
    private static IEnumerable<string> Ids(int from, int to) => Enumerable.Range(from, to - from + 1).Select(n => $"cell-high.B{n:000}.1");

    private static void Raise(MqttPublisher publisher, int from, int to)
    {
        foreach (var (n, id) in Enumerable.Range(from, to - from + 1).Zip(Ids(from, to)))
            publisher.Offer(Some.State(n) with { Transitions = [Some.Step(Some.Alarm(id))] });
    }

    private static string[] IdsOf(IEnumerable<Got> got) => [.. got.Where(g => !g.Retain).Select(g => g.Json.GetProperty("id").GetString()!)];

    [Fact]
    public async Task While_the_embedded_broker_is_down_alarms_wait_and_then_come_once_and_in_order()
    {
        await using var bench = new Bench();
        var outbox = new MemoryOutbox();
        // As an external broker, so that the publisher does not open it again by itself; the site is one that it does not guard.
        await bench.Broker.StartAsync();
        var publisher = new MqttPublisher("Tern", Bench.Quick with { Port = bench.Port }, outbox, TimeProvider.System, Microsoft.Extensions.Logging.Abstractions.NullLogger<MqttPublisher>.Instance);
        await publisher.StartAsync(CancellationToken.None);
        await using (var before = await bench.ReadAsync("tern/alarm/+"))
        {
            Raise(publisher, 1, 20);
            await before.UntilAsync(all => all.Count == 20);
            await Eventually.TrueAsync(() => outbox.Count == 0, "all acknowledged");
        }

        await bench.Broker.StopAsync();
        Raise(publisher, 21, 60);
        await Eventually.TrueAsync(() => !publisher.Sending.IsSending && outbox.Count == 40, "waiting");
        Assert.StartsWith("NOT SENDING since ", publisher.Sending.Sentence, StringComparison.Ordinal);
        Assert.EndsWith(". 40 alarm and run messages wait and will be sent in order", publisher.Sending.Sentence, StringComparison.Ordinal);

        await bench.Broker.StartAsync();
        await using var after = await bench.ReadAsync("tern/alarm/+");
        Raise(publisher, 61, 80);
        await after.UntilAsync(all => all.Any(g => g.Text.Contains("B080.1", StringComparison.Ordinal)));
        // A part may have been sent before this reader was there; that is then retained. Each came once, in order.
        var numbers = after.All.Select(g => g.Json.GetProperty("number").GetInt64()).ToArray();
        Assert.Equal(Enumerable.Range(21, 60).Select(n => (long)n), numbers.Order());
        Assert.Equal(IdsOf(after.All).Order(StringComparer.Ordinal), IdsOf(after.All));
        await Eventually.TrueAsync(() => publisher.Sending is { IsSending: true, Sentence: var s } && s == $"sending to 127.0.0.1:{bench.Port}", "sending again");
        await publisher.StopAsync(CancellationToken.None);
        publisher.Dispose();
    }

    [MosquittoFact]
    public async Task An_independent_broker_killed_while_alarms_stream_gets_every_alarm_in_order()
    {
        await using var mosquitto = new Mosquitto();
        await mosquitto.StartAsync();
        await using var bench = new Bench();
        var file = Path.Combine(mosquitto.Folder, "outbox.txt");
        using var outbox = new FileOutbox(file);
        var publisher = await bench.PublishToAsync(mosquitto.Port, outbox);
        var first = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        Raise(publisher, 1, 300);
        await first.UntilAsync(all => all.Count >= 50);
        await mosquitto.KillAsync();
        Raise(publisher, 301, 400);
        await Eventually.TrueAsync(() => !publisher.Sending.IsSending, "not sending");
        var before = first.All;
        await first.DisposeAsync();

        await mosquitto.StartAsync();
        await using var second = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        await second.UntilAsync(all => all.Any(g => g.Text.Contains("B400.1", StringComparison.Ordinal)));
        await Eventually.TrueAsync(() => outbox.Count == 0, "all acknowledged");

        // In order, on both sides of the kill.
        Assert.Equal(Ids(1, before.Count), IdsOf(before));
        var live = second.All.Where(g => !g.Retain).ToArray();
        Assert.Equal(IdsOf(live).Order(StringComparer.Ordinal), IdsOf(live));
        // Nothing is missing: each was seen before, or is there afterwards (as it came, or retained).
        Assert.Equal(Ids(1, 400), before.Concat(second.All).Select(g => g.Json.GetProperty("id").GetString()!).Distinct().Order(StringComparer.Ordinal));
        // Nothing twice: all but the one message whose answer the kill may have swallowed came once, and that one has its number.
        var twice = before.Concat(live).GroupBy(g => g.Json.GetProperty("number").GetInt64()).Where(g => g.Count() > 1).ToArray();
        Assert.True(twice.Length <= 1, $"{twice.Length} came twice");
    }

    [Fact]
    public async Task A_program_that_was_stopped_sends_what_waited_when_it_starts_again_and_nothing_else_twice()
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-outbox").FullName;
        var file = Path.Combine(folder, "outbox.txt");
        try
        {
            await using (var bench = new Bench())
            using (var outbox = new FileOutbox(file))
            {
                var publisher = await bench.PublishToAsync(1, outbox); // Nobody listens on port 1.
                Raise(publisher, 1, 30);
                await Eventually.TrueAsync(() => outbox.Count == 30, "waiting");
            }

            await using var second = new Bench();
            using var again = new FileOutbox(file);
            await second.Broker.StartAsync();
            await using var reader = await second.ReadAsync(second.Topics.AllAlarms);
            await second.PublishAsync(again);
            await reader.UntilAsync(all => all.Count == 30);
            Assert.Equal(Ids(1, 30), IdsOf(reader.All));
            await Eventually.TrueAsync(() => again.Count == 0, "all acknowledged");
            using var third = new FileOutbox(Path.Combine(folder, "outbox.txt"));
            Assert.Equal(0, third.Count);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    [Fact]
    public async Task A_refused_login_is_told_in_a_sentence_and_not_tried_faster_than_the_pause()
    {
        await using var bench = new Bench(new EmbeddedBrokerOptions { User = "boat", Password = "yard" });
        await bench.Broker.StartAsync();
        await using var wire = new CuttableWire(bench.Port);
        var time = new FakeTimeProvider();
        var publisher = await bench.PublishToAsync(wire.Port, options: new PublisherOptions { User = "boat", Password = "wrong" }, time: time);
        await Eventually.TrueAsync(() => publisher.Sending.Sentence.EndsWith($"the broker 127.0.0.1:{wire.Port} refuses the user name or password: correct them in the site file", StringComparison.Ordinal), "the sentence");

        // Pauses of 1, 2, 4, 8 s: one attempt each, none before its time.
        var attempts = 1;
        foreach (var pauseS in new[] { 1, 2, 4, 8 })
        {
            await AtPauseAsync(attempts);
            time.Advance(TimeSpan.FromSeconds(pauseS) - TimeSpan.FromMilliseconds(1));
            Assert.Equal(attempts, wire.Connections);
            time.Advance(TimeSpan.FromMilliseconds(1));
            attempts++;
            var due = attempts;
            await Eventually.TrueAsync(() => wire.Connections == due, $"attempt {due}");
        }

        // The pause is taken once the refusal has come back, which the number of refusals so far tells.
        async Task AtPauseAsync(int count) => await Eventually.TrueAsync(() => publisher.LinksLost == count, $"refusal {count}");
    }

    [Fact]
    public void Pauses_grow_to_the_longest_and_begin_again_after_a_reset()
    {
        var pause = new GrowingPause(TimeSpan.FromSeconds(1), TimeSpan.FromSeconds(60));
        Assert.Equal([1, 2, 4, 8, 16, 32, 60, 60], Enumerable.Range(0, 8).Select(_ => pause.Take().TotalSeconds));
        pause.Reset();
        Assert.Equal(1, pause.Take().TotalSeconds);
    }

    [MosquittoFact]
    public async Task An_independent_broker_that_refuses_the_login_is_told_in_a_sentence()
    {
        await using var mosquitto = new Mosquitto(extraSettings: "allow_anonymous false\n");
        await mosquitto.StartAsync();
        await using var bench = new Bench();
        var publisher = await bench.PublishToAsync(mosquitto.Port, options: Bench.Quick with { User = "boat", Password = "wrong" });
        await Eventually.TrueAsync(() => publisher.Sending.Sentence.Contains("refuses the user name or password", StringComparison.Ordinal), "the sentence");
        Assert.False(publisher.Sending.IsSending);
    }

    [MosquittoFact]
    public async Task A_broker_that_has_forgotten_everything_is_told_the_alarms_again_marked_as_a_repetition()
    {
        await using var mosquitto = new Mosquitto(keepsWhatItHas: false);
        await mosquitto.StartAsync();
        await using var bench = new Bench();
        var outbox = new MemoryOutbox();
        var publisher = await bench.PublishToAsync(mosquitto.Port, outbox);
        await using (var early = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+"))
        {
            publisher.Offer(Some.StateWith(1, Some.Alarm()));
            publisher.Offer(Some.State(2) with { Alarms = [Some.Alarm()] });
            Assert.False((await early.FirstAsync("petrel/alarm/cell-high.B01.2")).Json.GetProperty("repeat").GetBoolean());
            await Eventually.TrueAsync(() => outbox.Count == 0, "acknowledged");
        }

        await mosquitto.KillAsync();
        await mosquitto.StartAsync();
        await using var late = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        var again = await late.FirstAsync("petrel/alarm/cell-high.B01.2");
        Assert.True(again.Json.GetProperty("repeat").GetBoolean());
        Assert.Equal("unacknowledged", again.Json.GetProperty("state").GetString());
    }
}
