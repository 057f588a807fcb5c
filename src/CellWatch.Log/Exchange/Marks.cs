using System.Globalization;
using System.Text;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Quality, origin and proof of all channels as text, one entry for each run of channels that changed since the row before:
/// <c>1-108 Good Measured proven; 145 Stale Measured unproven</c>. Channels are counted from 1 in the order of the columns. Before the first
/// row every channel is <c>Missing Unknown unproven</c>.
/// </summary>
internal sealed class Marks(int channels)
{
    private readonly (Quality Quality, Origin Origin, bool Proven)[] _now = new (Quality, Origin, bool)[channels];
    private readonly StringBuilder _text = new();

    /// <summary>What changed with this snapshot; empty where nothing did.</summary>
    public string Changes(Snapshot snapshot)
    {
        _text.Clear();
        for (var c = 0; c < channels;)
        {
            var mark = Of(snapshot, c);
            var run = 0;
            while (c + run < channels && Of(snapshot, c + run) == mark && _now[c + run] != mark) run++;
            if (run == 0)
            {
                c++;
                continue;
            }

            if (_text.Length > 0) _text.Append("; ");
            _text.Append(CultureInfo.InvariantCulture, $"{c + 1}");
            if (run > 1) _text.Append(CultureInfo.InvariantCulture, $"-{c + run}");
            _text.Append(CultureInfo.InvariantCulture, $" {mark.Quality} {mark.Origin} {(mark.Proven ? "proven" : "unproven")}");
            _now.AsSpan(c, run).Fill(mark);
            c += run;
        }

        return _text.ToString();
    }

    /// <summary>Applies what <see cref="Changes"/> wrote, and sets it on the buffer.</summary>
    /// <exception cref="InvalidDataException">An entry does not read.</exception>
    public void Apply(string changes, SnapshotBuffer buffer)
    {
        foreach (var entry in changes.Split("; ", StringSplitOptions.RemoveEmptyEntries))
        {
            var words = entry.Split(' ');
            var bounds = words[0].Split('-');
            if (words.Length != 4
                || !int.TryParse(bounds[0], NumberStyles.None, CultureInfo.InvariantCulture, out var first)
                || !int.TryParse(bounds[^1], NumberStyles.None, CultureInfo.InvariantCulture, out var last)
                || first < 1 || last < first || last > channels
                || !Enum.TryParse<Quality>(words[1], out var quality)
                || !Enum.TryParse<Origin>(words[2], out var origin))
                throw new InvalidDataException($"the mark '{entry}' does not read");
            _now.AsSpan(first - 1, last - first + 1).Fill((quality, origin, words[3] == "proven"));
        }

        for (var c = 0; c < channels; c++) (buffer.Qualities[c], buffer.Origins[c], buffer.Proven[c]) = _now[c];
    }

    private static (Quality Quality, Origin Origin, bool Proven) Of(Snapshot s, int c) => (s.Quality[c], s.Origin[c], s.Proven[c]);
}
