namespace CellWatch.Core.Tests.Rules;

public sealed class RuleCaseTests
{
    private static readonly string Folder = Path.Combine(AppContext.BaseDirectory, "RuleCases");

    public static TheoryData<string> Files() => [.. Directory.GetFiles(Folder, "*.rulecase").Select(f => Path.GetFileName(f)!).Order(StringComparer.Ordinal)];

    [Theory]
    [MemberData(nameof(Files))]
    public void The_case_in_the_file_holds(string file)
    {
        var read = RuleCase.Read(Path.Combine(Folder, file));
        var difference = read.Play();
        Assert.True(difference.Length == 0, $"{file}: {read.Title}\n{difference}");
    }

    [Fact]
    public void There_are_at_least_twelve_cases() => Assert.True(Directory.GetFiles(Folder, "*.rulecase").Length >= 12);

    [Theory]
    [InlineData("case x\nseries\n  B01.1 3.9 x5\nexpect\n  5 cell-high.B01.1 shouting", "line 5 '5 cell-high.B01.1 shouting': 'shouting' is no state.")]
    [InlineData("case x\nseries\n  B01.1 three", "line 3 'B01.1 three': 'three' is no number.")]
    [InlineData("B01.1 3.9", "line 1 'B01.1 3.9': it belongs to no section")]
    public void A_line_that_cannot_be_read_is_named(string text, string expected)
    {
        var file = Path.GetTempFileName();
        File.WriteAllText(file, text);
        Assert.Contains(expected, Assert.Throws<FormatException>(() => RuleCase.Read(file)).Message, StringComparison.Ordinal);
        File.Delete(file);
    }
}
