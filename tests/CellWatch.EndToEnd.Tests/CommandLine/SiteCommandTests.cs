using CellWatch.EndToEnd.Tests.Support;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.CommandLine;

public class SiteCommandTests
{
    [Fact]
    public async Task New_writes_a_commented_file_that_check_passes_without_108_channels_being_typed()
    {
        using var folder = new TemporaryFolder();
        var file = Path.Combine(folder.Path, "site.json");
        // site, modules, topology, sensors, cell type, capacity, cut-off; then a text-line front end on a port that is not there.
        const string answers = "harbour\nB01-B18\n6S2P\n2\n1\n110\nred button on the station\n1\nB01-B18\n/dev/ttyNONE\n1\nyes\n";

        var (made, output, error) = await ServiceProcess.RunAsync(answers, "new", file);
        Assert.True(made == 0, output + error);
        var text = await File.ReadAllTextAsync(file);
        Assert.Contains("// The hand cut-off", text, StringComparison.Ordinal);
        Assert.True(text.Length < 3000, "The file stays short enough to be read.");
        Assert.True(File.Exists(Path.Combine(folder.Path, "site.schema.json")));

        var (checkedCode, summary, _) = await ServiceProcess.RunAsync(null, "check", file);
        Assert.Equal(0, checkedCode);
        Assert.Contains("18 modules, 108 measured cells", summary, StringComparison.Ordinal);
        Assert.Contains("more than 60 V DC can kill", summary, StringComparison.Ordinal);
    }

    [Fact]
    public async Task New_never_writes_over_a_file_unasked()
    {
        using var folder = new TemporaryFolder();
        var file = folder.Write("site.json", "mine");

        var (exitCode, _, error) = await ServiceProcess.RunAsync("", "new", file);

        Assert.Equal(2, exitCode);
        Assert.Contains("exists already", error, StringComparison.Ordinal);
        Assert.Equal("mine", await File.ReadAllTextAsync(file));
    }

    [Fact]
    public async Task Answers_that_end_early_write_nothing()
    {
        using var folder = new TemporaryFolder();
        var (exitCode, _, error) = await ServiceProcess.RunAsync("harbour\n", "new", Path.Combine(folder.Path, "site.json"));

        Assert.Equal(2, exitCode);
        Assert.Contains("Nothing was written", error, StringComparison.Ordinal);
        Assert.Empty(Directory.GetFiles(folder.Path));
    }

    [Fact]
    public async Task Serve_refuses_a_site_file_with_a_typo_and_starts_nothing()
    {
        using var folder = new TemporaryFolder();
        var file = folder.Write("site.json", "{\n  \"site\": \"x\",\n  \"modulse\": []\n}\n");

        var (exitCode, _, error) = await ServiceProcess.RunAsync(null, "serve", "--site", file);

        Assert.Equal(2, exitCode);
        Assert.Contains("site.json:3", error, StringComparison.Ordinal);
        Assert.Contains("did you mean 'modules'?", error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task Serve_without_a_site_offers_to_make_one()
    {
        using var folder = new TemporaryFolder();
        var (exitCode, _, error) = await ServiceProcess.RunAsync(null, "serve", "--site", Path.Combine(folder.Path, "none.json"));

        Assert.Equal(2, exitCode);
        Assert.Contains("cellwatch new", error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task A_wrong_option_shows_what_is_possible()
    {
        var (exitCode, output, error) = await ServiceProcess.RunAsync(null, "demo", "--story", "holiday");

        Assert.Equal(1, exitCode);
        Assert.Contains("first-charge", output + error, StringComparison.Ordinal);
    }
}
