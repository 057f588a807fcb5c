using System.Globalization;
using System.Text.Json;
using CellWatch.Testing;
using Microsoft.Playwright;

namespace CellWatch.Benchmarks.Service;

/// <summary>What one look at a page gave.</summary>
/// <param name="Seen">Round and the instant it stood on the screen, ms since 1970, in turn.</param>
/// <param name="DrawMs">Time our scripts drew for each picture, ms.</param>
/// <param name="Silences">How often the page has turned itself to NO DATA since it was opened.</param>
internal sealed record PageLook(double[] Seen, double[] DrawMs, int Silences);

/// <summary>
/// One page in a Chromium context of its own, with a script beside the page's own that notes when a round is drawn and how long our
/// scripts drew. A round counts as seen in the first task after the frame in which it was painted.
/// </summary>
internal sealed class PageProbe : IAsyncDisposable
{
    private const string Script = """
        (() => {
          const kept = window.figures = { seen: [], drawMs: [], silences: 0 };
          let ours, last = -1, sum = 0;
          const timed = (host, name, then) => {
            const draw = host[name];
            host[name] = (...given) => {
              const from = performance.now();
              try { return draw.apply(host, given); } finally { sum += performance.now() - from; then?.(); }
            };
          };
          const readers = {
            'whole-pack': () => {
              const marks = document.querySelector('.rule')?._rule?.marks;
              return marks?.length > 1 && Number.isFinite(marks[0].v) && Number.isFinite(marks[1].v) ? (marks[0].v - marks[1].v) / CELL_STEP : NaN;
            },
            charging: () => {
              const said = document.querySelector('.charge-grid .more')?.textContent.match(/^\s*([\d.]+)\s*A/);
              return said ? (Number(said[1]) - FIRST_CURRENT) / CURRENT_STEP : NaN;
            },
          };
          const read = readers[location.pathname.slice(1)];
          const look = () => {
            const round = Math.round(read());
            if (!(round >= 0) || round === last) return;
            last = round;
            requestAnimationFrame(() => {
              const painted = new MessageChannel();
              painted.port1.onmessage = () => kept.seen.push(round, Date.now());
              painted.port2.postMessage(0);
            });
          };
          Object.defineProperty(window, 'cellwatch', {
            configurable: true,
            get: () => ours,
            set(given) {
              ours = given;
              ours.rule = { ...ours.rule };
              timed(ours, 'draw');
              timed(ours.rule, 'frame', look);
              const tick = ours.tick;
              ours.tick = (...given) => {
                if (sum > 0) kept.drawMs.push(sum);
                sum = 0;
                return tick(...given);
              };
            },
          });
          let silent = false;
          addEventListener('DOMContentLoaded', () => {
            if (location.pathname === '/charging') new MutationObserver(look).observe(document.body, { childList: true, characterData: true, subtree: true });
            new MutationObserver(() => {
              const now = document.documentElement.classList.contains('no-word');
              if (now && !silent) kept.silences++;
              silent = now;
            }).observe(document.documentElement, { attributes: true });
          });
          kept.take = () => {
            const taken = { seen: kept.seen, drawMs: kept.drawMs, silences: kept.silences };
            kept.seen = [];
            kept.drawMs = [];
            return taken;
          };
        })();
        """;

    private readonly IBrowserContext _context;
    private readonly IPage _page;
    private readonly ICDPSession _tools;
    private long _bytes;

    private PageProbe(IBrowserContext context, IPage page, ICDPSession tools) => (_context, _page, _tools) = (context, page, tools);

    /// <summary>Bytes that came over the page's WebSocket, as the browser hands them to the page.</summary>
    public long Bytes => Interlocked.Read(ref _bytes);

