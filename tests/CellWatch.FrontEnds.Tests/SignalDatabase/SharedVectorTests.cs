using System.Globalization;
using System.Text.Json;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.Tests.SignalDatabase;

/// <summary>Every frame of dbc_decode_vectors.json: expected values from cantools 42.0.3, cross-checked there with canmatrix 0.9.5.</summary>
public class SharedVectorTests
{
    [SharedFact(Vectors.Folder)]
    public void Every_signal_of_every_vector_decodes_as_the_reference_tool_decoded_it()
    {
        var root = Vectors.Read("dbc_decode_vectors.json");
        var frames = root.EnumerateObject().Single(p => p.Value.ValueKind == JsonValueKind.Array).Value;
        int frameCount = 0, valueCount = 0, unknownPages = 0;
        foreach (var vector in frames.EnumerateArray())
        {
            var id = vector.Text("id");
            var database = CanDatabase.Load(SharedMaterial.PathOf($"{Vectors.Folder}/{vector.Text("dbc")}"));
            var message = database.Find(uint.Parse(vector.Text("can_id"), NumberStyles.HexNumber, CultureInfo.InvariantCulture), vector.GetProperty("extended").GetBoolean());
            Assert.NotNull(message);
            Assert.Equal(vector.Text("message"), message.Name);
            Assert.Equal(vector.GetProperty("fd").GetBoolean(), message.IsFd);
            var values = new SignalValue[message.Signals.Length];
            var outcome = message.Decode(vector.Bytes("data"), values);
            frameCount++;

            var expected = vector.GetProperty("signals");
            if (vector.TryGetProperty("reference_tool_error", out _))
            {
                // The reference tool refuses the frame; ours gives the signals that are always there.
                Assert.Equal(DecodeOutcome.UnknownPage, outcome);
                Assert.Equal(message.Signals.Where(s => s.Switch is null), message.Signals.Where(s => values[s.Index].IsPresent));
                unknownPages++;
                continue;
            }

            Assert.Equal(DecodeOutcome.Complete, outcome);
            Assert.Equal(
                expected.EnumerateObject().Select(p => p.Name).Order(StringComparer.Ordinal),
                message.Signals.Where(s => values[s.Index].IsPresent).Select(s => s.Name).Order(StringComparer.Ordinal));
            foreach (var signal in expected.EnumerateObject())
            {
                Check($"{id} {signal.Name}", signal.Value, message.Find(signal.Name)!, values);
                valueCount++;
            }
        }

        Assert.Equal((58, 206, 3), (frameCount, valueCount, unknownPages));
    }

    private static void Check(string place, JsonElement expected, CanSignal signal, SignalValue[] values)
    {
        var value = values[signal.Index];
        var raw = expected.GetProperty("raw");
        var rawText = raw.ValueKind == JsonValueKind.String ? raw.GetString()! : null;
        if (rawText is not null && signal.Number is SignalNumber.Unsigned or SignalNumber.Signed)
            Assert.True(rawText == signal.RawText(value.Bits), $"{place}: raw {signal.RawText(value.Bits)}, expected {rawText}");

        var physical = ToDouble(expected.GetProperty("physical"));
        var isNear = physical.Equals(value.Physical) || Math.Abs(physical - value.Physical) <= Math.Max(1e-12, 1e-9 * Math.Abs(physical));
        Assert.True(isNear, $"{place}: {value.Physical:R}, expected {physical:R}");
        Assert.Equal(value.Physical, signal.ToPhysical(value.Bits));
        if (expected.TryGetProperty("label", out var label)) Assert.Equal(label.GetString(), signal.LabelOf(value.Bits));
    }

    private static double ToDouble(JsonElement element) => element.ValueKind == JsonValueKind.Number
        ? element.GetDouble()
        : element.GetString() switch
        {
            "nan" => double.NaN,
            "inf" => double.PositiveInfinity,
            "-inf" => double.NegativeInfinity,
            var text => double.Parse(text!, CultureInfo.InvariantCulture),
        };

    [SharedFact(Vectors.Folder)]
    public void Both_shared_databases_are_read_without_a_warning()
    {
        foreach (var (file, messages) in new[] { ("cellfront_le.dbc", 14), ("cellfront_be.dbc", 10) })
        {
            var database = CanDatabase.Load(SharedMaterial.PathOf($"{Vectors.Folder}/{file}"));
            Assert.Empty(database.Warnings);
            Assert.Equal(messages, database.Messages.Length);
        }
    }

    [SharedFact(Vectors.Folder)]
    public void A_shared_database_cut_off_anywhere_is_read_or_refused_with_a_line_and_never_breaks_otherwise()
    {
        var text = File.ReadAllText(SharedMaterial.PathOf($"{Vectors.Folder}/cellfront_le.dbc"));
        var refused = 0;
        for (var length = 0; length < text.Length; length++)
        {
            try
            {
                CanDatabase.Parse(text[..length], "cut.dbc");
            }
            catch (DatabaseException e)
            {
                refused++;
                Assert.InRange(e.Line, 1, 200);
                Assert.StartsWith("cut.dbc line ", e.Message, StringComparison.Ordinal);
            }
        }

        Assert.InRange(refused, text.Length / 2, text.Length);
    }
}
