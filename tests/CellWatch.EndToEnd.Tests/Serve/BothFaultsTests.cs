using System.Buffers;
using System.Net;
using System.Text;
using System.Text.Json.Nodes;
using CellWatch.Core.Engine;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Pipeline;
using CellWatch.Log;
using CellWatch.Log.Store;
using CellWatch.Mqtt;
using CellWatch.Testing;
using Microsoft.Data.Sqlite;
using Microsoft.Extensions.Logging.Abstractions;
using Microsoft.Extensions.Time.Testing;
using MQTTnet;
using MQTTnet.Formatter;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary>Story 19: the broker is down and the disk nearly full, at once; the engine, the log and the publisher are the real ones.</summary>
public sealed class BothFaultsTests
{
    private static readonly DateTimeOffset At1420 = new(2026, 11, 25, 14, 20, 0, TimeSpan.Zero);

    [Fact]
    public async Task Story_19_rules_and_record_go_on_both_are_said_and_when_both_return_nothing_comes_twice_and_the_order_is_kept()
    {
        using var folder = new TemporaryFolder();
        var free = 1L << 40;
        var logOptions = new CellLogOptions { FreeBytes = _ => Interlocked.Read(ref free), LookAtRoomEveryS = 0 };
        var (logClock, sendClock) = (new FakeTimeProvider(At1420), new FakeTimeProvider(At1420));
        await using var log = CellLog.Open(folder.File(), logOptions, logClock);
        await using var broker = new EmbeddedBroker(new EmbeddedBrokerOptions { Port = 0 }, new Topics("petrel"), TimeProvider.System, NullLogger<EmbeddedBroker>.Instance);
        await broker.StartAsync();
        var outbox = new FileOutbox(folder.File("petrel.outbox"));
        // As an external broker, on a site it does not guard, so that the publisher does not open it by itself.
        using var publisher = new MqttPublisher("Tern", new PublisherOptions { Port = broker.Port }, outbox, sendClock, NullLogger<MqttPublisher>.Instance);
        var sinks = new SinkSet([log, publisher], NullLogger<SinkSet>.Instance);
        PackState? state = null;
        PackEngine? engine = null;
        var raisedV = 0.0;
        var pack = new SyntheticPack(modules: 3)
        {
            CurrentA = _ => 0,
            Disturb = b =>
            {
                if (raisedV > 0) b.Values[7] = raisedV;
                engine!.Step(b);
                state = engine.Publish(b, [], log.Recording, publisher.Sending);
            },
        };
        engine = new PackEngine(pack.Map, CellType.Nmc420, new EngineOptions { HandCutOff = "red button on the station", CapacityAh = 110 });
        var taken = new List<Snapshot>();
        void Scan(int seconds)
        {
            for (var i = 0; i < seconds; i++)
            {
                pack.Next();
                taken.Add(state!.Snapshot);
                sinks.Offer(state);
            }
        }

        Scan(1500);
        await log.FlushAsync();
        await publisher.StartAsync(CancellationToken.None);
        await UntilAsync(() => publisher.Sending.IsSending && outbox.Count == 0, "sending before the faults");

        // 14:20: the broker stops, and there is room for half an hour.
        await broker.StopAsync();
        using (var connection = new SqliteConnection($"Data Source={folder.File()};Mode=ReadOnly;Pooling=False"))
        {
            connection.Open();
            var space = Space.Of(connection, folder.File(), logOptions);
            Interlocked.Exchange(ref free, (long)((space.FullRatePerDay + space.RollUpsPerDay) / 48) - space.InsideBytes);
        }

        await UntilAsync(() => !publisher.Sending.IsSending, "the broker is missed");
        raisedV = 4.28;
        Scan(30);
        await log.FlushAsync();
        log.RecordEvent(EventKinds.Mark, "look", taken[^1].Time);
        await UntilAsync(() => log.Recording.Sentence != "recording", "the room is foretold");
        Scan(1);

        // Rules and alarms go on, and every page has both sentences: they are part of the state itself.
        Assert.Equal(StateWord.ActNow, state!.Verdict.State);
        Assert.Contains(state.Alarms, a => a.IsActive && a.Place == "B02.2");
        Assert.StartsWith("NOT SENDING since 14:20", state.Sending.Sentence, StringComparison.Ordinal);
        Assert.Matches("^NOT RECORDING from about 14:(49|50|51): ", state.Recording.Sentence);
        Assert.True(state.Recording.IsRecording);
        await UntilAsync(() => outbox.Count > 0, "what the broker has to be told waits");
        raisedV = 0;
        Scan(120);

        // Both return.
        Interlocked.Exchange(ref free, 1L << 40);
        log.RecordEvent(EventKinds.Mark, "room", taken[^1].Time);
        await broker.StartAsync();
        var got = new List<(string Topic, bool Retain, long Number)>();
        using var reader = await ReadAsync(broker.Port, got);
        await UntilAsync(() => publisher.Sending.IsSending && outbox.Count == 0, "sending again", () => sendClock.Advance(TimeSpan.FromSeconds(5)));
        Scan(30);
        await UntilAsync(() => outbox.Count == 0, "all sent");
        await log.FlushAsync();
        await UntilAsync(() => log.Recording.Sentence == "recording", "recording without a warning");

        var steps = await log.ReadAlarmsAsync(TimeRange.All);
        Assert.Contains(steps, s => s.Transition.Alarm.Place == "B02.2");
        List<(string Topic, bool Retain, long Number)> came = [];
        await UntilAsync(
            () =>
            {
                lock (got) came = [.. got];
                return came.Count(g => !g.Retain) >= 2;
            },
            "what waited has come");
        var numbers = came.Where(g => !g.Retain).Select(g => g.Number).ToList();
        Assert.Equal(numbers.Distinct().Order(), numbers);
        Assert.Equal(Enumerable.Range(0, numbers.Count).Select(i => numbers[0] + i), numbers);

        // Nothing of the record is lost, thinned against the rule or there twice.
        var kept = new List<long>();
        await foreach (var snapshot in log.ReadSnapshotsAsync(TimeRange.All)) kept.Add(snapshot.Sequence);
        Assert.Equal(taken.Select(s => s.Sequence), kept);
        Assert.DoesNotContain(await log.ReadEventsAsync(TimeRange.All), e => e.Kind is EventKinds.Thinned or EventKinds.Gap);
        Assert.Empty(sinks.Failures);
        await publisher.StopAsync(CancellationToken.None);
    }

    private static async Task<IMqttClient> ReadAsync(int port, List<(string Topic, bool Retain, long Number)> got)
    {
        var client = new MqttClientFactory().CreateMqttClient();
        client.ApplicationMessageReceivedAsync += e =>
        {
            if (JsonNode.Parse(Encoding.UTF8.GetString(e.ApplicationMessage.Payload.ToArray()))?["number"] is { } number)
                lock (got) got.Add((e.ApplicationMessage.Topic, e.ApplicationMessage.Retain, (long)number));
            return Task.CompletedTask;
        };
        await client.ConnectAsync(new MqttClientOptionsBuilder().WithTcpServer(IPAddress.Loopback.ToString(), port).WithProtocolVersion(MqttProtocolVersion.V500).WithClientId("reader").Build());
        await client.SubscribeAsync(new MqttTopicFilterBuilder().WithTopic("tern/alarm/+").WithAtLeastOnceQoS().Build());
        return client;
    }

    private static async Task UntilAsync(Func<bool> condition, string what, Action? meanwhile = null)
    {
        for (var looks = 0; looks < 1500; looks++)
        {
            if (condition()) return;
            meanwhile?.Invoke();
            await Task.Delay(20);
        }

        Assert.Fail($"did not come true: {what}");
    }
}
