using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Running;

namespace CellWatch.FrontEnds.TextLines;

/// <summary>Turns sentences of the text-line wire into readings.</summary>
internal sealed class TextLineDecoder : IWireDecoder
{
    // What a sentence may say at all; beyond it the value is passed on, marked out of range (common practice, no source).
    private const double MostCellV = 10, MostTemperatureDegC = 200, LeastTemperatureDegC = -80, MostCurrentA = 5000, MostStringV = 1500;

    private readonly BoardChannels _channels;
    private readonly LinkJournal _journal;
    private readonly bool _invertCurrent;
    private readonly LineSplitter _splitter = new(TextSentence.Longest, "\r\n"u8);
    private readonly Reading[] _readings;
    private int _count;
    private int _lastSequence = -1;

    public TextLineDecoder(BoardChannels channels, LinkJournal journal, bool invertCurrent)
    {
        _channels = channels;
        _journal = journal;
        _invertCurrent = invertCurrent;
        _readings = new Reading[Math.Max(64, channels.AuxiliaryCount)];
        journal.Use(this);
    }

    public string Wire => "text lines";

    public int ReasonCount => (int)TextLineFault.OtherIdentity + 1;

    public bool CarriesIdentity => true;

    public bool SaysOrigin => true;

    public string Words(byte reason) => FaultWords.Of((TextLineFault)reason);

    public void Reset()
    {
        _splitter.Reset();
        _lastSequence = -1;
    }

    public ValueTask StartAsync(Stream stream, CancellationToken cancellation) => ValueTask.CompletedTask;

    public ValueTask StopAsync(Stream stream, CancellationToken cancellation) => ValueTask.CompletedTask;

    public void Take(ReadOnlySpan<byte> bytes)
    {
        while (_splitter.TryTake(ref bytes, out var line, out var end))
        {
            if (line.IsEmpty) continue;
            _journal.Raw(line);
            if (end.IsTooLong) _journal.Bad(line, (byte)TextLineFault.TooLong);
            else TakeLine(line);
        }
    }

    private void TakeLine(ReadOnlySpan<byte> line)
    {
        // A second start mark means that the end of an earlier sentence was lost: what follows the last one may still be whole.
        var start = line.LastIndexOf(TextSentence.Start);
        if (start > 0)
        {
            _journal.Bad(line[..start], (byte)TextLineFault.HalfLine);
            line = line[start..];
        }

        var fault = TextSentence.TryRead(line, out var sentence);
        if (fault == TextLineFault.None) fault = TakeSentence(sentence);
        if (fault != TextLineFault.None) _journal.Bad(line, (byte)fault);
    }

    private TextLineFault TakeSentence(in TextSentence sentence)
    {
        if (!_journal.Identify(sentence.Serial)) return TextLineFault.OtherIdentity;
        if (sentence.Sequence == _lastSequence) return TextLineFault.Repeated;
        _journal.Sequence(Lost(sentence.Sequence));
        _lastSequence = sentence.Sequence;

        _count = 0;
        var fault = sentence.Kind switch
        {
            (byte)'V' => ReadCells(sentence.Fields),
            (byte)'T' => ReadTemperatures(sentence.Fields),
            (byte)'P' => ReadPack(sentence.Fields),
            (byte)'B' => ReadBleed(sentence.Fields),
            (byte)'A' => ReadAuxiliaries(sentence.Fields),
            (byte)'S' => ReadStatus(sentence.Fields),
            _ => TextLineFault.UnknownKind,
        };
        if (fault == TextLineFault.None) _journal.Good(_readings.AsSpan(0, _count));
        return fault;
    }

    /// <summary>Sentences missing before this one; a counter that jumps far is a board that restarted.</summary>
    private int Lost(int sequence)
    {
        if (_lastSequence < 0) return 0;
        var gap = sequence - _lastSequence - 1 & 0xFFFF;
        return gap < 1000 ? gap : 0;
    }

    private TextLineFault ReadCells(ReadOnlySpan<byte> text)
    {
        if (!TryTakeModule(ref text, out var module)) return TextLineFault.UnknownModule;
        return ReadValues(text, _channels.CellCount(module), _channels.Cell(module, 1), -MostCellV, MostCellV);
    }

    private TextLineFault ReadTemperatures(ReadOnlySpan<byte> text)
    {
        if (!TryTakeModule(ref text, out var module)) return TextLineFault.UnknownModule;
        return ReadValues(text, _channels.TemperatureCount(module), _channels.Temperature(module, 1), LeastTemperatureDegC, MostTemperatureDegC);
    }

