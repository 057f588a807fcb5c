using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.Serve;

/// <summary><c>serve</c> where nobody has made a site file yet.</summary>
public sealed class FirstStartTests
{
    [Fact]
    public async Task Without_a_site_the_guide_is_printed_and_shown_as_a_page_and_nothing_pretends_to_measure()
    {
        using var folder = new TemporaryFolder();
        var port = ServiceProcess.FreePort();
        await using var service = ServiceProcess.StartIn(folder.Path, port, "serve", "--port", $"{port}");
        var page = await service.GetWhenUpAsync("/");
        Assert.Contains("What have you got: a front end, a log file, or nothing yet?", page, StringComparison.Ordinal);
        Assert.Contains("cellwatch new site.json", page, StringComparison.Ordinal);
        Assert.Contains("First, before anything is connected", service.Output, StringComparison.Ordinal);
        Assert.Contains("NO DATA", await service.Http.GetStringAsync("/whole-pack"), StringComparison.Ordinal);
        Assert.Empty(Directory.EnumerateFileSystemEntries(folder.Path));
    }

    [Fact]
    public async Task A_named_site_that_is_missing_ends_the_command_with_what_to_do()
    {
        var (code, _, error) = await ServiceProcess.RunAsync(null, "serve", "--site", "nowhere.json");
        Assert.Equal(2, code);
        Assert.Contains("cellwatch new nowhere.json", error, StringComparison.Ordinal);
    }
}
