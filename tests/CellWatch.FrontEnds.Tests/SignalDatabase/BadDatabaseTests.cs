using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.Tests.SignalDatabase;

public class BadDatabaseTests
{
    private const string Good = "BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 0|16@1+ (0.0001,0) [0|6.5535] \"V\" Host\n";

    [Theory]
    [InlineData("", 1, "holds no message")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 0|16@1+ (0.0001,", 2, "cut off")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 0|16@1+ (0.0001,0) [0|6.5535] \"V", 2, "cut off")]
    [InlineData("BO_ 256 Ce", 1, "cut off")]
    [InlineData(Good + "CM_ \"half a com", 3, "cut off")]
    [InlineData(Good + "VAL_ 256 A_V 0 \"Idle\" 1", 3, "cut off")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 0|65@1+ (1,0) [0|0] \"\" Host\n", 2, "allowed are 1 to 64")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 60|16@1+ (1,0) [0|0] \"\" Host\n", 2, "beyond the message's 8 bytes")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 63|16@0+ (1,0) [0|0] \"\" Host\n", 2, "beyond the message's 8 bytes")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 0|16@1+ (0,0) [0|0] \"\" Host\n", 2, "factor 0")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V : 0|16@2+ (1,0) [0|0] \"\" Host\n", 2, "byte order")]
    [InlineData(Good + "BO_ 256 Twin: 8 FrontEnd\n", 3, "Cells (line 1) and Twin have the same identifier")]
    [InlineData("BO_ 4096 Cells: 8 FrontEnd\n", 1, "11-bit ones go to 2047")]
    [InlineData(Good + " SG_ A_V : 16|16@1+ (1,0) [0|0] \"\" Host\n", 3, "described twice")]
    [InlineData(Good + "SIG_VALTYPE_ 256 A_V : 1;\n", 3, "must have 32")]
    [InlineData(Good + "SIG_VALTYPE_ 256 B_V : 1;\n", 3, "signal B_V, which message Cells does not have")]
    [InlineData(Good + "VAL_ 257 A_V 0 \"x\" ;\n", 3, "message 257")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V m0 : 0|16@1+ (1,0) [0|0] \"\" Host\n", 2, "has no switch")]
    [InlineData("BO_ 256 Cells: 8 FrontEnd\n SG_ A_V x0 : 0|16@1+ (1,0) [0|0] \"\" Host\n", 2, "no multiplex mark")]
    [InlineData(" SG_ A_V : 0|16@1+ (1,0) [0|0] \"\" Host\n", 1, "outside any message")]
    public void A_broken_file_is_refused_with_its_line(string text, int line, string problem)
    {
        var error = Assert.Throws<DatabaseException>(() => CanDatabase.Parse(text, "broken.dbc"));
        Assert.Equal(line, error.Line);
        Assert.StartsWith($"broken.dbc line {line}: ", error.Message, StringComparison.Ordinal);
        Assert.Contains(problem, error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_missing_file_is_named()
    {
        var error = Assert.Throws<DatabaseException>(() => CanDatabase.Load("/nowhere/cells.dbc"));
        Assert.Contains("/nowhere/cells.dbc", error.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void An_unknown_section_is_skipped_with_a_warning()
    {
        var database = CanDatabase.Parse("STRANGE_ 1 \"a;b\"\n more;\n" + Good, "odd.dbc");
        Assert.Equal(new DatabaseWarning(1, "unknown section 'STRANGE_' skipped."), Assert.Single(database.Warnings));
        Assert.Equal("Cells", Assert.Single(database.Messages).Name);
    }

    [Fact]
    public void Overlapping_signals_are_named_in_a_warning()
    {
        var database = CanDatabase.Parse(Good + " SG_ B_V : 8|16@1+ (1,0) [0|0] \"\" Host\n", "overlap.dbc");
        Assert.Contains("A_V and B_V of message Cells share bits", Assert.Single(database.Warnings).Text, StringComparison.Ordinal);
    }

    [Fact]
    public void Signals_on_different_pages_may_share_bits()
    {
        var database = CanDatabase.Parse("""
            BO_ 1 Paged: 8 N
             SG_ Page M : 0|8@1+ (1,0) [0|0] "" N
             SG_ A m0 : 8|16@1+ (1,0) [0|0] "" N
             SG_ B m1 : 8|16@1+ (1,0) [0|0] "" N
            """, "paged.dbc");
        Assert.Empty(database.Warnings);
    }

    [Fact]
    public void Signals_of_no_message_and_messages_longer_than_a_frame_are_left_out()
    {
        var database = CanDatabase.Parse(Good + """
            BO_ 3221225472 VECTOR__INDEPENDENT_SIG_MSG: 0 Vector__XXX
             SG_ Loose : 0|8@1+ (1,0) [0|0] "" Vector__XXX
            BO_ 2566844926 Transported: 200 N
             SG_ Far : 1000|8@1+ (1,0) [0|0] "" N
            VAL_ 3221225472 Loose 0 "x" ;
            """, "long.dbc");
        Assert.Equal("Cells", Assert.Single(database.Messages).Name);
        Assert.Contains("Transported is 200 bytes long", Assert.Single(database.Warnings).Text, StringComparison.Ordinal);
    }

    [Fact]
    public void Old_files_in_windows_1252_keep_their_units()
    {
        var path = Path.GetTempFileName();
        try
        {
            File.WriteAllBytes(path, Vectors.Ascii("BO_ 1 A: 1 N\n SG_ T : 0|8@1- (1,0) [0|0] \"\u00B0C\" N\n"));
            Assert.Equal("\u00B0C", CanDatabase.Load(path).Messages[0].Signals[0].Unit);
        }
        finally
        {
            File.Delete(path);
        }
    }

    [Fact]
    public void A_29_bit_identifier_is_not_an_11_bit_one_of_the_same_value()
    {
        var database = CanDatabase.Parse("BO_ 2147483904 Wide: 1 N\n SG_ T : 0|8@1- (1,0) [0|0] \"\" N\n", "wide.dbc");
        Assert.Null(database.Find(0x100, isExtended: false));
        Assert.Equal("Wide", database.Find(0x100, isExtended: true)?.Name);
    }
}
