using System.Buffers;
using System.Globalization;
using System.Text;
using CellWatch.Core.Pack;
using CellWatch.FrontEnds;
using CellWatch.FrontEnds.SerialCan;
using CellWatch.FrontEnds.SignalDatabase;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Boards;

/// <summary>
/// A CAN board behind a serial-line adapter: answers the adapter's commands and, while the channel is open, sends frames encoded by
/// <see cref="BoardDatabase"/>.
/// <code>
/// closed --S6--> closed, rate set --O or L--> open --C--> closed, rate set
/// </code>
/// Source of the commands: the adapter's command table as quoted in public firmware and in the Linux driver.
/// </summary>
public sealed class CanBoard : EmulatedBoard
{
    private const byte Accepted = (byte)'\r';
    private const byte Refused = 7;
    private const int LongestCommand = 32;
    private const double BleedTimeoutS = 60;

    private readonly LineSplitter _commands = new(LongestCommand, "\r"u8);
    private readonly Outgoing[] _messages;
    private readonly double _serial;
    private bool _rateSet;
    private bool _isOpen;
    private bool _listensOnly;
    private ushort _sequence;

    /// <param name="plan">What it measures; its serial is a whole number below 65 536.</param>
    /// <param name="pack">The pack it is wired to.</param>
    public CanBoard(BoardPlan plan, SimulatedPack pack) : base(plan, pack)
    {
        _serial = ushort.Parse(plan.Serial, CultureInfo.InvariantCulture);
        Modules = [.. Map.Layout.Modules.AsSpan(plan.FirstModule, plan.Modules)];
        _messages = [.. BoardDatabase.Parse(Modules).Messages.Select(m => new Outgoing(m, RateOf(m.Name), [.. m.Signals.Select(SourceOf)]))];
    }

    /// <summary>Its modules, in the order it numbers them.</summary>
    public IReadOnlyList<PackModule> Modules { get; }

    /// <summary>Whether the host has opened the channel.</summary>
    public bool IsOpen => _isOpen;

    /// <inheritdoc/>
    public override void Answer(ReadOnlySpan<byte> input, IBufferWriter<byte> to)
    {
        while (_commands.TryTake(ref input, out var command, out var end))
        {
            if (end.IsTooLong) Say(to, Refused);
            else Obey(command, to);
        }
    }

    /// <inheritdoc/>
    public override void LosePower()
    {
        base.LosePower();
        _commands.Reset();
        (_rateSet, _isOpen, _listensOnly) = (false, false, false);
    }

    private protected override void WriteScan(bool withSlow, bool withStatus, IBufferWriter<byte> to)
    {
        if (!_isOpen) return;
        _sequence++;
        foreach (var message in _messages)
        {
            if (message.Rate == Rate.Slow && !withSlow || message.Rate == Rate.Status && !withStatus) continue;
            var frame = new CanFrame { Id = message.Message.Id, Length = (byte)message.Message.Length };
            for (var i = 0; i < message.Sources.Length; i++) Encode(message.Message.Signals[i], message.Sources[i], frame.Buffer[..frame.Length]);
            to.Advance(SerialCanWriter.Write(frame, to.GetSpan(SerialCanWriter.MaxLength)));
        }
    }

    private void Encode(CanSignal signal, Source source, Span<byte> data)
    {
        var value = source.What switch
        {
            What.Cell => Pack.IsOpen(source.Channel) ? double.NaN : Math.Min(ValueOf(source.Channel), signal.Maximum),
            What.Channel => ValueOf(source.Channel),
            What.BleedMask => BleedMask(source.Channel, source.Count),
            What.Sequence => _sequence,
            What.Serial => _serial,
            What.BoardTemperature => BoardDegC,
            What.Supply => 12.1,
            What.BleedTimeout => BleedTimeoutS,
            _ => 1,
        };
        if (double.IsNaN(value)) SignalEncoder.EncodeBits(signal, BoardDatabase.OpenCode, data);
        else if (!SignalEncoder.TryEncode(signal, value, data)) throw new InvalidOperationException($"{value} does not fit the signal {signal.Name}.");
    }

    private double BleedMask(int firstBleed, int count)
    {
        var mask = 0;
        for (var i = 0; i < count; i++)
            if (ValueOf(firstBleed + i) > 0.5) mask |= 1 << i;
        return mask;
    }

