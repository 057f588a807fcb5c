using CellWatch.EndToEnd.Tests.Support;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>What a person needs who walks by keyboard, reads large, sees no colour or wants nothing to move.</summary>
[Collection(BrowserCollection.Name)]
public sealed class AccessTests(DemoInBrowser demo)
{
    private const string Interactive = "a[href], button:not(:disabled), input:not(:disabled), select:not(:disabled), textarea:not(:disabled), summary, [tabindex='0']";

    public static TheoryData<string> Pages => [.. DemoInBrowser.Paths];

    /// <summary>Tab from the top to the end: every interactive thing comes in turn and shows where the focus is.</summary>
    [BrowserTheory]
    [MemberData(nameof(Pages))]
    public async Task By_tab_alone_everything_is_reached_and_the_focus_is_seen(string path)
    {
        await using var page = await demo.OpenAsync(path);
        // What is drawn now must be reached, unless a scan takes it away or switches it off on the way; what a scan adds is not counted.
        var wanted = await page.Page.EvaluateAsync<int>($$"""
            () => {
                const seen = e => e.getClientRects().length > 0 && getComputedStyle(e).visibility !== 'hidden' && !e.closest('[hidden], [inert], .mud-popover-provider, details:not([open]) > :not(summary)');
                const offered = e => e.isConnected && e.matches("{{Interactive}}") && seen(e) && e.tabIndex >= 0;
                const all = [...document.querySelectorAll("{{Interactive}}")].filter(offered);
                window.walk = { left: new Set(all), unseen: [], offered };
                return all.length;
            }
            """);
        Assert.True(wanted > 10, $"{path} offers only {wanted} things.");
        for (var i = 0; i < 2 * wanted + 20; i++)
        {
            await page.Page.Keyboard.PressAsync("Tab");
            var left = await page.Page.EvaluateAsync<int>("""
                () => {
                    const e = document.activeElement;
                    if (!e || e === document.body) return window.walk.left.size;
                    const s = getComputedStyle(e);
                    if (window.walk.left.delete(e) && !(s.outlineStyle !== 'none' && parseFloat(s.outlineWidth) >= 2)) window.walk.unseen.push(e.outerHTML.slice(0, 120));
                    for (const o of window.walk.left) if (!window.walk.offered(o)) window.walk.left.delete(o);
                    return window.walk.left.size;
                }
                """);
            if (left == 0) break;
        }

        Assert.Equal("", await page.Page.EvaluateAsync<string>("() => [...window.walk.left].map(e => e.outerHTML.slice(0, 160)).join('\\n')"));
        Assert.Equal("", await page.Page.EvaluateAsync<string>("() => window.walk.unseen.join('\\n')"));
    }

    /// <summary>Text at 200 % on a laptop of 1280: the browser then has 640 px to lay out. Nothing runs out of sight.</summary>
    [BrowserTheory]
    [MemberData(nameof(Pages))]
    public async Task At_twice_the_size_nothing_runs_sideways_and_nothing_moves_by_itself(string path)
    {
        await using var page = await demo.OpenAsync(path, 640, 400);
        Assert.True(await page.BecomesAsync("document.documentElement.scrollWidth <= 640"), $"{path} is {await page.Page.EvaluateAsync<int>("document.documentElement.scrollWidth")} px wide at 200 %.");
        Assert.True(await page.Page.Locator(".verdict .say").IsVisibleAsync());
        var outside = await page.Page.EvaluateAsync<string>($$"""
            () => [...document.querySelectorAll("{{Interactive}}")].filter(e => {
                const r = e.getBoundingClientRect();
                return r.width > 0 && (r.right > 641 || r.left < -1) && !e.closest('.wide-table, .module-table, .instruments, .skip') && !e.classList.contains('skip');
            }).map(e => e.outerHTML.slice(0, 160)).join('\n')
            """);
        Assert.Equal("", outside);
        // The browser asks for reduced motion: no animation runs.
        Assert.Equal(0, await page.Page.EvaluateAsync<int>("() => document.getAnimations().filter(a => a.playState === 'running' && a.effect?.getComputedTiming().iterations === Infinity).length"));
    }

    [BrowserTheory]
    [InlineData("light")]
    [InlineData("dark")]
    public async Task Without_colour_every_state_has_a_mark_and_a_word_of_its_own(string theme)
    {
        await using var page = await demo.OpenAsync("help", scheme: theme == "light" ? ColorScheme.Light : ColorScheme.Dark);
        await page.Page.AddStyleTagAsync(new() { Content = "html { filter: grayscale(1) }" });
        var marks = page.Page.Locator(".help-table th.state .mark");
        var words = await page.Page.Locator(".help-table th.state").AllInnerTextsAsync();
        Assert.Equal(words.Count, words.Distinct(StringComparer.Ordinal).Count());
        var pictures = new List<string>();
        for (var i = 0; i < await marks.CountAsync(); i++) pictures.Add(Convert.ToBase64String(await marks.Nth(i).ScreenshotAsync()));
        Assert.Equal(7, pictures.Count);
        await page.KeepPictureAsync($"help-grey-{theme}");
        // Pixels of the 18 px mark whose lightness differs by a fifth of the whole range; the closest pair of shapes must differ in a dozen.
        var closest = await page.Page.EvaluateAsync<int>("""
            async pictures => {
                const data = await Promise.all(pictures.map(async p => {
                    const image = await createImageBitmap(new Blob([Uint8Array.from(atob(p), c => c.charCodeAt(0))], { type: 'image/png' }));
                    const canvas = new OffscreenCanvas(18, 18), c = canvas.getContext('2d');
                    c.drawImage(image, 0, 0, 18, 18);
                    return c.getImageData(0, 0, 18, 18).data;
                }));
                let least = Infinity;
                for (let a = 0; a < data.length; a++) for (let b = a + 1; b < data.length; b++) {
                    let n = 0;
                    for (let i = 0; i < data[a].length; i += 4) if (Math.abs(data[a][i] - data[b][i]) > 51) n++;
                    least = Math.min(least, n);
                }
                return least;
            }
            """, pictures);
        Assert.True(closest >= 12, $"{theme}: two marks differ in {closest} pixels only.");
    }
}
