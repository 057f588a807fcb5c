using System.Globalization;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Tests.Running;
using CellWatch.FrontEnds.TextLines;

namespace CellWatch.FrontEnds.Tests.TextLines;

public class TextLineDecoderTests
{
    private static string Sentence(string body) => $"@{body}#{Crc16.Of(Vectors.Ascii(body)).ToString("X4", CultureInfo.InvariantCulture)}\r\n";

    /// <summary>Check value of the public CRC catalogue; crccheck 1.0 and crcmod 1.7 agree.</summary>
    [Fact]
    public void The_checksum_has_the_catalogues_check_value() => Assert.Equal(0x29B1, Crc16.Of("123456789"u8));

    [SharedFact(Vectors.Folder)]
    public void The_checksum_agrees_with_the_shared_vectors()
    {
        var entry = Vectors.Read("crc_vectors.json").GetProperty("catalogue").EnumerateArray()
            .Single(e => e.Text("name").StartsWith("CRC-16/IBM-3740", StringComparison.Ordinal));
        Assert.Equal(entry.Text("check"), Crc16.Of("123456789"u8).ToString("X4", CultureInfo.InvariantCulture));
    }

    [Fact]
    public async Task Every_kind_reaches_its_channels()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        bench.Send(Sentence("1,FE0412,0,S,31.5,12.10,60,N,M"));
        bench.Send(Sentence("1,FE0412,1,V,2,3.9120,3.9131,-,open,3.9125,12.5"));
        bench.Send(Sentence("1,FE0412,2,T,3,21.5,-12.25"));
        bench.Send(Sentence("1,FE0412,3,P,-12.50,66.210"));
        bench.Send(Sentence("1,FE0412,4,B,1,010010"));
        bench.Send(Sentence("1,FE0412,5,A,1,35.5,1"));
        await Bench.UntilAsync(() => bench.Health.Frames == 6);

