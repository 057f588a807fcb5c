using System.Globalization;
using System.Text.RegularExpressions;
using CellWatch.Dashboard.Theme;
using MudBlazor.Utilities;
using Xunit;

namespace CellWatch.Dashboard.Tests;

/// <summary>Contrast by the formula of WCAG 2.2 (relative luminance of sRGB), of every pair of tokens that meet on a page, read from the style sheet itself.</summary>
public sealed partial class ContrastTests
{
    private static readonly Dictionary<string, Dictionary<string, string>> Themes = Read();

    [Theory]
    [MemberData(nameof(Pairs))]
    public void Every_pair_that_meets_on_a_page_is_told_apart(string theme, string front, string back, double least)
    {
        var tokens = Themes[theme];
        var ratio = Ratio(tokens[front], tokens[back]);
        Assert.True(ratio >= least, string.Create(CultureInfo.InvariantCulture, $"{theme}: {front} on {back} is {ratio:F2}, needs {least}."));
    }

    [Fact]
    public void The_formula_gives_the_figures_of_the_standard()
    {
        // WCAG 2.2: black on white is 21:1; #777777 on white is 4.48:1, the well-known grey that just fails.
        Assert.Equal(21, Ratio("#000000", "#FFFFFF"), 2);
        Assert.Equal(4.48, Ratio("#777777", "#FFFFFF"), 2);
    }

    [Theory]
    [InlineData("light")]
    [InlineData("dark")]
    public void The_component_library_wears_the_same_colours_as_the_style_sheet(string theme)
    {
        MudBlazor.Palette palette = theme == "light" ? CellWatchTheme.Theme.PaletteLight : CellWatchTheme.Theme.PaletteDark;
        var tokens = Themes[theme];
        Assert.Equal(new MudColor(tokens["ground"]).Value, palette.Background.Value);
        Assert.Equal(new MudColor(tokens["plate"]).Value, palette.Surface.Value);
        Assert.Equal(new MudColor(tokens["ink"]).Value, palette.TextPrimary.Value);
        Assert.Equal(new MudColor(tokens["ink-2"]).Value, palette.TextSecondary.Value);
        Assert.Equal(new MudColor(tokens["scribe"]).Value, palette.Primary.Value);
        Assert.Equal(new MudColor(tokens["urgent"]).Value, palette.Error.Value);
        Assert.Equal(new MudColor(tokens["on-urgent"]).Value, palette.ErrorContrastText.Value);
        Assert.Equal(new MudColor(tokens["caution"]).Value, palette.Warning.Value);
        Assert.Equal(new MudColor(tokens["passed"]).Value, palette.Success.Value);
        Assert.Equal(new MudColor(tokens["hair"]).Value, palette.LinesDefault.Value);
        Assert.Equal(new MudColor(tokens["edge"]).Value, palette.LinesInputs.Value);
    }

    public static TheoryData<string, string, string, double> Pairs()
    {
        var data = new TheoryData<string, string, string, double>();
        foreach (var theme in new[] { "light", "dark" })
        {
            foreach (var back in new[] { "ground", "plate" })
            {
                // Text 4.5:1 (1.4.3); borders and marks 3:1 (1.4.11).
                foreach (var text in new[] { "ink", "ink-2", "trace", "scribe", "urgent", "caution", "lost", "passed" }) data.Add(theme, text, back, 4.5);
                data.Add(theme, "edge", back, 3);
            }

            // Lines of a chart lie on plate; each also has its own dash and its name at its end.
            foreach (var n in Enumerable.Range(1, 6)) data.Add(theme, $"line-{n}", "plate", 3);
            data.Add(theme, "on-urgent", "urgent", 4.5);
            data.Add(theme, "on-sim", "sim-fill", 4.5);
            data.Add(theme, "on-sim", "sim-stripe", 4.5);
            // The fill of the caution mark is held by its edge, not by the plate behind it.
            data.Add(theme, "mark-edge", "caution-fill", 3);
        }

        return data;
    }

    private static double Ratio(string one, string other)
    {
        var (a, b) = (Luminance(one), Luminance(other));
        return (Math.Max(a, b) + 0.05) / (Math.Min(a, b) + 0.05);
    }

    private static double Luminance(string hex)
    {
        double Channel(int at)
        {
            var c = int.Parse(hex.AsSpan(at, 2), NumberStyles.HexNumber, CultureInfo.InvariantCulture) / 255.0;
            return c <= 0.04045 ? c / 12.92 : Math.Pow((c + 0.055) / 1.055, 2.4);
        }

        return 0.2126 * Channel(1) + 0.7152 * Channel(3) + 0.0722 * Channel(5);
    }

    private static Dictionary<string, Dictionary<string, string>> Read()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "CellWatch.sln"))) folder = folder.Parent;
        var css = File.ReadAllText(Path.Combine(folder!.FullName, "src", "CellWatch.Dashboard", "wwwroot", "tokens.css"));
        var themes = new Dictionary<string, Dictionary<string, string>>(StringComparer.Ordinal);
        foreach (Match block in Block().Matches(css))
            themes[block.Groups["theme"].Success ? block.Groups["theme"].Value : "light"] = Token().Matches(block.Groups["body"].Value)
                .ToDictionary(m => m.Groups["name"].Value, m => m.Groups["hex"].Value, StringComparer.Ordinal);
        return themes;
    }

    [GeneratedRegex(@":root(\[data-theme=(?<theme>\w+)\])?\s*\{(?<body>[^}]*)\}", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Block();

    [GeneratedRegex(@"--(?<name>[\w-]+):\s*(?<hex>#[0-9A-Fa-f]{6});", RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex Token();
}
