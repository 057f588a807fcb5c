using System.Buffers;
using System.Text;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.Running;
using CellWatch.FrontEnds.TextLines;

namespace CellWatch.FrontEnds.PlainLines;

/// <summary>
/// Turns plain delimited lines into readings by a fixed mapping. Such lines carry no checksum, so a corrupted digit cannot be noticed: only the
/// number of fields and the range are checked, and a line with any fault is thrown away whole. The first line after opening is dropped too, because
/// nobody knows whether its beginning is missing.
/// </summary>
internal sealed class PlainLineDecoder : IWireDecoder
{
    private const int LongestLine = 1024;
    private const int LongestIdentity = 40;

    private readonly LinkJournal _journal;
    private readonly PlainLayout _layout;
    private readonly LineSplitter _splitter = new(LongestLine, "\r\n"u8);
    private readonly Reading[] _readings;
    private readonly byte[] _identity = new byte[LongestIdentity];
    private int _identityLength;
    private int _count;
    private bool _isFirstLine = true;

    public PlainLineDecoder(PlainLayout layout, LinkJournal journal)
    {
        _layout = layout;
        _journal = journal;
        _readings = new Reading[Math.Max(1, layout.MaxReadings)];
        journal.Use(this);
    }

    public string Wire => "plain lines";

    public int ReasonCount => (int)TextLineFault.OtherIdentity + 1;

    public bool CarriesIdentity => _layout.HasIdentity;

    public bool SaysOrigin => false;

    public string Words(byte reason) => FaultWords.Of((TextLineFault)reason);

    public void Reset()
    {
        _splitter.Reset();
        _isFirstLine = true;
    }

    public ValueTask StartAsync(Stream stream, CancellationToken cancellation) => ValueTask.CompletedTask;

    public ValueTask StopAsync(Stream stream, CancellationToken cancellation) => ValueTask.CompletedTask;

    public void Take(ReadOnlySpan<byte> bytes)
    {
        while (_splitter.TryTake(ref bytes, out var line, out var end))
        {
            line = line.Trim(" \t"u8);
            var isFirst = _isFirstLine;
            _isFirstLine = false;
            if (line.IsEmpty || _layout.Comment.Length > 0 && line.StartsWith(_layout.Comment)) continue;
            _journal.Raw(line);
            var fault = isFirst ? TextLineFault.HalfLine : end.IsTooLong ? TextLineFault.TooLong : TakeLine(line);
            if (fault == TextLineFault.None) _journal.Good(_readings.AsSpan(0, _count));
            else _journal.Bad(line, (byte)fault);
        }
    }

    private TextLineFault TakeLine(ReadOnlySpan<byte> line)
    {
        _count = 0;
        _identityLength = 0;
        if (_layout.GroupSeparator is not { } separator)
        {
            var fault = TakeGroup(line);
            if (fault != TextLineFault.None) return fault;
        }
        else
        {
            var groups = new FieldReader(line, separator);
            while (groups.TryTake(out var group))
            {
                group = group.Trim(" \t"u8);
                // A separator at the end of the line opens no further group.
                if (group.IsEmpty && groups.Count == 0) break;
                var fault = TakeGroup(group);
                if (fault != TextLineFault.None) return fault;
            }
        }

        return _layout.HasIdentity && _identityLength > 0 && !_journal.Identify(_identity.AsSpan(0, _identityLength))
            ? TextLineFault.OtherIdentity
            : TextLineFault.None;
    }

    private TextLineFault TakeGroup(ReadOnlySpan<byte> text)
    {
        if (_layout.Find(text) is not { } group) return TextLineFault.UnknownKind;
        var fields = new FieldReader(text, _layout.Separator);
        if (group.Prefix.Length > 0) fields.TryTake(out _);
        foreach (ref readonly var field in group.Fields.AsSpan())
        {
            if (!fields.TryTake(out var value)) return TextLineFault.WrongFieldCount;
            value = value.Trim(" \t"u8);
            if (field.IsIdentity) KeepIdentity(value);
            else if (field.Channel >= 0 && !TryAdd(field, value)) return TextLineFault.BadNumber;
        }

        return fields.TryTake(out _) ? TextLineFault.WrongFieldCount : TextLineFault.None;
    }

    private void KeepIdentity(ReadOnlySpan<byte> value)
    {
        _identityLength = Math.Min(value.Length, _identity.Length);
        value[.._identityLength].CopyTo(_identity);
    }

    private bool TryAdd(in PlainField field, ReadOnlySpan<byte> text)
    {
        foreach (var missing in _layout.Missing)
            if (Ascii.EqualsIgnoreCase(text, missing))
            {
                _readings[_count++] = new Reading(field.Channel, 0, ReadingMark.NoData);
                return true;
            }

        if (!FieldReader.TryNumber(text, out var number)) return false;
        var value = number * field.Scale + field.Offset;
        _readings[_count++] = new Reading(field.Channel, value, value < field.Minimum || value > field.Maximum ? ReadingMark.OutOfRange : ReadingMark.Good);
        return true;
    }
}