    private TextLineFault ReadPack(ReadOnlySpan<byte> text)
    {
        if (!_channels.MeasuresPack) return TextLineFault.NotMeasuredHere;
        var fields = new FieldReader(text, (byte)',');
        if (fields.Count != 2) return TextLineFault.WrongFieldCount;
        fields.TryTake(out var current);
        fields.TryTake(out var voltage);
        if (!TryAdd(current, _channels.Map.PackCurrent, -MostCurrentA, MostCurrentA, _invertCurrent ? -1 : 1)) return TextLineFault.BadNumber;
        return TryAdd(voltage, _channels.Map.StringVoltage, -MostStringV, MostStringV) ? TextLineFault.None : TextLineFault.BadNumber;
    }

    private TextLineFault ReadBleed(ReadOnlySpan<byte> text)
    {
        if (!TryTakeModule(ref text, out var module)) return TextLineFault.UnknownModule;
        if (text.Length != _channels.CellCount(module)) return TextLineFault.WrongFieldCount;
        for (var i = 0; i < text.Length; i++)
        {
            if (text[i] is not ((byte)'0' or (byte)'1')) return TextLineFault.BadNumber;
            _readings[_count++] = new Reading(_channels.Bleed(module, i + 1), text[i] - '0');
        }

        return TextLineFault.None;
    }

    private TextLineFault ReadAuxiliaries(ReadOnlySpan<byte> text)
    {
        var fields = new FieldReader(text, (byte)',');
        if (!TryTakeNumber(ref fields, out var first) || first < 1) return TextLineFault.BadNumber;
        if (fields.Count < 1 || first + fields.Count - 1 > _channels.AuxiliaryCount) return TextLineFault.WrongFieldCount;
        for (var number = first; fields.TryTake(out var field); number++)
            if (!TryAdd(field, _channels.Auxiliary(number), double.MinValue, double.MaxValue)) return TextLineFault.BadNumber;
        return TextLineFault.None;
    }

    private TextLineFault ReadStatus(ReadOnlySpan<byte> text)
    {
        var fields = new FieldReader(text, (byte)',');
        if (fields.Count != 5) return TextLineFault.WrongFieldCount;
        if (!TryTakeOptional(ref fields, out var temperatureDegC) || !TryTakeOptional(ref fields, out var supplyV)
            || !TryTakeOptional(ref fields, out var bleedTimeoutS)) return TextLineFault.BadNumber;
        fields.TryTake(out var isolated);
        fields.TryTake(out var origin);
        if (isolated is not [(byte)'Y' or (byte)'N' or (byte)'-'] || origin is not [(byte)'M' or (byte)'S']) return TextLineFault.BadNumber;
        _journal.Board(temperatureDegC, supplyV, bleedTimeoutS,
            isolated[0] switch { (byte)'Y' => true, (byte)'N' => false, _ => null }, origin[0] == (byte)'S');
        return TextLineFault.None;
    }

    private TextLineFault ReadValues(ReadOnlySpan<byte> text, int count, int firstChannel, double least, double most)
    {
        var fields = new FieldReader(text, (byte)',');
        if (fields.Count != count) return TextLineFault.WrongFieldCount;
        for (var channel = firstChannel; fields.TryTake(out var field); channel++)
            if (!TryAdd(field, channel, least, most)) return TextLineFault.BadNumber;
        return TextLineFault.None;
    }

    private bool TryAdd(ReadOnlySpan<byte> field, int channel, double least, double most, int sign = 1)
    {
        if (field.SequenceEqual("-"u8)) _readings[_count++] = new Reading(channel, 0, ReadingMark.NoData);
        else if (field.SequenceEqual("open"u8)) _readings[_count++] = new Reading(channel, 0, ReadingMark.Open);
        else if (FieldReader.TryNumber(field, out var value))
            _readings[_count++] = new Reading(channel, sign * value, value < least || value > most ? ReadingMark.OutOfRange : ReadingMark.Good);
        else return false;
        return true;
    }

    private bool TryTakeModule(ref ReadOnlySpan<byte> text, out int module)
    {
        var fields = new FieldReader(text, (byte)',');
        var isKnown = TryTakeNumber(ref fields, out module) && module >= 1 && module <= _channels.ModuleCount;
        text = fields.Rest;
        return isKnown;
    }

    private static bool TryTakeNumber(ref FieldReader fields, out int number)
    {
        number = 0;
        return fields.TryTake(out var field) && System.Buffers.Text.Utf8Parser.TryParse(field, out number, out var used) && used == field.Length;
    }

    private static bool TryTakeOptional(ref FieldReader fields, out double? value)
    {
        value = null;
        fields.TryTake(out var field);
        if (field.SequenceEqual("-"u8)) return true;
        if (!FieldReader.TryNumber(field, out var number)) return false;
        value = number;
        return true;
    }
}
