using System.Buffers;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using MQTTnet;
using MQTTnet.Protocol;

namespace CellWatch.Mqtt;

/// <summary>
/// The live values of one state: the pack and the permit each time, a module's cells and temperatures when something in them has
/// changed, an instrument when its link has changed; and all of them before the broker's copy expires. QoS 0, retained, with
/// expiry: only the newest is worth anything.
/// </summary>
/// <param name="layout">The pack.</param>
/// <param name="topics">Where they go.</param>
/// <param name="options">Expiry.</param>
/// <param name="time">For the repetition.</param>
internal sealed class LiveMessages(PackLayout layout, Topics topics, PublisherOptions options, TimeProvider time)
{
    private readonly string[] _cellTopics = [.. layout.Modules.Select(m => topics.Cells(m.Id))];
    private readonly string[] _temperatureTopics = [.. layout.Modules.Select(m => topics.Temperatures(m.Id))];
    private readonly (PackState? State, long At)[] _cells = new (PackState?, long)[layout.Modules.Length];
    private readonly (PackState? State, long At)[] _temperatures = new (PackState?, long)[layout.Modules.Length];
    private readonly Dictionary<string, (FrontEndHealth Health, long At)> _instruments = new(StringComparer.Ordinal);
    private readonly MqttApplicationMessage _message = new() { Retain = true, QualityOfServiceLevel = MqttQualityOfServiceLevel.AtMostOnce, ContentType = "application/json" };

    /// <summary>Unchanged values go out again after this time, so that a broker's copy outlives two lost ones.</summary>
    private readonly TimeSpan _repeatAfter = options.LiveExpiry / 3;

    /// <summary>The pack these are for.</summary>
    public PackLayout Layout => layout;

    /// <summary>Sends what is due of a state, one after the other.</summary>
    /// <param name="state">The newest state.</param>
    /// <param name="writer">The sending task's writer.</param>
    /// <param name="send">Sends one message; the message and its payload may be used until its task ends.</param>
    public async Task SendAsync(PackState state, PayloadWriter writer, Func<MqttApplicationMessage, Task> send)
    {
        await SendOne(topics.Permit, writer.Permit(state, options.PermitValidFor.TotalSeconds), options.PermitValidFor, send);
        await SendOne(topics.Pack, writer.Pack(state), options.LiveExpiry, send);
        for (var m = 0; m < layout.Modules.Length; m++)
        {
            if (IsDue(_cells[m].At) || CellsChanged(_cells[m].State, state, m))
            {
                await SendOne(_cellTopics[m], writer.Cells(state, m), options.LiveExpiry, send);
                _cells[m] = (state, time.GetTimestamp());
            }

            if (layout.Modules[m].TemperatureSensors > 0 && (IsDue(_temperatures[m].At) || TemperaturesChanged(_temperatures[m].State, state, m)))
            {
                await SendOne(_temperatureTopics[m], writer.Temperatures(state, m), options.LiveExpiry, send);
                _temperatures[m] = (state, time.GetTimestamp());
            }
        }

        foreach (var health in state.FrontEnds)
        {
            if (_instruments.TryGetValue(health.Name, out var sent) && !IsDue(sent.At) && !LinkChanged(sent.Health, health)) continue;
            await SendOne(topics.Instrument(health.Name), writer.Instrument(health, state), options.LiveExpiry, send);
            _instruments[health.Name] = (health, time.GetTimestamp());
        }
    }

    private Task SendOne(string topic, ReadOnlyMemory<byte> payload, TimeSpan expiry, Func<MqttApplicationMessage, Task> send)
    {
        _message.Topic = topic;
        _message.Payload = new ReadOnlySequence<byte>(payload);
        _message.MessageExpiryInterval = (uint)expiry.TotalSeconds;
        return send(_message);
    }

    private bool IsDue(long sentAt) => time.GetElapsedTime(sentAt) >= _repeatAfter;

    private bool CellsChanged(PackState? sent, PackState now, int module)
    {
        if (sent is null) return true;
        var (first, count) = (layout.FirstCell(module), layout.Modules[module].Topology.Series);
        return Changed(sent.Snapshot, now.Snapshot, first, count, JsonWriting.VoltageDigits)
            || Changed(sent.Snapshot, now.Snapshot, now.Snapshot.Map.FirstBleed + first, count, 0)
            || !sent.CellStates.AsSpan().Slice(first, count).SequenceEqual(now.CellStates.AsSpan().Slice(first, count));
    }

    private bool TemperaturesChanged(PackState? sent, PackState now, int module) => sent is null
        || Changed(sent.Snapshot, now.Snapshot, now.Snapshot.Map.FirstTemperature + layout.FirstTemperature(module),
            layout.Modules[module].TemperatureSensors, JsonWriting.TemperatureDigits);

    private static bool Changed(Snapshot sent, Snapshot now, int first, int count, int digits)
    {
        if (!sent.Quality.Slice(first, count).SequenceEqual(now.Quality.Slice(first, count))) return true;
        if (!sent.Origin.Slice(first, count).SequenceEqual(now.Origin.Slice(first, count))) return true;
        if (!sent.Proven.Slice(first, count).SequenceEqual(now.Proven.Slice(first, count))) return true;
        for (var c = first; c < first + count; c++)
        {
            // As rounded in the payload: what a reader cannot see is no change.
            if (now.TryGet(c, out var value) && !Math.Round(value, digits).Equals(Math.Round(sent.RawValues[c], digits))) return true;
        }

        return false;
    }

    private static bool LinkChanged(FrontEndHealth sent, FrontEndHealth now) =>
        sent.State != now.State || sent.Fault != now.Fault || sent.Port != now.Port || sent.Identity != now.Identity || sent.Simulated != now.Simulated;
}
