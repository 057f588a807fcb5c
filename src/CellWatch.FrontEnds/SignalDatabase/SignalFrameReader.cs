using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Running;

namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>Why a well-formed frame gave no readings.</summary>
internal enum SignalFrameFault : byte
{
    UnknownIdentifier,
    TooShort,
    UnknownPage,
    NoData,
    ErrorFrame,
    Repeated,
    OtherIdentity,
}

/// <summary>Turns frames of a CAN bus into readings by database and map; the same for every CAN wire. No allocation.</summary>
internal sealed class SignalFrameReader
{
    /// <summary>How many reasons there are.</summary>
    public const int ReasonCount = (int)SignalFrameFault.OtherIdentity + 1;

    private readonly CanDatabase _database;
    private readonly SignalMap _map;
    private readonly LinkJournal _journal;
    private readonly byte _firstReason;
    private readonly SignalValue[] _values;
    private readonly Reading[] _readings;
    private readonly byte[] _identity = new byte[24];
    private long _lastSequence = -1;

    // The latest the board said about itself; its signals may be spread over messages.
    private double? _temperatureDegC, _supplyV, _bleedTimeoutS;
    private bool? _isolated;
    private bool _isSimulated;

    /// <param name="database">What the frames mean.</param>
    /// <param name="map">Which signals feed which channels.</param>
    /// <param name="channels">The board's channels.</param>
    /// <param name="journal">Gate and diagnostics.</param>
    /// <param name="firstReason">Number of <see cref="SignalFrameFault.UnknownIdentifier"/> among the wire's reasons.</param>
    public SignalFrameReader(CanDatabase database, SignalMap map, BoardChannels channels, LinkJournal journal, byte firstReason)
    {
        _database = database;
        _map = map;
        _journal = journal;
        _firstReason = firstReason;
        _values = new SignalValue[Math.Max(1, database.MaxSignals)];
        _readings = new Reading[Math.Max(64, channels.All.Length)];
    }

    public static string Words(SignalFrameFault fault) => fault switch
    {
        SignalFrameFault.UnknownIdentifier => "unknown identifier",
        SignalFrameFault.TooShort => "frame shorter than its message",
        SignalFrameFault.UnknownPage => "unknown multiplex page",
        SignalFrameFault.NoData => "remote frame",
        SignalFrameFault.ErrorFrame => "error frame of the bus",
        SignalFrameFault.Repeated => "frame repeated",
        _ => "another identity",
    };

    public void Reset()
    {
        _lastSequence = -1;
        (_temperatureDegC, _supplyV, _bleedTimeoutS, _isolated, _isSimulated) = (null, null, null, null, false);
    }

    /// <summary>Takes one frame.</summary>
    /// <param name="frame">The frame.</param>
    /// <param name="raw">Its text or bytes, for diagnostics.</param>
    public void Take(in CanFrame frame, ReadOnlySpan<byte> raw)
    {
        if (frame.IsError) { _journal.Bad(raw, Reason(SignalFrameFault.ErrorFrame)); return; }
        var message = _database.Find(frame.Id, frame.IsExtended);
        // Other traffic on a shared bus is none of ours and no fault.
        if (message is null) { _journal.Ignored(Reason(SignalFrameFault.UnknownIdentifier)); return; }
        if (frame.IsRemote) { _journal.Ignored(Reason(SignalFrameFault.NoData)); return; }
        if (_map.Find(message) is not { } mapped) { _journal.Good([]); return; }

        switch (message.Decode(frame.Data, _values))
        {
            case DecodeOutcome.TooShort: _journal.Bad(raw, Reason(SignalFrameFault.TooShort)); return;
            case DecodeOutcome.UnknownPage: _journal.Bad(raw, Reason(SignalFrameFault.UnknownPage)); break;
        }

        if (mapped.Board.Length > 0 && !TakeBoard(mapped, raw)) return;
        _journal.Good(_readings.AsSpan(0, Collect(_map, mapped, _values, _readings)));
    }

