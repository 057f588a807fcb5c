using System.Buffers.Binary;
using System.IO.Compression;
using CellWatch.Core.History;

namespace CellWatch.Simulation.Workshop;

/// <summary>
/// Pictures of the sample project, drawn by the program: each says in itself that it is no photograph. A small canvas of sixteen greys and warm tones,
/// written as PNG (PNG specification: colour type 3, one byte a pixel, no filter).
/// </summary>
public sealed class DrawnPicture
{
    private const int Width = 360, Height = 230;

    private const byte Paper = 0, Line = 1, Metal = 2, Case = 3, Mark = 4, FirstWarm = 5, Warms = 11;

    private static readonly (byte R, byte G, byte B)[] Palette =
    [
        (0xF4, 0xF1, 0xEA), (0x20, 0x22, 0x26), (0xB9, 0xB4, 0xA6), (0x6C, 0x74, 0x7C), (0xA6, 0x3A, 0x1E),
        .. Enumerable.Range(0, Warms).Select(i => ((byte)(30 + 21 * i), (byte)(24 + i * i * 2), (byte)Math.Max(20, 96 - 9 * i))),
    ];

    private readonly byte[] pixels = new byte[Width * Height];

    private DrawnPicture() => Text(10, Height - 34, 2, "DRAWN FOR THE DEMO", Line).Text(10, Height - 17, 2, "NOT A PHOTOGRAPH", Line);

    /// <summary>A module from above with its label, one of its groups marked.</summary>
    /// <param name="identity">Its label.</param>
    /// <param name="groups">Its groups, the negative end on the left.</param>
    /// <param name="marked">Group with a mark, from 1; 0 for none.</param>
    public static byte[] Module(string identity, int groups, int marked)
    {
        var picture = new DrawnPicture().Box(20, 24, 320, 150, Case).Box(26, 30, 308, 138, Metal);
        var pitch = 300 / groups;
        for (var g = 0; g < groups; g++)
        {
            var x = 30 + g * pitch;
            picture.Box(x, 38, pitch - 6, 84, Case).Box(x + 4, 44, pitch - 14, 10, Metal).Box(x + 4, 106, pitch - 14, 10, Metal).Text(x + pitch / 2 - 8, 72, 2, $"{g + 1}", Paper);
            if (g + 1 == marked) picture.Frame(x - 3, 34, pitch, 92, 3, Mark);
        }

        return picture.Box(30, 130, 90, 32, Paper).Text(38, 138, 3, identity, Line).Box(300, 132, 24, 24, Line).Png();
    }

    /// <summary>A link between two modules as a thermal camera would show it, warmest at its right end.</summary>
    /// <param name="from">Left module.</param>
    /// <param name="to">Right module.</param>
    /// <param name="warmestDegC">Written beside the warmest place.</param>
    public static byte[] Thermal(string from, string to, double warmestDegC)
    {
        var picture = new DrawnPicture();
        for (var y = 10; y < 176; y++)
            for (var x = 10; x < 350; x++)
            {
                var distance = Math.Sqrt(Math.Pow(x - 236, 2) + Math.Pow(1.7 * (y - 92), 2));
                var onLink = y is > 80 and < 104 && x is > 90 and < 270;
                picture.pixels[y * Width + x] = (byte)(FirstWarm + Math.Clamp((int)((onLink ? 8.5 : 5.0) - distance / 26), 0, Warms - 1));
            }

        return picture.Frame(90, 80, 180, 24, 1, Paper).Text(24, 20, 2, from, Paper).Text(290, 20, 2, to, Paper)
            .Text(212, 112, 2, string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{warmestDegC:0.0} C"), Paper).Png();
    }

    private DrawnPicture Box(int x, int y, int width, int height, byte ink)
    {
        for (var row = y; row < y + height; row++) pixels.AsSpan(row * Width + x, width).Fill(ink);
        return this;
    }

    private DrawnPicture Frame(int x, int y, int width, int height, int thick, byte ink) =>
        Box(x, y, width, thick, ink).Box(x, y + height - thick, width, thick, ink).Box(x, y, thick, height, ink).Box(x + width - thick, y, thick, height, ink);

    private DrawnPicture Text(int x, int y, int scale, string text, byte ink)
    {
        foreach (var letter in text)
        {
            var rows = DotLetters.Of(letter);
            for (var row = 0; row < rows.Length; row++)
                for (var column = 0; column < 5; column++)
                    if ((rows[row] >> (4 - column) & 1) != 0) Box(x + column * scale, y + row * scale, scale, scale, ink);
            x += 6 * scale;
        }

        return this;
    }

    private byte[] Png()
    {
        using var png = new MemoryStream();
        png.Write([0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A]);
        var head = new byte[13];
        BinaryPrimitives.WriteInt32BigEndian(head, Width);
        BinaryPrimitives.WriteInt32BigEndian(head.AsSpan(4), Height);
        (head[8], head[9]) = (8, 3);
        Chunk(png, "IHDR"u8, head);
        Chunk(png, "PLTE"u8, [.. Palette.SelectMany(c => new[] { c.R, c.G, c.B })]);
        using var packed = new MemoryStream();
        using (var deflate = new ZLibStream(packed, CompressionLevel.SmallestSize, leaveOpen: true))
            for (var row = 0; row < Height; row++)
            {
                deflate.WriteByte(0);
                deflate.Write(pixels.AsSpan(row * Width, Width));
            }

        Chunk(png, "IDAT"u8, packed.ToArray());
        Chunk(png, "IEND"u8, []);
        return png.ToArray();
    }

    private static void Chunk(MemoryStream png, ReadOnlySpan<byte> type, ReadOnlySpan<byte> body)
    {
        var chunk = new byte[12 + body.Length];
        BinaryPrimitives.WriteInt32BigEndian(chunk, body.Length);
        type.CopyTo(chunk.AsSpan(4));
        body.CopyTo(chunk.AsSpan(8));
        BinaryPrimitives.WriteUInt32BigEndian(chunk.AsSpan(8 + body.Length), Crc32.Of(chunk.AsSpan(4, 4 + body.Length)));
        png.Write(chunk);
    }
}
