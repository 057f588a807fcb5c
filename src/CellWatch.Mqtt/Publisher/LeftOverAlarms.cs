using System.Buffers;
using System.Collections.Concurrent;
using System.Text.Json;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;

namespace CellWatch.Mqtt;

/// <summary>
/// Alarms that the broker still retains from an earlier run of the program. Such an alarm would stand for ever if its condition went
/// while the program was away, and must not be called cleared either: nobody has seen it go. After a time in which the rules had every
/// chance to raise it again it is told as not known.
/// </summary>
internal sealed class LeftOverAlarms
{
    /// <summary>The word that stands for the state of such an alarm.</summary>
    public const string NotKnown = "notKnown";

    /// <summary>Time the rules get to raise an alarm again: longer than any delay of a starting rule (chosen, no source).</summary>
    public static readonly TimeSpan Chance = TimeSpan.FromSeconds(60);

    private readonly ConcurrentDictionary<string, AlarmView> _found = new(StringComparer.Ordinal);

    /// <summary>How many were found and not taken out yet.</summary>
    public int Count => _found.Count;

    /// <summary>Notes a retained message; one that stands for no alarm, or that is in order, is passed over.</summary>
    public void Note(string topic, ReadOnlySequence<byte> payload)
    {
        try
        {
            using var json = JsonDocument.Parse(payload);
            var root = json.RootElement;
            if (root.ValueKind != JsonValueKind.Object || Text(root, "state") is "" or "normal" or NotKnown || Text(root, "id") is not { Length: > 0 } id) return;
            _found[topic] = new AlarmView
            {
                Id = id,
                Rule = Text(root, "rule"),
                Priority = Enum.TryParse<AlarmPriority>(Text(root, "priority"), ignoreCase: true, out var priority) ? priority : AlarmPriority.Low,
                State = AlarmState.Normal,
                Word = "NO DATA",
                Place = Text(root, "place"),
                Slot = Text(root, "slot"),
                Message = $"Not known: it was raised before the program was started again, and not since. It said: {Text(root, "message")}",
                DoFirst = "Look at the pack.",
            };
        }
        catch (JsonException)
        {
            // Not one of ours.
        }
    }

    /// <summary>Takes out those that the present run has neither told nor raised, each with its topic.</summary>
    /// <param name="state">The pack now.</param>
    /// <param name="isTold">Whether this run has told an alarm on that topic.</param>
    public List<(string Topic, AlarmView Alarm)> Take(PackState state, Func<string, bool> isTold)
    {
        var left = _found.Where(f => !isTold(f.Key) && !state.Alarms.Any(a => a.Id == f.Value.Id))
            .Select(f => (f.Key, f.Value with { Cell = CellOf(f.Value.Place, state.Layout) })).ToList();
        _found.Clear();
        return left;
    }

    private static int? CellOf(string place, PackLayout layout) =>
        CellId.TryParse(place, out var id) && layout.TryFindCell(id, out var cell) ? cell : null;

    private static string Text(JsonElement json, string name) =>
        json.TryGetProperty(name, out var value) && value.ValueKind == JsonValueKind.String ? value.GetString()! : "";
}