    /// <summary>The readings of a decoded message.</summary>
    /// <param name="map">Which codes mean that there is no value.</param>
    /// <param name="mapped">The message.</param>
    /// <param name="values">Its signals, decoded.</param>
    /// <param name="readings">Receives them.</param>
    /// <returns>How many.</returns>
    internal static int Collect(SignalMap map, MappedMessage mapped, ReadOnlySpan<SignalValue> values, Span<Reading> readings)
    {
        var count = 0;
        foreach (ref readonly var mappedSignal in mapped.Signals.AsSpan())
        {
            var value = values[mappedSignal.Signal];
            if (!value.IsPresent) continue;
            var signal = mapped.Message.Signals[mappedSignal.Signal];
            if (mappedSignal.MaskBits > 0)
            {
                for (var bit = 0; bit < mappedSignal.MaskBits; bit++)
                    readings[count++] = new Reading(mappedSignal.Channel + bit, value.Bits >> bit & 1);
                continue;
            }

            var mark = ReadingMark.Good;
            if (map.NoDataCodes.Contains(value.Bits) && signal.LengthBits >= 12) mark = ReadingMark.NoData;
            else if (!double.IsFinite(value.Physical)) mark = ReadingMark.NoData;
            else if (signal.HasRange && (value.Physical < signal.Minimum || value.Physical > signal.Maximum)) mark = ReadingMark.OutOfRange;
            readings[count++] = new Reading(mappedSignal.Channel, mappedSignal.Sign * value.Physical, mark);
        }

        return count;
    }

    /// <summary>What the board says about itself; false when the frame must not be taken.</summary>
    private bool TakeBoard(MappedMessage mapped, ReadOnlySpan<byte> raw)
    {
        var saysState = false;
        foreach (var (what, index) in mapped.Board)
        {
            var value = _values[index];
            if (!value.IsPresent) continue;
            switch (what)
            {
                case BoardSignal.Identity:
                    System.Buffers.Text.Utf8Formatter.TryFormat((ulong)Math.Max(0, value.Physical), _identity, out var length);
                    if (!_journal.Identify(_identity.AsSpan(0, length)))
                    {
                        _journal.Bad(raw, Reason(SignalFrameFault.OtherIdentity));
                        return false;
                    }

                    break;
                case BoardSignal.Sequence:
                    if (!TakeSequence((long)value.Bits, mapped.Message.Signals[index].LengthBits, raw)) return false;
                    break;
                case BoardSignal.BoardTemperature: _temperatureDegC = value.Physical; saysState = true; break;
                case BoardSignal.Supply: _supplyV = value.Physical; saysState = true; break;
                case BoardSignal.BleedTimeout: _bleedTimeoutS = value.Physical; saysState = true; break;
                case BoardSignal.Isolated: _isolated = value.Bits switch { 1 => true, 0 => false, _ => null }; saysState = true; break;
                case BoardSignal.Simulated: _isSimulated = value.Bits != 0; saysState = true; break;
            }
        }

        if (saysState) _journal.Board(_temperatureDegC, _supplyV, _bleedTimeoutS, _isolated, _isSimulated);
        return true;
    }

    private bool TakeSequence(long sequence, int bits, ReadOnlySpan<byte> raw)
    {
        if (sequence == _lastSequence)
        {
            _journal.Bad(raw, Reason(SignalFrameFault.Repeated));
            return false;
        }

        var wrap = bits >= 32 ? 1L << 32 : 1L << bits;
        var gap = _lastSequence < 0 ? 0 : (sequence - _lastSequence - 1 + wrap) % wrap;
        // A counter that jumps far is a board that restarted, except where it is too short to tell.
        _journal.Sequence(gap < Math.Min(1000, wrap / 2) ? gap : 0);
        _lastSequence = sequence;
        return true;
    }

    private byte Reason(SignalFrameFault fault) => (byte)(_firstReason + (byte)fault);
}
