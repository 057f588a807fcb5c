using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>Traces on the log of the shared demo: carpet, filter, names at the ends of lines, runs.</summary>
[Collection(BrowserCollection.Name)]
public sealed class TracesInBrowserTests(DemoInBrowser demo)
{
    [BrowserFact]
    public async Task The_carpet_is_drawn_read_by_keys_and_filtered_and_says_the_same_as_a_table()
    {
        await using var page = await OpenAsync("");
        Assert.Matches("Colours go from .* Farthest of 108 cells: B[0-9]{2}[.][1-6]", (await page.TextAsync(".carpet-say")).Replace('\u202f', ' '));
        // Something of every module is drawn: in each row of pixels there is a colour.
        Assert.Equal(0, await page.Page.EvaluateAsync<int>("""
            () => {
                const c = document.querySelector('.carpet canvas'), d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
                let empty = 0;
                for (let y = 0; y < c.height; y++) { let any = false; for (let x = 0; x < c.width && !any; x++) any = d[4 * (y * c.width + x) + 3] > 0; if (!any) empty++; }
                return empty;
            }
            """));
        await page.Page.Locator(".carpet").FocusAsync();
        await page.Page.Keyboard.PressAsync("ArrowDown");
        await page.Page.Keyboard.PressAsync("ArrowRight");
        Assert.Matches("B[0-9]{2}[.][1-6] (about|nothing|no value)", await page.TextAsync("[data-carpet-say]"));

        await page.Page.Locator(".carpet-head select").First.SelectOptionAsync("B07");
        await StoryDemo.UntilAsync(page, ".carpet-say", "Farthest of 6 cells: B07");
        Assert.Contains("module=B07", page.Page.Url, StringComparison.Ordinal);
        Assert.Equal(6, await page.Page.Locator(".cells-table tbody tr").CountAsync());
        await page.Page.Locator(".carpet-head select").Last.SelectOptionAsync("act-now");
        await StoryDemo.UntilAsync(page, ".carpet-block", "No cell of B07 to show with .ACT NOW.|Farthest of [0-9]+ cells?: B07");
        await page.GoAsync("traces?state=doubtfull&cells=B01.1");
        Assert.Contains("There is no state 'doubtfull'", await page.TextAsync("main"), StringComparison.Ordinal);
        Assert.Empty(page.Complaints);
    }

    [BrowserFact]
    public async Task Names_at_the_ends_of_six_lines_do_not_lie_on_each_other_on_a_desk_and_on_a_phone()
    {
        await using var page = await OpenAsync("?cells=B01.1,B02.2,B03.3,B04.4,B05.5,B06.6");
        foreach (var width in new[] { 1280, 360 })
        {
            await page.Page.SetViewportSizeAsync(width, 800);
            await page.Page.WaitForFunctionAsync("w => document.querySelector('.strips svg').getAttribute('width') <= w", width);
            Assert.Equal("", await page.Page.EvaluateAsync<string>("""
                () => {
                    const texts = [...document.querySelectorAll('.strips > svg text')].filter(t => /^(B[0-9]|all )/.test(t.textContent)).map(t => ({ say: t.textContent, box: t.getBoundingClientRect() }));
                    if (texts.length < 6) return `only ${texts.length} names`;
                    const faults = [];
                    const host = document.querySelector('.strips').getBoundingClientRect();
                    texts.forEach((a, i) => {
                        if (a.box.right > host.right + 1) faults.push(`${a.say} is cut off`);
                        // Fonts carry room above and below their letters: three pixels of it may overlap.
                        for (const b of texts.slice(i + 1)) if (a.box.left < b.box.right && b.box.left < a.box.right && a.box.top + 3 < b.box.bottom && b.box.top + 3 < a.box.bottom) faults.push(`${a.say} on ${b.say}`);
                    });
                    return faults.join(', ');
                }
                """));
        }
    }

    [BrowserFact]
    public async Task A_run_on_record_says_what_was_counted_and_opens_its_range_with_one_press()
    {
        await using var page = await OpenAsync("");
        var first = page.Page.Locator(".runs-table tbody tr").First;
        await first.WaitForAsync();
        var charge = page.Page.Locator(".runs-table tbody tr", new() { HasText = "recognised" }).First;
        Assert.Matches("[0-9]{4}-[0-9]{2}-[0-9]{2} [0-9]{2}:[0-9]{2}", await charge.InnerTextAsync());
        var was = page.Page.Url;
        await charge.GetByRole(AriaRole.Button).ClickAsync();
        await page.Page.WaitForFunctionAsync("was => location.href !== was && document.querySelector('.runs-table .here')", was);
        Assert.Contains("from=", page.Page.Url, StringComparison.Ordinal);
    }

    private async Task<PageUnderTest> OpenAsync(string query)
    {
        var page = await demo.OpenAsync("traces" + query);
        await page.Page.GetByRole(AriaRole.Button, new() { Name = "24 h", Exact = true }).ClickAsync();
        await page.Page.WaitForFunctionAsync("() => location.search.includes('from=') && document.querySelector('.carpet')?.dataset.drawn && document.querySelector('.strips')?.dataset.drawn === document.querySelector('.carpet').dataset.drawn");
        return page;
    }
}