        var map = bench.Map;
        var scan = bench.Scan();
        Assert.Equal(3.912, scan.RawValues[6]);
        Assert.Equal([Quality.Good, Quality.Good, Quality.Missing, Quality.Open, Quality.Good, Quality.OutOfRange], scan.Quality[6..12].ToArray());
        Assert.Equal(12.5, scan.RawValues[11]);
        Assert.Equal([21.5, -12.25], scan.RawValues.Slice(map.FirstTemperature + 4, 2).ToArray());
        Assert.Equal((-12.5, 66.21), (scan.RawValues[map.PackCurrent], scan.RawValues[map.StringVoltage]));
        Assert.Equal([0, 1, 0, 0, 1, 0], scan.RawValues.Slice(map.FirstBleed, 6).ToArray());
        Assert.Equal([35.5, 1], scan.RawValues.Slice(map.FirstAuxiliary, 2).ToArray());
        Assert.Empty(bench.Health.Garbage);
        Assert.Equal(0, bench.Health.LostFrames);
    }

    [Fact]
    public async Task Garbage_is_counted_by_reason_and_never_stops_the_reader()
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        var good = Sentence("1,FE0412,1,V,1,3.9,3.9,3.9,3.9,3.9,3.9");
        bench.Send("rubbish \0\u00ff\r\n");
        bench.Send(good[20..]);
        bench.Send(good[..20] + good);
        bench.Send(good.Replace("3.9,3.9#", "3.8,3.9#", StringComparison.Ordinal));
        bench.Send(new string('x', 400) + "\r\n");
        bench.Send(Sentence("2,FE0412,2,V,1,3.9"));
        bench.Send(Sentence("1,FE0412,3,Q,1,3.9"));
        bench.Send(Sentence("1,FE0412,4,V,9,3.9,3.9,3.9,3.9,3.9,3.9"));
        bench.Send(Sentence("1,FE0412,5,V,1,3.9,3.9,3.9,3.9,3.9"));
        bench.Send(Sentence("1,FE0412,6,V,1,3.9,3.9,3.9,3.9,3.9,x"));
        bench.Send(Sentence("1,FE0412,7,V,1,3.9,3.9,3.9,3.9,3.9,nan"));
        bench.Send(Sentence("1,FE0412,7,V,1,3.9,3.9,3.9,3.9,3.9,3.9"));
        bench.Send(Sentence("1,FE0412,11,V,1,3.9,3.9,3.9,3.9,3.9,4.0"));
        await Bench.UntilAsync(() => bench.Health.Frames == 2);

        Assert.Equal(
            new Dictionary<string, long>(StringComparer.Ordinal)
            {
                ["not a sentence"] = 1,
                ["half line"] = 2,
                ["wrong checksum"] = 1,
                ["line too long"] = 1,
                ["unknown version of the sentence"] = 1,
                ["unknown kind"] = 1,
                ["module number not set up"] = 1,
                ["wrong number of fields"] = 1,
                ["not a number"] = 2,
                ["sentence repeated"] = 1,
            },
            bench.Health.Garbage.ToDictionary(g => g.Reason, g => g.Count, StringComparer.Ordinal));
        // 2 is missing because its version was unknown, then 8, 9, 10.
        Assert.Equal(4, bench.Health.LostFrames);
        Assert.Equal(12, bench.Health.BadPerMinute);
        Assert.Equal(12, bench.Health.RecentBad.Length);
        Assert.Contains("not a sentence: rubbish \\x00\\xFF", bench.Health.RecentBad[0], StringComparison.Ordinal);
        Assert.Equal(4.0, bench.Value(5));
    }

    [Fact]
    public async Task Current_from_a_board_that_does_not_measure_it_is_refused()
    {
        await using var bench = new Bench(Bench.TextOptions with { MeasuresPack = false });
        await bench.StartAsync();
        bench.Send(Sentence("1,FE0412,1,P,1.0,2.0"));
        await Bench.UntilAsync(() => bench.Health.Garbage.Length == 1);
        Assert.Equal(Quality.Missing, bench.QualityOf(bench.Map.PackCurrent));
    }

    [Fact]
    public async Task A_device_that_counts_discharge_as_positive_is_turned_round()
    {
        await using var bench = new Bench(Bench.TextOptions with { InvertCurrent = true });
        await bench.StartAsync();
        bench.Send(Sentence("1,FE0412,1,P,12.5,66.0"));
        await Bench.UntilAsync(() => bench.Health.Frames == 1);
        Assert.Equal(-12.5, bench.Value(bench.Map.PackCurrent));
    }

    [Fact]
    public void What_an_emulated_board_writes_is_read_back()
    {
        var writer = new TextSentenceWriter("FE-1.x_9", 65535);
        writer.BeginCells(12);
        writer.Add(3.91234, 4);
        writer.Add(double.NaN, 4);
        writer.AddOpen();
        var line = writer.End();
        Assert.EndsWith("\r\n", System.Text.Encoding.ASCII.GetString(line), StringComparison.Ordinal);
        Assert.Equal(TextLineFault.None, TextSentence.TryRead(line[..^2], out var sentence));
        Assert.Equal("FE-1.x_9"u8, sentence.Serial);
        Assert.Equal(65535, sentence.Sequence);
        Assert.Equal((byte)'V', sentence.Kind);
        Assert.Equal("12,3.9123,-,open"u8, sentence.Fields);
        writer.BeginPack();
        TextSentence.TryRead(writer.End()[..^2], out sentence);
        Assert.Equal(0, sentence.Sequence);
    }

    [Fact]
    public void Any_single_changed_byte_is_refused()
    {
        var line = Vectors.Ascii(Sentence("1,FE0412,731,V,3,3.9120,3.9131,3.9118,-,3.9125,3.9121").TrimEnd());
        for (var at = 0; at < line.Length; at++)
            for (var bit = 0; bit < 8; bit++)
            {
                var changed = (byte[])line.Clone();
                changed[at] ^= (byte)(1 << bit);
                var isSameHexDigit = at >= line.Length - 4 && bit == 5 && char.IsAsciiLetter((char)line[at]);
                if (isSameHexDigit) continue;
                Assert.NotEqual(TextLineFault.None, TextSentence.TryRead(changed, out _));
            }
    }
}
