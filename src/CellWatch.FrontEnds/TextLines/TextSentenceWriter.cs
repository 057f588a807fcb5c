using System.Buffers.Text;
using System.Text;

namespace CellWatch.FrontEnds.TextLines;

/// <summary>
/// Writes sentences of the text-line wire into a buffer of its own; what an emulated board says and what the tests expect.
/// Begin with one of the kind methods, add values, then <see cref="End"/>.
/// </summary>
public sealed class TextSentenceWriter
{
    private readonly byte[] _line = new byte[TextSentence.Longest + 2];
    private readonly byte[] _serial;
    private int _length;
    private ushort _sequence;

    /// <param name="serial">The front end's serial: 1 to 16 letters, digits, <c>-</c>, <c>_</c>, <c>.</c></param>
    /// <param name="firstSequence">Sequence number of the first sentence.</param>
    public TextSentenceWriter(string serial, ushort firstSequence = 0)
    {
        _serial = Encoding.ASCII.GetBytes(serial);
        if (!TextSentence.IsSerial(_serial)) throw new ArgumentException($"'{serial}' is no front-end serial.", nameof(serial));
        _sequence = firstSequence;
    }

    /// <summary>Begins the voltages of one module.</summary>
    /// <param name="module">Number of the module on this board, from 1.</param>
    public void BeginCells(int module) => Begin('V', module);

    /// <summary>Begins the temperatures of one module.</summary>
    public void BeginTemperatures(int module) => Begin('T', module);

    /// <summary>Begins channels beside the pack.</summary>
    /// <param name="first">Number of the first one on this board, from 1.</param>
    public void BeginAuxiliaries(int first) => Begin('A', first);

    /// <summary>Begins current (A, positive charging) and string voltage (V).</summary>
    public void BeginPack() => Begin('P');

    /// <summary>Begins a status sentence: board temperature degC, supply V, bleed time-out s, then <see cref="AddStatus"/>.</summary>
    public void BeginStatus() => Begin('S');

    /// <summary>Adds one value with so many decimals; a value that is no number is written as "no data".</summary>
    public void Add(double value, int decimals)
    {
        if (!double.IsFinite(value))
        {
            AddNoData();
            return;
        }

        Put(',');
        Utf8Formatter.TryFormat(Math.Round(value, decimals), _line.AsSpan(_length), out var written, new System.Buffers.StandardFormat('F', (byte)decimals));
        _length += written;
    }

    /// <summary>Adds a channel that has no value.</summary>
    public void AddNoData()
    {
        Put(',');
        Put('-');
    }

    /// <summary>Adds a channel whose lead or sensor the board itself found open.</summary>
    public void AddOpen()
    {
        Put(',');
        "open"u8.CopyTo(_line.AsSpan(_length));
        _length += 4;
    }

    /// <summary>Adds the last two fields of a status sentence.</summary>
    /// <param name="isolated">Whether the board is isolated; null where it does not know.</param>
    /// <param name="isSimulated">Whether its values come from a model.</param>
    public void AddStatus(bool? isolated, bool isSimulated)
    {
        Put(',');
        Put(isolated switch { true => 'Y', false => 'N', null => '-' });
        Put(',');
        Put(isSimulated ? 'S' : 'M');
    }

    /// <summary>Writes a whole sentence of bleed flags.</summary>
    /// <param name="module">Number of the module on this board, from 1.</param>
    /// <param name="isOn">One flag a cell, from the module's negative end.</param>
    public ReadOnlySpan<byte> Bleed(int module, ReadOnlySpan<bool> isOn)
    {
        Begin('B', module);
        Put(',');
        foreach (var on in isOn) Put(on ? '1' : '0');
        return End();
    }

    /// <summary>Adds checksum and line end and counts the sequence up.</summary>
    /// <returns>The sentence; valid until the next one is begun.</returns>
    public ReadOnlySpan<byte> End()
    {
        var crc = Crc16.Of(_line.AsSpan(1, _length - 1));
        Put('#');
        Hex.Write(crc, 4, _line.AsSpan(_length));
        _length += 4;
        Put('\r');
        Put('\n');
        _sequence++;
        return _line.AsSpan(0, _length);
    }

    private void Begin(char kind, int? number = null)
    {
        _length = 0;
        Put('@');
        Put('1');
        Put(',');
        _serial.CopyTo(_line.AsSpan(_length));
        _length += _serial.Length;
        Put(',');
        PutNumber(_sequence);
        Put(',');
        Put(kind);
        if (number is not { } n) return;
        Put(',');
        PutNumber(n);
    }

    private void PutNumber(int value)
    {
        Utf8Formatter.TryFormat(value, _line.AsSpan(_length), out var written);
        _length += written;
    }

    private void Put(char c) => _line[_length++] = (byte)c;
}
