using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.Tests.SignalDatabase;

/// <summary>
/// Worked values printed in the public test-suite of cantools (tests/test_database.py), and a few from its 42.0.3 run over invented layouts.
/// </summary>
public class DecodingTests
{
    private static double[] Decode(string signals, string hex, int length = 8, string tail = "")
    {
        var database = CanDatabase.Parse($"BO_ 496 Example: {length} Node\n{signals}\n\n{tail}", "inline.dbc");
        var values = new SignalValue[database.MaxSignals];
        Assert.Equal(DecodeOutcome.Complete, database.Find(496, isExtended: false)!.Decode(Convert.FromHexString(hex), values));
        return [.. values.Select(v => v.Physical)];
    }

    private const string Motohawk = """
         SG_ Temperature : 0|12@0- (0.01,250) [229.52|270.47] "degK" Node
         SG_ AverageRadius : 6|6@0+ (0.1,0) [0|5] "m" Node
         SG_ Enable : 7|1@0+ (1,0) [0|0] "-" Node
        """;

    [Theory]
    [InlineData("C006E00000000000", 250.55, 3.2, 1)]
    [InlineData("0100200000000000", 229.53, 0, 0)]
    public void Big_endian_fields_inside_and_across_bytes(string hex, double temperature, double radius, double enable)
    {
        var values = Decode(Motohawk, hex);
        Assert.Equal(temperature, values[0], 1e-9);
        Assert.Equal(radius, values[1], 1e-9);
        Assert.Equal(enable, values[2]);
    }

    [Fact]
    public void Little_endian_twelve_bit_fields()
    {
        Assert.Equal([9, 5], Decode("""
             SG_ Fum : 0|12@1- (1,0) [0|0] "" Node
             SG_ Fam : 12|12@1- (1,0) [0|0] "" Node
            """, "0950000000", 5));
    }

    [Fact]
    public void Single_and_double_numbers()
    {
        Assert.Equal([1.0], Decode(""" SG_ Binary32 : 0|32@1- (1,0) [0|0] "" Node""", "0000803F", 4, "SIG_VALTYPE_ 496 Binary32 : 1;"));
        Assert.Equal(-129.448, Decode(""" SG_ Signal1 : 0|64@1- (1,0) [0|0] "" Node""", "75931804562E60C0", 8, "SIG_VALTYPE_ 496 Signal1 : 2;")[0], 1e-9);
    }

    [Fact]
    public void Two_64_bit_fields_of_a_long_message()
    {
        var values = Decode("""
             SG_ Fie : 0|64@1+ (1,0) [0|0] "" Node
             SG_ Fas : 64|64@1+ (1,0) [0|0] "" Node
            """, "EFCDAB8967452301EFBEADDEEFBEADDE" + new string('0', 96), 64);
        Assert.Equal(0x0123456789ABCDEF, values[0]);
        Assert.Equal(0xDEADBEEFDEADBEEF, values[1]);
    }

    /// <summary>Frames D47, D54 and D45 of the wire vectors (cantools 42.0.3): 24 and 36 bits from bit 3, mixed orders, negative factor, odd places.</summary>
    [Fact]
    public void Odd_places_and_mixed_orders_as_the_reference_tool_reads_them()
    {
        Assert.Equal([-1.0, 1], Decode("""
             SG_ Be_I_A : 3|24@0- (0.001,0) [0|0] "A" Host
             SG_ Be_Count : 27|36@0+ (1,0) [0|0] "" Host
            """, "0FFFC18000000001"));
        Assert.Equal([2748, 291, 0, 177102.5, 92.0], Decode("""
             SG_ Mix_le12 : 0|12@1+ (1,0) [0|4095] "" Host
             SG_ Mix_be12 : 23|12@0+ (1,0) [0|4095] "" Host
             SG_ Mix_le5s : 12|4@1- (1,0) [-8|7] "" Host
             SG_ Mix_be20s : 39|20@0- (0.5,10) [-262134|262153.5] "" Host
             SG_ Mix_neg : 56|8@1+ (-0.5,100) [-27.5|100] "%" Host
            """, "BC0A123456789A10"));
    }

