using System.Text.Json;
using System.Text.Json.Serialization;

namespace CellWatch.Core.Register;

/// <summary>A stored thing with its numbers.</summary>
/// <typeparam name="T">What it is.</typeparam>
/// <param name="Value">Its content.</param>
/// <param name="Record">The revision it was read from.</param>
public sealed record Kept<T>(T Value, BenchRecord Record);

/// <summary>The form in which records are written: JSON with camel-case names, enumerations as words, NaN as the word "NaN".</summary>
public static class RecordJson
{
    /// <summary>The options every record and every answer is written with.</summary>
    public static JsonSerializerOptions Options { get; } = new(JsonSerializerDefaults.Web)
    {
        Converters = { new JsonStringEnumConverter(JsonNamingPolicy.CamelCase) },
        NumberHandling = JsonNumberHandling.AllowNamedFloatingPointLiterals,
        DefaultIgnoreCondition = JsonIgnoreCondition.WhenWritingNull,
    };
}

/// <summary>The records of one kind, with their type.</summary>
/// <typeparam name="T">What is kept; it must survive <see cref="RecordJson"/>.</typeparam>
/// <param name="store">Where.</param>
/// <param name="kind">Name of the kind.</param>
public sealed class Shelf<T>(IRecordStore store, string kind)
    where T : class
{
    /// <summary>Name of the kind.</summary>
    public string Kind => kind;

    /// <summary>Stores a revision.</summary>
    /// <exception cref="RefusedException">See <see cref="IRecordStore.Append"/>.</exception>
    public Kept<T> Put(string key, T value, int basedOn, string by, DateTimeOffset at, bool simulated) =>
        Read(store.Append(new RecordDraft(kind, key, basedOn, by, at, simulated, JsonSerializer.Serialize(value, RecordJson.Options))));

    /// <summary>The latest revision, or null.</summary>
    public Kept<T>? Latest(string key) => store.Latest(kind, key) is { } record ? Read(record) : null;

    /// <summary>The latest of each, by key.</summary>
    public IReadOnlyList<Kept<T>> Latest() => [.. store.LatestOfKind(kind).Select(Read)];

    /// <summary>All revisions of one, oldest first.</summary>
    public IReadOnlyList<Kept<T>> History(string key) => [.. store.History(kind, key).Select(Read)];

    private static Kept<T> Read(BenchRecord record) =>
        new(JsonSerializer.Deserialize<T>(record.Json, RecordJson.Options)
            ?? throw new InvalidDataException($"Record {record.Sequence} ({record.Kind} '{record.Key}') is empty."), record);
}
