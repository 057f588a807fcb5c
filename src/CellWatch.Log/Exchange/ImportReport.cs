namespace CellWatch.Log.Exchange;

/// <summary>What an import found; complete when its snapshots have been read to the end.</summary>
public sealed class ImportReport
{
    private readonly List<string> _notes = [];
    private readonly Dictionary<string, List<string>> _legend = new(StringComparer.Ordinal);

    /// <summary>Rows (or frames) in the file.</summary>
    public long Rows { get; internal set; }

    /// <summary>Rows kept and marked doubtful: their clock went back. They are in the log but nothing is worked out from them.</summary>
    public long Marked { get; internal set; }

    /// <summary>Lines that do not read; they are not kept.</summary>
    public long Bad { get; internal set; }

    /// <summary>Separate records in the file: stretches with a clock of their own.</summary>
    public int Records { get; internal set; } = 1;

    /// <summary>What a person should know, in sentences.</summary>
    public IReadOnlyList<string> Notes => _notes;

    /// <summary>For each column of words: the words in the order of the numbers they are kept as, from 0.</summary>
    public IReadOnlyDictionary<string, List<string>> Legend => _legend;

    internal void Note(string sentence) => _notes.Add(sentence);

    internal double CodeOf(string column, string word)
    {
        if (!_legend.TryGetValue(column, out var words)) _legend[column] = words = [];
        var code = words.IndexOf(word);
        if (code >= 0) return code;
        words.Add(word);
        return words.Count - 1;
    }
}