    private const string Nested = """
        BO_ 769 Muxed_Nested: 8 FrontEnd
         SG_ Kind M : 0|8@1+ (1,0) [0|255] "" Host
         SG_ Sub m3M : 8|8@1+ (1,0) [0|255] "" Host
         SG_ Short_V m1 : 16|16@1+ (0.0001,0) [0|6.5535] "V" Host
         SG_ Sub0_V m0 : 16|16@1+ (0.0001,0) [0|6.5535] "V" Host
         SG_ Sub1_I m1 : 16|16@1- (0.1,0) [-3276.8|3276.7] "A" Host
         SG_ Range_T m5 : 16|8@1- (1,0) [-128|127] "degC" Host
        SG_MUL_VAL_ 769 Sub Kind 3-3;
        SG_MUL_VAL_ 769 Short_V Kind 1-1;
        SG_MUL_VAL_ 769 Sub0_V Sub 0-0;
        SG_MUL_VAL_ 769 Sub1_I Sub 1-1;
        SG_MUL_VAL_ 769 Range_T Kind 5-7, 9-9;
        """;

    /// <summary>Frames D31 to D36 of the wire vectors (cantools 42.0.3).</summary>
    [Theory]
    [InlineData("01009A9200000000", "Kind=1 Short_V=3.753")]
    [InlineData("0300389000000000", "Kind=3 Sub=0 Sub0_V=3.692")]
    [InlineData("03010CFE00000000", "Kind=3 Sub=1 Sub1_I=-50")]
    [InlineData("0600F60000000000", "Kind=6 Range_T=-10")]
    [InlineData("0900800000000000", "Kind=9 Range_T=-128")]
    [InlineData("0800110000000000", "Kind=8")]
    [InlineData("0307110000000000", "Kind=3")]
    public void Nested_pages_and_page_ranges(string hex, string expected)
    {
        var message = CanDatabase.Parse(Nested, "nested.dbc").Find(769, false)!;
        var values = new SignalValue[message.Signals.Length];
        var outcome = message.Decode(Convert.FromHexString(hex), values);
        Assert.Equal(expected, string.Join(' ', message.Signals.Where(s => values[s.Index].IsPresent)
            .Select(s => FormattableString.Invariant($"{s.Name}={values[s.Index].Physical}"))));
        Assert.Equal(expected.Contains(' ', StringComparison.Ordinal) ? DecodeOutcome.Complete : DecodeOutcome.UnknownPage, outcome);
    }

    [Fact]
    public void A_frame_shorter_than_its_message_yields_nothing()
    {
        var message = CanDatabase.Parse("BO_ 1 A: 4 N\n SG_ X : 0|8@1+ (1,0) [0|0] \"\" N\n", "short.dbc").Find(1, false)!;
        var values = new SignalValue[1];
        Assert.Equal(DecodeOutcome.TooShort, message.Decode([1, 2, 3], values));
        Assert.False(values[0].IsPresent);
    }

    [Fact]
    public void A_value_out_of_range_is_passed_on_unclipped()
    {
        Assert.Equal([200], Decode(""" SG_ X : 0|8@1+ (1,0) [0|100] "" Node""", "C8", 1));
    }

    [Fact]
    public void Decoding_allocates_nothing()
    {
        var message = CanDatabase.Parse(Nested, "nested.dbc").Find(769, false)!;
        var values = new SignalValue[message.Signals.Length];
        byte[] data = [3, 1, 0x0C, 0xFE, 0, 0, 0, 0];
        message.Decode(data, values);
        var before = GC.GetAllocatedBytesForCurrentThread();
        for (var i = 0; i < 1000; i++) message.Decode(data, values);
        Assert.Equal(0, GC.GetAllocatedBytesForCurrentThread() - before);
    }
}
