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

    private static long NumberOf(Got got) => got.Json.GetProperty("number").GetInt64();

    private static string[] IdsOf(IEnumerable<Got> got) => [.. got.Where(g => !g.Retain).Select(g => g.Json.GetProperty("id").GetString()!)];

    [Fact]
    public async Task While_the_embedded_broker_is_down_alarms_wait_and_then_come_once_and_in_order()
    {
        using var folder = new TemporaryFolder();
        await using var bench = new Bench(new EmbeddedBrokerOptions { RetainedPath = folder.File("retained.json") });
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
        // What was sent before this reader was there is retained. Nothing of before the break came again; the rest came once, in order.
        Assert.Equal(Enumerable.Range(1, 80).Select(n => (long)n), after.All.Select(NumberOf).Distinct().Order());
        var live = after.All.Where(g => !g.Retain).Select(NumberOf).ToArray();
        Assert.DoesNotContain(live, n => n <= 20);
        Assert.Equal(live.Distinct().Order(), live);
        await Eventually.TrueAsync(() => publisher.Sending is { IsSending: true, Sentence: var s } && s == $"sending to 127.0.0.1:{bench.Port}", "sending again");
        await publisher.StopAsync(CancellationToken.None);
        publisher.Dispose();
    }

    [MosquittoFact]
    public async Task An_independent_broker_stopped_while_alarms_stream_gets_each_alarm_once_and_in_order()
    {
        await using var mosquitto = new Mosquitto();
        var (before, after) = await StreamOverABreakAsync(mosquitto, mosquitto.StopAsync);
        var all = before.Concat(after).ToArray();
        // Nothing twice but the one message whose answer the stop may have swallowed; it then comes again next, with its number.
        var twice = all.GroupBy(NumberOf).Where(g => g.Count() > 1).ToArray();
        Assert.True(twice.Length <= 1, $"{twice.Length} came twice");
        Assert.All(twice, g => Assert.Single(g.Select(m => m.Text).Distinct()));
    }

    [MosquittoFact]
    public async Task An_independent_broker_killed_while_alarms_stream_gets_every_alarm_in_order()
    {
        await using var mosquitto = new Mosquitto();
        var (before, after) = await StreamOverABreakAsync(mosquitto, mosquitto.KillAsync);
        // A killed broker may have acknowledged what it then forgot; only that comes again, unchanged and with its number.
        var again = before.Concat(after).GroupBy(NumberOf).Where(g => g.Count() > 1).ToArray();
        Assert.All(again, g => Assert.Single(g.Select(m => m.Text).Distinct()));
    }

    /// <summary>120 alarms, a break in the middle of them, 40 more while the broker is away; what readers saw live before and after.</summary>
    private static async Task<(IReadOnlyList<Got> Before, IReadOnlyList<Got> After)> StreamOverABreakAsync(Mosquitto mosquitto, Func<Task> breakOff)
    {
        await mosquitto.StartAsync();
        await using var bench = new Bench();
        using var outbox = new FileOutbox(Path.Combine(mosquitto.Folder, "outbox.txt"));
        var publisher = await bench.PublishToAsync(mosquitto.Port, outbox);
        var first = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        Raise(publisher, 1, 120);
        await first.UntilAsync(all => all.Count >= 40);
        await breakOff();
        Raise(publisher, 121, 160);
        await Eventually.TrueAsync(() => !publisher.Sending.IsSending, "not sending");
        var before = first.All;
        await first.DisposeAsync();

        await mosquitto.StartAsync();
        await using var second = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        await second.UntilAsync(all => all.Any(g => g.Text.Contains("B160.1", StringComparison.Ordinal)));
        await Eventually.TrueAsync(() => outbox.Count == 0, "all acknowledged");
        var after = second.All.Where(g => !g.Retain).ToArray();

        // In order, on both sides of the break.
        Assert.Equal(Ids(1, before.Count), IdsOf(before));
        Assert.Equal(IdsOf(after).Order(StringComparer.Ordinal), IdsOf(after));
        // Nothing is missing: the broker retains all of them in the end.
        await using var late = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        await late.UntilAsync(all => all.Select(g => g.Topic).Distinct().Count() == 160);
        return (before, after);
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
    public async Task A_broker_that_has_forgotten_everything_is_told_the_alarms_again_as_they_were()
    {
        await using var mosquitto = new Mosquitto(keepsWhatItHas: false);
        await mosquitto.StartAsync();
        await using var bench = new Bench();
        var outbox = new MemoryOutbox();
        var publisher = await bench.PublishToAsync(mosquitto.Port, outbox);
        string standing, cleared;
        await using (var early = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+"))
        {
            publisher.Offer(Some.StateWith(1, Some.Alarm(), Some.Alarm("spread.pack", cell: null)));
            publisher.Offer(Some.State(2) with { Transitions = [Some.Step(Some.Alarm("spread.pack", AlarmState.Normal, cell: null), AlarmState.Unacknowledged)] });
            standing = (await early.FirstAsync("petrel/alarm/cell-high.B01.2")).Text;
            cleared = (await early.FirstAsync("petrel/alarm/spread.pack", g => g.Json.GetProperty("state").GetString() == "normal")).Text;
            await Eventually.TrueAsync(() => outbox.Count == 0, "acknowledged");
        }

        await mosquitto.KillAsync();
        await mosquitto.StartAsync();
        await using var late = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        await late.UntilAsync(all => all.Select(g => g.Topic).Distinct().Count() == 2);
        Assert.Equal([standing, cleared], late.All.Select(g => g.Text).Order(StringComparer.Ordinal).Reverse().OrderBy(t => t == standing ? 0 : 1));
    }

    [MosquittoFact]
    public async Task A_cut_wire_makes_no_alarm_come_twice()
    {
        await using var mosquitto = new Mosquitto();
        await mosquitto.StartAsync();
        await using var wire = new CuttableWire(mosquitto.Port);
        await using var bench = new Bench();
        var outbox = new MemoryOutbox();
        var publisher = await bench.PublishToAsync(wire.Port, outbox);
        await using var reader = await Reader.OnAsync(mosquitto.Port, "petrel/alarm/+");
        for (var n = 1; n <= 5; n++)
        {
            Raise(publisher, n, n);
            var told = n;
            await reader.UntilAsync(all => all.Count >= told);
            await Eventually.TrueAsync(() => outbox.Count == 0, "acknowledged");
            var losses = publisher.LinksLost;
            wire.Cut();
            await Eventually.TrueAsync(() => publisher.LinksLost > losses, "the cut was seen");
        }

        Raise(publisher, 6, 6);
        await reader.UntilAsync(all => all.Any(g => g.Text.Contains("B006.1", StringComparison.Ordinal)));
        Assert.Equal(Ids(1, 6), IdsOf(reader.All));
    }
}
