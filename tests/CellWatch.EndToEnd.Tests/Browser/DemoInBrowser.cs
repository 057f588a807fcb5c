using CellWatch.Dashboard.Layout;
using CellWatch.EndToEnd.Tests.Support;
using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>One demo and one browser for all tests of pages; the demo plays in a process of its own, as a person starts it.</summary>
public sealed class DemoInBrowser : IAsyncLifetime
{
    /// <summary>Name of the environment variable with the folder in which pictures of every page are kept; without it none is.</summary>
    public const string PicturesVariable = "CELLWATCH_PICTURES";

    private IPlaywright? _playwright;
    private IBrowser? _browser;

    public ServiceProcess Demo { get; private set; } = null!;

    /// <summary>Every page of the rail, those of later builds included.</summary>
    public static IEnumerable<string> Paths => PageNames.All.Select(p => p.Path);

    public async Task InitializeAsync()
    {
        if (Chromium.Path is null) return;
        Demo = StartDemo(ServiceProcess.FreePort());
        _playwright = await Playwright.CreateAsync();
        // No sandbox: in a container the tests are run as root. Nothing but this demo is opened.
        _browser = await _playwright.Chromium.LaunchAsync(new() { ExecutablePath = Chromium.Path, Args = ["--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update", "--disable-sync", "--no-first-run"] });
        await Demo.WaitForStateAsync(s => s["summary"]?["knownCells"]?.GetValue<int>() == 108, "all cells known", 90);
    }

    public async Task DisposeAsync()
    {
        if (_browser is not null) await _browser.DisposeAsync();
        _playwright?.Dispose();
        if (Demo is not null) await Demo.DisposeAsync();
    }

    public static ServiceProcess StartDemo(int port) => ServiceProcess.Start(port, "demo", "--port", $"{port}", "--mqtt-port", "-1", "--speed", "1");

    /// <summary>Opens a page of a program in which no first scan will come.</summary>
    public Task<PageUnderTest> OpenEmptyAsync(string path, ServiceProcess program) => OpenAsync(path, demo: program, empty: true);

    /// <summary>Opens a page and waits until it lives: the circuit has come up and the page has its first sentence.</summary>
    public async Task<PageUnderTest> OpenAsync(string path, int width = 1280, int height = 800, ColorScheme scheme = ColorScheme.Light, ServiceProcess? demo = null, bool empty = false, string? script = null)
    {
        var context = await _browser!.NewContextAsync(new() { ViewportSize = new() { Width = width, Height = height }, ColorScheme = scheme, ReducedMotion = ReducedMotion.Reduce });
        if (script is not null) await context.AddInitScriptAsync(script);
        var page = await context.NewPageAsync();
        var opened = new PageUnderTest(context, page, (demo ?? Demo).Port);
        await opened.GoAsync(path, empty);
        return opened;
    }
}

/// <summary>The collection of all tests that share the demo.</summary>
[CollectionDefinition(Name)]
public sealed class BrowserCollection : ICollectionFixture<DemoInBrowser>
{
    public const string Name = "browser";
}
