namespace CellWatch.Core.Register;

/// <summary>Records in memory: for tests and for looking at a project without a file.</summary>
public sealed class MemoryRecordStore : IRecordStore
{
    private readonly Lock gate = new();
    private readonly List<BenchRecord> records = [];
    private readonly OrderedDictionary<string, byte[]> files = new(StringComparer.Ordinal);
    private Dictionary<(string Kind, string Key), BenchRecord> latest = [];

    /// <inheritdoc/>
    public BenchRecord Append(RecordDraft draft)
    {
        lock (gate)
        {
            var revision = RevisionRule.Next(draft, latest.GetValueOrDefault((draft.Kind, draft.Key)));
            var record = new BenchRecord(records.Count + 1, draft.Kind, draft.Key, revision, draft.By, draft.At, draft.Simulated, draft.Json);
            records.Add(record);
            latest[(draft.Kind, draft.Key)] = record;
            return record;
        }
    }

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> AppendAll(IReadOnlyList<RecordDraft> drafts)
    {
        lock (gate)
        {
            var (count, before) = (records.Count, new Dictionary<(string Kind, string Key), BenchRecord>(latest));
            try
            {
                return [.. drafts.Select(Append)];
            }
            catch (RefusedException)
            {
                records.RemoveRange(count, records.Count - count);
                latest = before;
                throw;
            }
        }
    }

    /// <inheritdoc/>
    public BenchRecord? Latest(string kind, string key)
    {
        lock (gate) return latest.GetValueOrDefault((kind, key));
    }

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> LatestOfKind(string kind)
    {
        lock (gate) return [.. latest.Values.Where(r => r.Kind == kind).OrderBy(r => r.Key, StringComparer.Ordinal)];
    }

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> History(string kind, string key)
    {
        lock (gate) return [.. records.Where(r => r.Kind == kind && r.Key == key)];
    }

    /// <inheritdoc/>
    public IReadOnlyList<BenchRecord> All()
    {
        lock (gate) return [.. records];
    }

    /// <inheritdoc/>
    public void KeepFile(string sha256, ReadOnlyMemory<byte> content)
    {
        lock (gate) files.TryAdd(sha256, content.ToArray());
    }

    /// <inheritdoc/>
    public byte[]? File(string sha256)
    {
        lock (gate) return files.GetValueOrDefault(sha256);
    }

    /// <inheritdoc/>
    public IReadOnlyList<string> Files()
    {
        lock (gate) return [.. files.Keys];
    }
}
