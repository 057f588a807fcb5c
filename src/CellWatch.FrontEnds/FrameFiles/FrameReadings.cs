using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.FrameFiles;

/// <summary>
/// Turns lines of a candump log into readings of a pack's channels, by the same signal database and patterns as a front end reads live frames by.
/// What boards say about themselves (identity, counters) is not looked at: a log holds what it holds.
/// </summary>
public sealed class FrameReadings
{
    private readonly List<(CanDatabase Database, SignalMap Map)> _boards = [];
    private readonly SignalValue[] _values;
    private readonly Reading[] _readings;
    private CanFrame _frame;

    /// <param name="boards">Front ends whose frames the log may hold; only those of CAN wires count.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="baseFolder">Folder from which relative paths count.</param>
    /// <exception cref="FrontEndOptionsException">The options of one are not valid, or none is a CAN front end.</exception>
    public FrameReadings(IEnumerable<FrontEndOptions> boards, ChannelMap map, string baseFolder = "")
    {
        foreach (var options in boards.Where(o => o.Wire is WireKind.SerialCan or WireKind.LinuxCan))
            _boards.Add(FrontEndFactory.SignalsOf(options, map, baseFolder));
        if (_boards.Count == 0) throw new FrontEndOptionsException("No front end of the site reads CAN frames: a candump log needs one with a signal database.");
        _values = new SignalValue[Math.Max(1, _boards.Max(b => b.Database.MaxSignals))];
        _readings = new Reading[Math.Max(64, map.Count)];
    }

    /// <summary>Reads one line.</summary>
    /// <param name="line">ASCII, without its end.</param>
    /// <param name="readings">Receives the quantities it carries.</param>
    /// <param name="time">Its time stamp; meaningful for a frame only.</param>
    /// <param name="isTaken">Whether any board knows the frame.</param>
    /// <returns>What the line is.</returns>
    public CandumpLineKind Read(ReadOnlySpan<byte> line, List<Reading> readings, out CandumpTime time, out bool isTaken)
    {
        isTaken = false;
        var kind = CandumpLine.Read(line, ref _frame, out time, out _);
        if (kind != CandumpLineKind.Frame || _frame.IsError || _frame.IsRemote) return kind;
        foreach (var (database, map) in _boards)
        {
            if (database.Find(_frame.Id, _frame.IsExtended) is not { } message || map.Find(message) is not { } mapped) continue;
            if (message.Decode(_frame.Data, _values) == DecodeOutcome.TooShort) continue;
            isTaken = true;
            readings.AddRange(_readings.AsSpan(0, SignalFrameReader.Collect(map, mapped, _values, _readings)));
        }

        return kind;
    }
}
