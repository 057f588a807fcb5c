using System.Buffers;
using System.Collections.Concurrent;
using MQTTnet;
using MQTTnet.Packets;

namespace CellWatch.Mqtt;

/// <summary>
/// Message expiry of retained messages, which the broker library carries but does not act on: a message is dropped once its interval
/// is over, and a late reader is told the time that is left of it (MQTT 5.0, 3.3.2.3.3), so that it cannot take an old voltage for
/// a new one.
/// </summary>
internal sealed class RetainedExpiry(TimeProvider time)
{
    private readonly ConcurrentDictionary<string, (long Arrived, uint IntervalS)> _live = new(StringComparer.Ordinal);

    /// <summary>Notes a retained message that has come in.</summary>
    public void Note(MqttApplicationMessage message)
    {
        if (message.MessageExpiryInterval == 0 || message.Payload.IsEmpty) _live.TryRemove(message.Topic, out _);
        else _live[message.Topic] = (time.GetTimestamp(), message.MessageExpiryInterval);
    }

    /// <summary>Puts the time that is left into a retained message on its way to a late reader.</summary>
    public void Shorten(MqttPublishPacket packet)
    {
        if (!packet.Retain || packet.MessageExpiryInterval == 0 || !_live.TryGetValue(packet.Topic, out var entry)) return;
        packet.MessageExpiryInterval = (uint)Math.Max(1, entry.IntervalS - Math.Floor(time.GetElapsedTime(entry.Arrived).TotalSeconds));
    }

    /// <summary>Takes out the topics whose message is over.</summary>
    public IEnumerable<string> TakeExpired()
    {
        foreach (var (topic, entry) in _live)
        {
            if (time.GetElapsedTime(entry.Arrived).TotalSeconds >= entry.IntervalS && _live.TryRemove(new(topic, entry)))
                yield return topic;
        }
    }
}
