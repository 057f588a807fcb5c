namespace CellWatch.Core.Register;

/// <summary>One stored revision of one thing (a module, a run, a gate, a plan). It is never changed or removed.</summary>
/// <param name="Sequence">Counts up by one a record, from 1, over the whole store.</param>
/// <param name="Kind">What it is, for example <c>module</c>.</param>
/// <param name="Key">Which one, for example <c>B07</c>.</param>
/// <param name="Revision">Counts up by one for each kind and key, from 1.</param>
/// <param name="By">Who; the name a person typed.</param>
/// <param name="At">When, wall time.</param>
/// <param name="Simulated">True when any figure in it comes from a model of a pack.</param>
/// <param name="Json">Its content.</param>
public sealed record BenchRecord(long Sequence, string Kind, string Key, int Revision, string By, DateTimeOffset At, bool Simulated, string Json);

/// <summary>A revision to be stored.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Key">Which one.</param>
/// <param name="BasedOn">The revision the person had in view, 0 for a new one. Another latest revision means that two people edit at once.</param>
/// <param name="By">Who.</param>
/// <param name="At">When.</param>
/// <param name="Simulated">Whether a figure in it is simulated.</param>
/// <param name="Json">Its content.</param>
public sealed record RecordDraft(string Kind, string Key, int BasedOn, string By, DateTimeOffset At, bool Simulated, string Json);

/// <summary>Where records are kept. It only ever appends. Implementations are safe to call from several threads.</summary>
public interface IRecordStore
{
    /// <summary>Stores a revision and returns it with its numbers.</summary>
    /// <exception cref="RefusedException">Someone stored another revision since; the message says who, when and what to do.</exception>
    BenchRecord Append(RecordDraft draft);

    /// <summary>Stores several, all or none.</summary>
    /// <exception cref="RefusedException">One of them is refused; then none is stored.</exception>
    IReadOnlyList<BenchRecord> AppendAll(IReadOnlyList<RecordDraft> drafts);

    /// <summary>The latest revision of one thing; null where there is none.</summary>
    BenchRecord? Latest(string kind, string key);

    /// <summary>The latest revision of each thing of a kind, by key.</summary>
    IReadOnlyList<BenchRecord> LatestOfKind(string kind);

    /// <summary>All revisions of one thing, oldest first.</summary>
    IReadOnlyList<BenchRecord> History(string kind, string key);

    /// <summary>All records, oldest first.</summary>
    IReadOnlyList<BenchRecord> All();

    /// <summary>Keeps the content of a file under its digest, for good. One that is there already is left as it is.</summary>
    /// <param name="sha256">Its SHA-256 in lower-case hexadecimal.</param>
    /// <param name="content">The file.</param>
    void KeepFile(string sha256, ReadOnlyMemory<byte> content);

    /// <summary>The content kept under a digest, unchecked; null where there is none.</summary>
    byte[]? File(string sha256);

    /// <summary>Digests of all files, in the order they came.</summary>
    IReadOnlyList<string> Files();
}

/// <summary>The rule both stores share.</summary>
public static class RevisionRule
{
    /// <summary>Checks a draft against the latest revision and returns the number it gets.</summary>
    /// <exception cref="RefusedException">A name is missing, or the draft is based on an older revision.</exception>
    public static int Next(RecordDraft draft, BenchRecord? latest)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(draft.By), T("Say who you are: every record carries a name."));
        var latestRevision = latest?.Revision ?? 0;
        if (draft.BasedOn == latestRevision) return latestRevision + 1;
        throw new RefusedException(latest is null
            ? T($"There is no {draft.Kind} '{draft.Key}' yet, but the entry is based on revision {draft.BasedOn}: open it again and repeat the entry.")
            : T($"{latest.By} stored revision {latest.Revision} of {draft.Kind} '{draft.Key}' at {latest.At:yyyy-MM-dd HH:mm:ss}, after the revision {draft.BasedOn} you had in view. ") +
              T("Nothing of yours or theirs is lost: look at theirs, then enter yours again on top."))
        { IsConflict = true };
    }
}
