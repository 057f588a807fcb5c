using System.Buffers.Binary;
using System.Text;

namespace CellWatch.Log.Maintenance;

/// <summary>
/// Reads rows from the bare pages of a database file, whatever state its trees are in: every page that looks like a leaf of a table is read,
/// cells that make no sense are left out. Pages of a write-ahead log beside the file stand in for those of the file.
/// Format: "Database File Format" of SQLite's documentation, sections 1.6 (leaf pages), 2.1 (records), 4 (write-ahead log).
/// </summary>
internal sealed class PageScan
{
    private const byte TableLeaf = 0x0D;

    private readonly byte[] _file;
    private readonly Dictionary<uint, (byte[] From, int At)> _newer = [];
    private readonly int _pageSize;

    private PageScan(byte[] file, int pageSize) => (_file, _pageSize) = (file, pageSize);

    /// <summary>A row: its number and its columns (null, long, double, string or byte[]).</summary>
    internal readonly record struct Row(long Id, object?[] Values)
    {
        /// <summary>The kinds of its columns, a letter each: n, i, r, t, b.</summary>
        public string Shape => string.Concat(Values.Select(v => v switch { null => 'n', long => 'i', double => 'r', string => 't', _ => 'b' }));
    }

    /// <summary>All rows of all tables, in no order; old copies of rows may be among them.</summary>
    public static IEnumerable<Row> Rows(string path)
    {
        var scan = new PageScan(File.ReadAllBytes(path), Store.Schema.PageSize);
        if (File.Exists(path + "-wal")) scan.ReadWriteAheadLog(File.ReadAllBytes(path + "-wal"));
        return scan.Rows();
    }

    private IEnumerable<Row> Rows()
    {
        var pages = (uint)(_file.Length / _pageSize);
        if (_newer.Count > 0) pages = Math.Max(pages, _newer.Keys.Max());
        for (uint page = 1; page <= pages; page++)
        {
            foreach (var row in RowsOf(page)) yield return row;
        }
    }

    private List<Row> RowsOf(uint number)
    {
        var rows = new List<Row>();
        if (!TryGetPage(number, out var page)) return rows;
        var header = number == 1 ? 100 : 0;
        if (page[header] != TableLeaf) return rows;
        var cells = BinaryPrimitives.ReadUInt16BigEndian(page[(header + 3)..]);
        for (var c = 0; c < cells && header + 8 + (2 * c) + 2 <= _pageSize; c++)
        {
            var at = BinaryPrimitives.ReadUInt16BigEndian(page[(header + 8 + (2 * c))..]);
            try
            {
                if (at >= header + 8 && at < _pageSize - 4) rows.Add(ReadCell(page[at..]));
            }
            catch (Exception e) when (e is ArgumentException or InvalidDataException or IndexOutOfRangeException)
            {
                // Not a cell, or no longer one.
            }
        }

        return rows;
    }

    private Row ReadCell(ReadOnlySpan<byte> cell)
    {
        var length = (long)ReadVarint(ref cell);
        var id = (long)ReadVarint(ref cell);
        if (length is < 2 or > 1 << 28) throw new InvalidDataException("no payload is as long");
        var most = _pageSize - 35;
        var least = ((_pageSize - 12) * 32 / 255) - 23;
        var local = (int)length;
        if (length > most)
        {
            var k = least + (int)((length - least) % (_pageSize - 4));
            local = k <= most ? k : least;
        }

        var payload = new byte[length];
        cell[..local].CopyTo(payload);
        var filled = local;
        var next = filled < length ? BinaryPrimitives.ReadUInt32BigEndian(cell[local..]) : 0;
        while (filled < length)
        {
            if (!TryGetPage(next, out var overflow)) throw new InvalidDataException("its overflow leads nowhere");
            var part = (int)Math.Min(_pageSize - 4, length - filled);
            overflow.Slice(4, part).CopyTo(payload.AsSpan(filled));
            filled += part;
            next = BinaryPrimitives.ReadUInt32BigEndian(overflow);
        }

        return new Row(id, ReadRecord(payload));
    }

    private static object?[] ReadRecord(ReadOnlySpan<byte> payload)
    {
        var header = payload;
        var headerLength = (int)ReadVarint(ref header);
        header = header[..(headerLength - (payload.Length - header.Length))];
        var body = payload[headerLength..];
        var values = new List<object?>();
        while (!header.IsEmpty)
        {
            var type = ReadVarint(ref header);
            var size = type switch { 0 or 8 or 9 => 0, <= 4 => (int)type, 5 => 6, 6 or 7 => 8, >= 12 => (int)((type - 12) / 2), _ => throw new InvalidDataException("no such type") };
            var bytes = body[..size];
            body = body[size..];
            values.Add(type switch
            {
                0 => null,
                8 => 0L,
                9 => 1L,
                7 => BinaryPrimitives.ReadDoubleBigEndian(bytes),
                <= 6 => (object)ReadInteger(bytes),
                _ when type % 2 == 0 => bytes.ToArray(),
                _ => Encoding.UTF8.GetString(bytes),
            });
        }

        return [.. values];
    }

    private static long ReadInteger(ReadOnlySpan<byte> bytes)
    {
        long value = (sbyte)bytes[0];
        foreach (var b in bytes[1..]) value = (value << 8) | b;
        return value;
    }

    /// <summary>Big-endian, seven bits a byte, the ninth byte whole.</summary>
    private static ulong ReadVarint(ref ReadOnlySpan<byte> bytes)
    {
        ulong value = 0;
        for (var i = 0; i < 8; i++)
        {
            var b = bytes[i];
            value = (value << 7) | (uint)(b & 0x7F);
            if (b >= 0x80) continue;
            bytes = bytes[(i + 1)..];
            return value;
        }

        value = (value << 8) | bytes[8];
        bytes = bytes[9..];
        return value;
    }

    private bool TryGetPage(uint number, out ReadOnlySpan<byte> page)
    {
        page = default;
        if (number == 0) return false;
        if (_newer.TryGetValue(number, out var newer))
        {
            page = newer.From.AsSpan(newer.At, _pageSize);
            return true;
        }

        var at = (long)(number - 1) * _pageSize;
        if (at + _pageSize > _file.Length) return false;
        page = _file.AsSpan((int)at, _pageSize);
        return true;
    }

    /// <summary>Takes the pages of all transactions that were committed to the write-ahead log.</summary>
    private void ReadWriteAheadLog(byte[] log)
    {
        const int logHeader = 32, frameHeader = 24;
        if (log.Length < logHeader) return;
        var salts = BinaryPrimitives.ReadUInt64BigEndian(log.AsSpan(16));
        var waiting = new List<(uint Page, int At)>();
        for (var at = logHeader; at + frameHeader + _pageSize <= log.Length; at += frameHeader + _pageSize)
        {
            if (BinaryPrimitives.ReadUInt64BigEndian(log.AsSpan(at + 8)) != salts) return;
            waiting.Add((BinaryPrimitives.ReadUInt32BigEndian(log.AsSpan(at)), at + frameHeader));
            if (BinaryPrimitives.ReadUInt32BigEndian(log.AsSpan(at + 4)) == 0) continue;
            foreach (var (page, start) in waiting) _newer[page] = (log, start);
            waiting.Clear();
        }
    }
}
