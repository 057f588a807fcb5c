using CellWatch.Core.History;
using CellWatch.Dashboard.Strips;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>The scripts' own clock on the night summer time ends in central Europe (25 October 2026, 01:00 UTC) and begins (29 March).</summary>
[Collection(BrowserCollection.Name)]
public sealed class ClockTests(DemoInBrowser demo)
{
    private static readonly TimeZoneInfo Berlin = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");

    [BrowserFact]
    public async Task The_cursor_and_the_taper_tell_the_two_like_hours_apart()
    {
        await using var page = await demo.OpenAsync("help");
        var range = new TimeRange(Ms("2026-10-24T23:50:00Z"), Ms("2026-10-25T02:10:00Z"));
        var said = await page.Page.EvaluateAsync<string[]>("""
            async ({ zones, at }) => {
              const { clock } = await import('/_content/CellWatch.Dashboard/clock.js');
              return at.map(t => clock(zones, t, 0, 19));
            }
            """, new { zones = TimeTicks.Zones(range, Berlin), at = new[] { Ms("2026-10-24T23:59:59Z"), Ms("2026-10-25T00:30:00Z"), Ms("2026-10-25T01:30:00Z"), Ms("2026-10-25T02:00:00Z") } });
        Assert.Equal(["2026-10-25 01:59:59", "2026-10-25 02:30:00 UTC+2", "2026-10-25 02:30:00 UTC+1", "2026-10-25 03:00:00"], said);

        var labels = await page.Page.EvaluateAsync<string[]>("""
            async ({ zones, from, to }) => {
              const { draw } = await import('/_content/CellWatch.Dashboard/charts.js');
              const host = document.createElement('div');
              host.style.width = '1100px';
              document.querySelector('main').append(host);
              draw(host, 'taper', JSON.stringify({ from, to, now: from + 600000, zones, plateau: 60, current: 60, end: 5, fallFrom: null, fit: ['', ''], measured: [], measuredWords: '', gapMs: 1e4, arrival: '' }), '');
              return [...host.querySelectorAll('text')].map(t => t.textContent).filter(t => /^\d\d:\d\d/.test(t));
            }
            """, new { zones = TimeTicks.Zones(range, Berlin), from = range.FromUnixMs, to = range.ToUnixMs });
        Assert.Equal(["02:00 UTC+2", "02:30 UTC+2", "02:00 UTC+1", "02:30 UTC+1", "03:00"], labels);
    }

    [BrowserFact]
    public async Task In_spring_the_clock_goes_from_two_to_three_without_a_zone()
    {
        await using var page = await demo.OpenAsync("help");
        var range = new TimeRange(Ms("2026-03-29T00:30:00Z"), Ms("2026-03-29T01:30:00Z"));
        var said = await page.Page.EvaluateAsync<string[]>("""
            async ({ zones, at }) => { const { clock } = await import('/_content/CellWatch.Dashboard/clock.js'); return at.map(t => clock(zones, t)); }
            """, new { zones = TimeTicks.Zones(range, Berlin), at = new[] { Ms("2026-03-29T00:59:00Z"), Ms("2026-03-29T01:00:00Z") } });
        Assert.Equal(["01:59", "03:00"], said);
    }

    private static long Ms(string at) => DateTimeOffset.Parse(at, System.Globalization.CultureInfo.InvariantCulture).ToUnixTimeMilliseconds();
}