    private static Rate RateOf(string message) => message switch
    {
        BoardDatabase.Status => Rate.Status,
        BoardDatabase.Bleeds => Rate.Slow,
        _ => message.StartsWith(BoardDatabase.Temperatures, StringComparison.Ordinal) ? Rate.Slow : Rate.Every,
    };

    private Source SourceOf(CanSignal signal)
    {
        // M01_C05_V, M01_T2_degC, M01_Bleed: the module's number, then what it is.
        if (signal.Name.Length > 4 && signal.Name[0] == 'M' && signal.Name[3] == '_')
        {
            var module = Plan.FirstModule + Number(signal.Name[1..3]) - 1;
            return signal.Name[4] switch
            {
                'C' => new Source(What.Cell, Map.Layout.FirstCell(module) + Number(signal.Name[5..7]) - 1),
                'T' => new Source(What.Channel, Map.FirstTemperature + Map.Layout.FirstTemperature(module) + Number(signal.Name[5..6]) - 1),
                _ => new Source(What.BleedMask, Map.FirstBleed + Map.Layout.FirstCell(module), Map.Layout.Modules[module].Topology.Series),
            };
        }

        return signal.Name switch
        {
            "PackCurrent" => new Source(What.Channel, Map.PackCurrent),
            "StringVoltage" => new Source(What.Channel, Map.StringVoltage),
            "Sequence" => new Source(What.Sequence),
            "Serial" => new Source(What.Serial),
            "BoardTemperature" => new Source(What.BoardTemperature),
            "Supply" => new Source(What.Supply),
            "BleedTimeout" => new Source(What.BleedTimeout),
            "Isolated" or "Simulated" => new Source(What.Yes),
            _ => throw new InvalidOperationException($"The board does not know what to send as {signal.Name}."),
        };

        static int Number(string digits) => int.Parse(digits, CultureInfo.InvariantCulture);
    }

    private void Obey(ReadOnlySpan<byte> command, IBufferWriter<byte> to)
    {
        // A bare CR flushes what was half typed.
        if (command.IsEmpty)
        {
            Say(to, Accepted);
            return;
        }

        switch ((char)command[0])
        {
            case 'V':
                to.Write("V1010\r"u8);
                break;
            case 'v':
                to.Write("v1010\r"u8);
                break;
            case 'N':
                to.Write(Encoding.ASCII.GetBytes($"N{Plan.Serial}\r"));
                break;
            case 'S':
                Set(!_isOpen && command.Length == 2 && command[1] is >= (byte)'0' and <= (byte)'8', () => _rateSet = true, to);
                break;
            case 'O' or 'L':
                var listens = command[0] == 'L';
                Set(!_isOpen && _rateSet, () => Open(listens), to);
                break;
            case 'C':
                Set(_isOpen, () => _isOpen = false, to);
                break;
            case 'F' when _isOpen:
                to.Write("F00\r"u8);
                break;
            case 't' or 'T' or 'r' or 'R' when _isOpen && !_listensOnly:
                to.Write(command[0] is (byte)'t' or (byte)'r' ? "z\r"u8 : "Z\r"u8);
                break;
            default:
                Say(to, Refused);
                break;
        }
    }

    private void Open(bool listensOnly)
    {
        (_isOpen, _listensOnly) = (true, listensOnly);
        // Everything goes out with the first scan after opening.
        RestartScans();
    }

    private static void Set(bool allowed, Action change, IBufferWriter<byte> to)
    {
        if (allowed) change();
        Say(to, allowed ? Accepted : Refused);
    }

    private static void Say(IBufferWriter<byte> to, byte answer)
    {
        to.GetSpan(1)[0] = answer;
        to.Advance(1);
    }

    private enum Rate
    {
        Every,
        Slow,
        Status,
    }

    private enum What
    {
        Cell,
        Channel,
        BleedMask,
        Sequence,
        Serial,
        BoardTemperature,
        Supply,
        BleedTimeout,
        Yes,
    }

    private readonly record struct Source(What What, int Channel = 0, int Count = 0);

    private sealed record Outgoing(CanMessage Message, Rate Rate, Source[] Sources);
}
