using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Exchange;

/// <summary>What a line of a frame log was.</summary>
public enum FrameLine
{
    /// <summary>A frame whose quantities were added.</summary>
    Frame,

    /// <summary>A frame nobody decodes, or a line that is no frame.</summary>
    Other,

    /// <summary>A line that says that frames were lost.</summary>
    Loss,

    /// <summary>A line that does not read.</summary>
    Bad,
}

/// <summary>Decodes one line of a frame log; the signal database is the caller's.</summary>
/// <param name="line">The line.</param>
/// <param name="readings">Receives the quantities it carries.</param>
/// <param name="unixUs">Its time, µs since 1970; not read unless a frame is returned.</param>
public delegate FrameLine FrameLineDecoder(string line, List<Reading> readings, out long unixUs);

/// <summary>
/// Reads a log of frames as snapshots, one a period, as if the frames arrived now: a channel's value holds until it is older than the age
/// limit, then it is stale.
/// </summary>
/// <param name="map">The channels.</param>
/// <param name="decode">Decodes a line.</param>
/// <param name="periodS">Time between two snapshots, s.</param>
/// <param name="staleAfterS">Age at which a value is stale, s.</param>
public sealed class FrameLogImport(ChannelMap map, FrameLineDecoder decode, double periodS = 1, double staleAfterS = 5)
{
    private readonly double[] _values = new double[map.Count];
    private readonly ReadingMark[] _marks = new ReadingMark[map.Count];
    private readonly long[] _readUs = new long[map.Count];
    private readonly List<Reading> _readings = [];
    private readonly SnapshotBuffer _buffer = new(map);
    private long _sequence;

    /// <summary>What was found; complete when all snapshots have been read.</summary>
    public ImportReport Report { get; } = new();

    /// <summary>The snapshots.</summary>
    public IEnumerable<Snapshot> Read(IEnumerable<string> lines)
    {
        var periodUs = (long)(periodS * 1e6);
        long firstUs = 0, nextUs = 0, lastUs = long.MinValue, lost = 0;
        _readUs.AsSpan().Fill(long.MinValue);
        foreach (var line in lines)
        {
            _readings.Clear();
            var kind = decode(line, _readings, out var us);
            if (kind == FrameLine.Bad) Report.Bad++;
            if (kind == FrameLine.Loss) lost++;
            if (kind != FrameLine.Frame) continue;
            Report.Rows++;
            if (lastUs == long.MinValue)
            {
                (firstUs, nextUs) = (us, us + periodUs);
            }
            else if (us < lastUs)
            {
                // The frames themselves are in order: only their label went back. Counting goes on from the frame before.
                Report.Marked++;
                firstUs -= lastUs - us;
                nextUs -= lastUs - us;
                for (var c = 0; c < _readUs.Length; c++)
                    if (_readUs[c] != long.MinValue) _readUs[c] -= lastUs - us;
            }

            lastUs = us;
            while (us >= nextUs)
            {
                yield return Take(nextUs, firstUs);
                nextUs += periodUs;
                // Silence of more than the age limit is a gap, not rows of stale values.
                if (us - nextUs > (long)(staleAfterS * 1e6) + periodUs) nextUs = us - ((us - nextUs) % periodUs);
            }

            foreach (var reading in _readings) (_values[reading.Channel], _marks[reading.Channel], _readUs[reading.Channel]) = (reading.Value, reading.Mark, us);
        }

        if (lastUs != long.MinValue) yield return Take(nextUs, firstUs);
        if (lost > 0) Report.Note($"{lost} lines say that frames were lost before they were logged.");
        if (Report.Bad > 0) Report.Note($"{Report.Bad} lines do not read.");
        if (Report.Marked > 0) Report.Note($"The log's clock went back {Report.Marked} times; counting went on without it.");
    }

    private Snapshot Take(long us, long firstUs)
    {
        _buffer.Begin(++_sequence, new SnapshotTime(us - firstUs, us / 1000));
        for (var c = 0; c < _values.Length; c++)
        {
            if (_readUs[c] == long.MinValue || _marks[c] == ReadingMark.NoData) continue;
            _buffer.Values[c] = _values[c];
            _buffer.AgesUs[c] = us - _readUs[c];
            _buffer.Origins[c] = Origin.Replayed;
            _buffer.Qualities[c] = us - _readUs[c] > staleAfterS * 1e6
                ? Quality.Stale
                : _marks[c] switch { ReadingMark.OutOfRange => Quality.OutOfRange, ReadingMark.Open => Quality.Open, _ => Quality.Good };
        }

        return _buffer.Freeze();
    }
}
