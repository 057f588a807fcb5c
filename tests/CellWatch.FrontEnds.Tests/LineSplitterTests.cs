using System.Text;
using CsCheck;

namespace CellWatch.FrontEnds.Tests;

public class LineSplitterTests
{
    [Fact]
    public void However_the_bytes_are_cut_the_lines_are_the_same() =>
        Gen.Select(Gen.Int[0, 3].Select(i => "ab\r\n"u8[i]).Array[0, 60], Gen.Int[1, 9]).Sample((bytes, cut) =>
            Lines([bytes]) == Lines([.. bytes.Chunk(cut)]), iter: 5_000, threads: 1);

    private static string Lines(byte[][] pieces)
    {
        var splitter = new LineSplitter(8, "\r\n"u8);
        var text = new StringBuilder();
        foreach (var piece in pieces)
        {
            ReadOnlySpan<byte> input = piece;
            while (splitter.TryTake(ref input, out var line, out var end)) text.Append(Encoding.ASCII.GetString(line)).Append(end.Terminator).Append(end.IsTooLong).Append('|');
        }

        return text.Append(Encoding.ASCII.GetString(splitter.Pending)).ToString();
    }

    [Fact]
    public void A_line_beyond_the_limit_is_reported_once_and_the_next_one_is_whole()
    {
        var splitter = new LineSplitter(4, "\r"u8);
        ReadOnlySpan<byte> input = "0123456789"u8;
        Assert.False(splitter.TryTake(ref input, out _, out _));
        input = "abc\rok\r"u8;
        Assert.True(splitter.TryTake(ref input, out var line, out var end));
        Assert.True(end.IsTooLong);
        Assert.Equal("0123"u8, line);
        Assert.True(splitter.TryTake(ref input, out line, out end));
        Assert.False(end.IsTooLong);
        Assert.Equal("ok"u8, line);
    }

    [Fact]
    public void A_reset_forgets_the_half_line_of_a_lost_link()
    {
        var splitter = new LineSplitter(8, "\r"u8);
        ReadOnlySpan<byte> input = "half"u8;
        splitter.TryTake(ref input, out _, out _);
        splitter.Reset();
        input = "whole\r"u8;
        Assert.True(splitter.TryTake(ref input, out var line, out _));
        Assert.Equal("whole"u8, line);
    }
}
