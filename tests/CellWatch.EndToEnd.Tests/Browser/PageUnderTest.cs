using Microsoft.Playwright;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>A page in a browser of its own, with everything it complained of.</summary>
public sealed class PageUnderTest : IAsyncDisposable
{
    private const int PatienceMs = 20_000;

    private readonly IBrowserContext _context;
    private readonly int _port;

    public PageUnderTest(IBrowserContext context, IPage page, int port)
    {
        (_context, Page, _port) = (context, page, port);
        page.SetDefaultTimeout(PatienceMs);
        page.Console += (_, message) =>
        {
            if (message.Type == "error") Complaints.Add(message.Text);
        };
        page.PageError += (_, error) => Complaints.Add(error);
        page.Request += (_, request) =>
        {
            if (!request.Url.StartsWith(Base, StringComparison.Ordinal) && !request.Url.StartsWith("data:", StringComparison.Ordinal) && !request.Url.StartsWith("blob:", StringComparison.Ordinal))
                Complaints.Add($"asked outside: {request.Url}");
        };
    }

    public IPage Page { get; }

    /// <summary>Errors of its scripts, and requests that left the host.</summary>
    public List<string> Complaints { get; } = [];

    private string Base => $"http://localhost:{_port}/";

    public async Task GoAsync(string path, bool empty = false)
    {
        await Page.GotoAsync(Base + path, new() { WaitUntil = WaitUntilState.DOMContentLoaded });
        // The circuit is up when the layout has registered itself; pages that read the log have their sentence a little later.
        await Page.WaitForFunctionAsync("() => document.querySelector('.verdict .say')?.textContent.trim() && document.documentElement.dataset.live === 'yes'");
        if (empty) return;
        await Page.WaitForFunctionAsync("() => !/^(Reading|Ŕéáđíñğ|No scan yet|Ñó šçáñ ýéŧ)/.test(document.querySelector('.verdict .say').textContent.trim())");
    }

    public Task<string> TextAsync(string selector) => Page.Locator(selector).First.InnerTextAsync();

    /// <summary>Whether something becomes true while the page settles.</summary>
    public async Task<bool> BecomesAsync(string expression)
    {
        try
        {
            await Page.WaitForFunctionAsync($"() => {expression}", null, new() { Timeout = 5_000 });
            return true;
        }
        catch (TimeoutException)
        {
            return false;
        }
    }

    public ValueTask DisposeAsync() => _context.DisposeAsync();

    /// <summary>Keeps a picture where the environment asks for pictures.</summary>
    public async Task KeepPictureAsync(string name)
    {
        if (Environment.GetEnvironmentVariable(DemoInBrowser.PicturesVariable) is not { Length: > 0 } folder) return;
        Directory.CreateDirectory(folder);
        await Page.ScreenshotAsync(new() { Path = Path.Combine(folder, name + ".png") });
    }
}
