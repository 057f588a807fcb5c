using System.Buffers;
using System.Collections.Concurrent;
using System.Text.Json;

namespace CellWatch.Mqtt;

/// <summary>
/// What this run of the program has told of each alarm last, against what the broker retains. An acknowledgement is only as good as the
/// broker's disk: one that was killed or lost power may have taken an alarm and forgotten it, or remember an older state of it. So each
/// new connection reads back what is retained, and what differs is told again as it was, with its old number.
/// </summary>
internal sealed class ToldAlarms
{
    private readonly Dictionary<string, OutboxMessage> _last = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, long?> _retained = new(StringComparer.Ordinal);

    /// <summary>Alarms that the broker retains from an earlier run.</summary>
    public LeftOverAlarms LeftOver { get; } = new();

    /// <summary>Whether those have been dealt with.</summary>
    public bool LeftOversAreDone { get; set; }

    /// <summary>A new connection: nothing has been read back yet.</summary>
    public void BeginLink() => _retained.Clear();

    /// <summary>The broker has acknowledged a message.</summary>
    public void Add(OutboxMessage message)
    {
        if (message.Retain) _last[message.Topic] = message;
    }

    /// <summary>Notes what the broker retains of an alarm; called on the client's own task.</summary>
    public void Note(string topic, ReadOnlySequence<byte> payload)
    {
        _retained[topic] = NumberOf(payload);
        if (!LeftOversAreDone) LeftOver.Note(topic, payload);
    }

    /// <summary>Whether an alarm was told in this run.</summary>
    public bool IsTold(string topic) => _last.ContainsKey(topic);

    /// <summary>Last messages of alarms that the broker does not retain as they were told, in their order.</summary>
    public IReadOnlyList<OutboxMessage> Forgotten() =>
        [.. _last.Values.Where(m => !_retained.TryGetValue(m.Topic, out var number) || number != m.Number).OrderBy(m => m.Number)];

    private static long? NumberOf(ReadOnlySequence<byte> payload)
    {
        try
        {
            using var json = JsonDocument.Parse(payload);
            return json.RootElement.ValueKind == JsonValueKind.Object && json.RootElement.TryGetProperty("number", out var number)
                && number.ValueKind == JsonValueKind.Number && number.TryGetInt64(out var n) ? n : null;
        }
        catch (JsonException)
        {
            return null;
        }
    }
}
