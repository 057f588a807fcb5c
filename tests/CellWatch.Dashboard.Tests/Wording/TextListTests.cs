using System.Text.RegularExpressions;
using CellWatch.Core.Wording;
using CellWatch.Dashboard.Texts;
using Xunit;

namespace CellWatch.Dashboard.Tests.Wording;

/// <summary>The file of English texts against the sources.</summary>
public partial class TextListTests
{
    /// <summary>With this environment variable set to 1 the file is written instead of judged.</summary>
    private const string WriteVariable = "CELLWATCH_WRITE_TEXTS";

    [Fact]
    public void The_file_of_english_texts_is_complete_and_holds_no_leftover()
    {
        var list = TextList.Read();
        Assert.True(list.Faults.Count == 0, "A text is written out at its call, so that it can be listed:\n" + string.Join('\n', list.Faults));
        Assert.True(list.FilesOf.Count > 100, "Hardly any text was found: the reading of the sources is broken.");
        var wanted = list.ToResx();
        if (Environment.GetEnvironmentVariable(WriteVariable) == "1") File.WriteAllText(list.File, wanted);

        var written = File.Exists(list.File) ? File.ReadAllText(list.File) : "";
        if (written == wanted) return;
        var (have, want) = (Names(written), Names(wanted));
        Assert.Fail($"""
            Texts.resx is not what the sources say. Write it anew: {WriteVariable}=1 dotnet test tests/CellWatch.Dashboard.Tests --filter {nameof(TextListTests)}
            missing: {string.Join(" | ", want.Except(have).Take(10))}
            left over: {string.Join(" | ", have.Except(want).Take(10))}
            """);
    }

    [Fact]
    public void Every_text_of_the_scripts_is_handed_over() => Assert.Equal(TextList.Read().OfScripts, ScriptTexts.All.Order(StringComparer.Ordinal));

    /// <summary>No other language knows a text that English does not, and each can be filled: <see cref="Language"/> refuses other holes.</summary>
    [Fact]
    public void Every_other_language_is_of_the_same_texts()
    {
        var list = TextList.Read();
        foreach (var file in Directory.GetFiles(Path.GetDirectoryName(list.File)!, "Texts.*.resx"))
        {
            var tag = Path.GetFileNameWithoutExtension(file)["Texts.".Length..];
            Assert.Contains(tag, Language.Carried);
            Assert.Empty(Names(File.ReadAllText(file)).Except(list.FilesOf.Keys));
            Assert.NotNull(Language.Named(tag));
        }
    }

    private static HashSet<string> Names(string resx) => [.. Name().Matches(resx).Select(m => System.Net.WebUtility.HtmlDecode(m.Groups[1].Value))];

    [GeneratedRegex("<data name=\"([^\"]*)\"")]
    private static partial Regex Name();
}