    public static Task<IBrowser> LaunchAsync(IPlaywright playwright)
    {
        var path = new[] { "/usr/bin/chromium", "/usr/bin/chromium-browser" }.FirstOrDefault(File.Exists) ?? throw new FileNotFoundException("No Chromium here (Debian: apt-get install chromium).");
        // No sandbox: in a container the tool runs as root. Nothing but this machine's own service is opened.
        return playwright.Chromium.LaunchAsync(new() { ExecutablePath = path, Args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--no-first-run"] });
    }

    /// <summary>Opens the page and waits until it lives.</summary>
    /// <param name="browser">The browser; each page has a context of its own in it.</param>
    /// <param name="port">Port of the service.</param>
    /// <param name="path">Path of the page without its slash.</param>
    /// <param name="painted">
    /// Whether the browser lays the page out and paints it. Twenty painted pages are twenty screens' work by software on the machine that
    /// also serves them, which is no figure of the service; an unpainted page takes every picture and runs every script all the same.
    /// </param>
    public static async Task<PageProbe> OpenAsync(IBrowser browser, int port, string path, bool painted)
    {
        var context = await browser.NewContextAsync(new() { ViewportSize = new() { Width = 1280, Height = 800 } });
        var page = await context.NewPageAsync();
        await page.AddInitScriptAsync(Script
            .Replace("CELL_STEP", ChargePattern.CellStepMv.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal)
            .Replace("FIRST_CURRENT", ChargePattern.FirstCurrentA.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal)
            .Replace("CURRENT_STEP", ChargePattern.CurrentStepA.ToString(CultureInfo.InvariantCulture), StringComparison.Ordinal));
        if (!painted) await page.AddInitScriptAsync("addEventListener('DOMContentLoaded', () => { document.body.style.contentVisibility = 'hidden'; });");
        var tools = await context.NewCDPSessionAsync(page);
        var probe = new PageProbe(context, page, tools);
        tools.Event("Network.webSocketFrameReceived").OnEvent += (_, frame) => probe.Count(frame);
        foreach (var part in new[] { "Network.enable", "HeapProfiler.enable", "Performance.enable" }) await tools.SendAsync(part);
        await page.GotoAsync($"http://localhost:{port.ToString(CultureInfo.InvariantCulture)}/{path}", new() { Timeout = 120_000, WaitUntil = WaitUntilState.DOMContentLoaded });
        await page.WaitForFunctionAsync("() => window.figures?.seen.length > 2", null, new() { Timeout = 120_000 });
        return probe;
    }

    /// <summary>Takes what the page's script has kept since the last look.</summary>
    public async Task<PageLook> LookAsync() =>
        (await _page.EvaluateAsync<JsonElement>("() => figures.take()")).Deserialize<PageLook>(JsonSerializerOptions.Web)!;

    /// <summary>JavaScript heap in use after a collection, bytes; and nodes of the document.</summary>
    public async Task<(double HeapBytes, double Nodes)> HeapAsync()
    {
        await _tools.SendAsync("HeapProfiler.collectGarbage");
        var used = (await _tools.SendAsync("Runtime.getHeapUsage"))!.Value.GetProperty("usedSize").GetDouble();
        return (used, (await MetricsAsync())["Nodes"]);
    }

    /// <summary>Chromium's own counters of the page: time of tasks, scripts, styles and layout, s, and more.</summary>
    public async Task<Dictionary<string, double>> MetricsAsync() => (await _tools.SendAsync("Performance.getMetrics"))!.Value.GetProperty("metrics").EnumerateArray()
        .ToDictionary(m => m.GetProperty("name").GetString()!, m => m.GetProperty("value").GetDouble(), StringComparer.Ordinal);

    public ValueTask DisposeAsync() => _context.DisposeAsync();

    private void Count(JsonElement? frame)
    {
        if (frame?.GetProperty("response") is not { } response) return;
        var text = response.GetProperty("payloadData").GetString()!;
        // Opcode 2 is a binary frame, which the browser's tools hand over in base 64 (Chrome DevTools Protocol, Network.WebSocketFrame).
        var bytes = response.GetProperty("opcode").GetInt32() == 2 ? (text.Length / 4 * 3) - text.AsSpan(Math.Max(0, text.Length - 2)).Count('=') : text.Length;
        Interlocked.Add(ref _bytes, bytes);
    }
}
