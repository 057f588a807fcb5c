using CellWatch.FrontEnds.TextLines;
using CsCheck;

namespace CellWatch.FrontEnds.Tests.TextLines;

public class RoundTripTests
{
    [Fact]
    public void Values_written_by_a_board_are_read_back_to_the_last_digit() =>
        Gen.Select(Gen.Int[-99_999, 99_999].Array[1, 32], Gen.UShort, Gen.Int[0, 4]).Sample((steps, sequence, decimals) =>
        {
            var one = Math.Pow(10, decimals);
            var writer = new TextSentenceWriter("FE0412", sequence);
            writer.BeginAuxiliaries(1);
            foreach (var step in steps) writer.Add(step / one, decimals);
            if (TextSentence.TryRead(writer.End()[..^2], out var sentence) != TextLineFault.None || sentence.Sequence != sequence) return false;
            var fields = new FieldReader(sentence.Fields, (byte)',');
            fields.TryTake(out _);
            foreach (var step in steps)
                if (!fields.TryTake(out var field) || !FieldReader.TryNumber(field, out var value) || Math.Round(value * one) != step) return false;
            return fields.Count == 0;
        }, iter: 2000, threads: 1);

    [Fact]
    public void Noise_is_never_taken_for_a_sentence_and_never_breaks_the_reader() =>
        Gen.Byte.Array[0, 60].Sample(bytes => TextSentence.TryRead(bytes, out _) != TextLineFault.None, iter: 20_000, threads: 1);
}
