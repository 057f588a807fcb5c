using CellWatch.Host.CommandLine;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>The <c>bench</c> command against a running project.</summary>
public sealed class BenchCommandTests : IDisposable
{
    private readonly string folder = Directory.CreateTempSubdirectory("bench-command-").FullName;

    [Fact]
    public async Task The_sample_project_is_made_with_one_command()
    {
        var file = Path.Combine(folder, "petrel.cellwatch");
        var (code, output, _) = await Run("petrel", "--file", file, "--make-only");
        Assert.Equal(ExitCode.Ok, code);
        Assert.Contains("simulated", output, StringComparison.Ordinal);
        Assert.True(new FileInfo(file).Length > 100_000);
        Assert.Empty(Directory.GetFiles(folder, "*.making*"));
    }

    [Fact]
    public async Task Without_a_service_it_says_so_and_how_to_start_one()
    {
        var (code, _, error) = await Run("gates", "--at", "http://127.0.0.1:9");
        Assert.Equal(ExitCode.Failed, code);
        Assert.Contains("No service answers", error, StringComparison.Ordinal);
    }

    [Fact]
    public async Task An_address_that_is_none_is_refused_in_a_sentence()
    {
        var (code, _, error) = await Run("gates", "--at", "workshop");
        Assert.Equal(ExitCode.Usage, code);
        Assert.Contains("'workshop' is no address", error, StringComparison.Ordinal);
    }

    public void Dispose() => Directory.Delete(folder, recursive: true);

    private static async Task<(int Code, string Output, string Error)> Run(params string[] args)
    {
        using StringWriter output = new(), error = new();
        var code = await BenchCommand.Create().Parse(args).InvokeAsync(new System.CommandLine.InvocationConfiguration { Output = output, Error = error });
        return (code, output.ToString(), error.ToString());
    }
}
