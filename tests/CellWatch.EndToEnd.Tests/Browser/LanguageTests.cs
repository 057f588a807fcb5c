using System.Text.RegularExpressions;
using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>Every page in another language, which is one file handed over at the start: no English is left but what is data.</summary>
[Collection(BrowserCollection.Name)]
public sealed partial class LanguageTests(DemoInBrowser demo)
{
    // What a reader meets: text, and what is spoken or shown of attributes. Order of the document, so that a sentence stays together.
    private const string Words = """
        () => {
          const said = [document.title];
          const walk = document.createTreeWalker(document.body, NodeFilter.SHOW_TEXT | NodeFilter.SHOW_ELEMENT, {
            acceptNode: n => ['SCRIPT', 'STYLE', 'CODE'].includes(n.tagName) || n.classList?.contains('wordmark') || n.lang === 'en'
              ? NodeFilter.FILTER_REJECT : NodeFilter.FILTER_ACCEPT });
          for (let n = walk.nextNode(); n; n = walk.nextNode()) {
            if (n.nodeType === Node.TEXT_NODE) said.push(n.data);
            else for (const name of ['title', 'aria-label', 'aria-roledescription', 'placeholder', 'alt', 'data-head']) if (n.getAttribute(name)) said.push(n.getAttribute(name));
          }
          return said.map(s => s.replace(/\s+/g, ' ').trim()).filter(s => s);
        }
        """;

    [BrowserFact]
    public async Task A_language_that_is_one_file_reaches_every_word_of_every_page()
    {
        using var folder = new TemporaryFolder();
        var port = ServiceProcess.FreePort();
        await using var program = ServiceProcess.Start(port, "demo", "--port", $"{port}", "--mqtt-port", "-1", "--speed", "1", "--language", PseudoLanguage.Write(folder.Path));
        await program.WaitForStateAsync(s => s["summary"]?["knownCells"]?.GetValue<int>() == 108, "all cells known", 90);
        // The first drawing of all pages costs most; it is not what is judged here.
        await program.GetWhenUpAsync("/whole-pack");
        var left = new List<string>();
        foreach (var path in DemoInBrowser.Paths)
        {
            await using var page = await demo.OpenAsync(path, demo: program);
            Assert.Equal(PseudoLanguage.Tag, await page.Page.EvaluateAsync<string>("document.documentElement.lang"));
            // Drawings come a moment after the words around them.
            await page.Page.WaitForTimeoutAsync(1_500);
            await page.KeepPictureAsync($"{path}-marked");
            left.AddRange((await page.Page.EvaluateAsync<string[]>(Words)).Where(s => English(s)).Distinct(StringComparer.Ordinal).Select(s => $"{path}: {s}"));
            Assert.Empty(page.Complaints);
        }

        Assert.True(left.Count == 0, $"{left.Count} pieces did not come from the file of texts:\n{string.Join('\n', left)}");
    }

    private static bool English(string said)
    {
        foreach (var data in Data()) said = data.Replace(said, " ");
        return Letters().IsMatch(said);
    }

    [GeneratedRegex("[A-Za-z]{2,}")]
    private static partial Regex Letters();

    // What is no text of ours, each with its reason.
    private static IEnumerable<Regex> Data() => [Citations(), Typed(), Ours(), Units(), Symbols(), Names(), Dates(), SettingValues()];

    /// <summary>The program's name, its commands, forms of a file and keys of a keyboard.</summary>
    [GeneratedRegex(@"CellWatch|cellwatch \w+|--\w+|\b(PDF|CSV|JSON|Parquet|PgUp|PgDn|Home|End|Enter)\b")]
    private static partial Regex Ours();

    /// <summary>Units (SI, and the ohm of plain text), kinds of current.</summary>
    [GeneratedRegex(@"(?<![A-Za-z])(Ah|kWh|Wh|mV|mA|kg|mm|min|ms|Nm|degC|[kM]?[Oo]hm|[mkM]Ω|Hz|UTC|AC|DC)(?![A-Za-z])")]
    private static partial Regex Units();

    /// <summary>Symbols of the isolation test, as UN R100 writes them.</summary>
    [GeneratedRegex(@"\b(Vb|Ro|Ri)\b")]
    private static partial Regex Symbols();

    /// <summary>Names of the site: pack, boxes, boards, runs, channels, the hand cut-off.</summary>
    [GeneratedRegex(@"\b([Pp]etrel|[Ff]ore|[Aa]ft|(emulated )?board-\d|PTR-\d+|packCurrentA|[A-Z]\d\d-(rest|capacity|pulse)-\d|red button on the charger)\b")]
    private static partial Regex Names();

    /// <summary>Months, written the same in every language for now, and a grade, limits' fingerprint or revision.</summary>
    [GeneratedRegex(@"\d (Jan|Feb|Mar|Apr|May|Jun|Jul|Aug|Sep|Oct|Nov|Dec)\b|\b[0-9a-f]{8}\b")]
    private static partial Regex Dates();

    /// <summary>Values of the site file as they are written there.</summary>
    [GeneratedRegex(@"\b(nmc-4\.20|lfp-3\.65|person|chargeController|nobody|ramp|jeita|yes|no)\b")]
    private static partial Regex SettingValues();

    /// <summary>What people of the sample project typed.</summary>
    [GeneratedRegex(@"\b(Ada|Bea|first AC charge|shelf|contactors open, charger off)\b")]
    private static partial Regex Typed();

    /// <summary>Where a limit comes from, as its cell type cites it.</summary>
    [GeneratedRegex("[Cc]ommon practice, no source; the cell maker's data sheet overrides")]
    private static partial Regex Citations();
}
