using System.Globalization;
using System.Text.Json;
using System.Web;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Host.Api;
using CellWatch.Host.Bench;
using CellWatch.Host.CommandLine;
using CellWatch.Log.BenchRecords;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.Logging;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>A builder without a page: the whole project, from intake to the first DC charge, by commands against a service. Only time is moved by the test.</summary>
public sealed class CommandLineProjectTests : IAsyncLifetime
{
    private readonly string folder = Directory.CreateTempSubdirectory("by-command-").FullName;
    private readonly StepClock clock = new();
    private WebApplication app = null!;

    public async Task InitializeAsync()
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.WebHost.ConfigureKestrel(kestrel => kestrel.Listen(System.Net.IPAddress.Loopback, 0));
        builder.Services.AddProblemDetails();
        builder.Services.AddBench(PetrelProject.Site("test"), () => SqliteRecordStore.Open(Path.Combine(folder, "petrel.cellwatch")), clock, simulated: true);
        app = builder.Build();
        app.UseLoopbackOnly();
        app.MapBenchApi(LoopbackOnly.CommandFilter, LoopbackOnly.OwnPagesFilter);
        await app.StartAsync();
    }

    public async Task DisposeAsync()
    {
        await app.DisposeAsync();
        Directory.Delete(folder, recursive: true);
    }

    [Fact]
    public async Task The_petrel_goes_from_intake_to_its_first_dc_charge_by_commands_alone()
    {
        var all = new PetrelProject().Steps().ToList();
        var steps = all.Take(all.FindIndex(s => s.Path == "gates/15/prove") + 1).ToList();
        var found = new List<string>();
        foreach (var step in steps)
        {
            clock.Now = step.At;
            var (code, output, error) = await Run(await CommandOf(step));
            if (step.Path == "proofs/stack" && code == ExitCode.BadInput && error.Length == 0) found.Add(output);
            else Assert.True(code == ExitCode.Ok, $"{step.Path} at {step.At:yyyy-MM-dd}: {output}{error}");
        }

        // The first look at one connector finds two leads exchanged; the command says so, also by its exit code.
        Assert.Contains("exchanged", Assert.Single(found), StringComparison.Ordinal);
        var (_, gates, _) = await Run(["gates"]);
        var lines = gates.Split('\n');
        for (var number = 1; number <= 15; number++) Assert.Contains(lines, l => l.StartsWith(string.Create(CultureInfo.InvariantCulture, $"{number,2}  PROVEN"), StringComparison.Ordinal));
        Assert.Contains(lines, l => l.StartsWith("16  OPEN", StringComparison.Ordinal));
        var report = Path.Combine(folder, "charge.pdf");
        Assert.Equal(ExitCode.Ok, (await Run(["report", "charge", "first DC charge", "--format", "pdf", "--out", report])).Code);
        Assert.True(new FileInfo(report).Length > 5_000);
        Assert.Equal(4, JsonDocument.Parse((await Run(["show", "modules/B07/files"])).Output).RootElement.GetArrayLength());
    }

    /// <summary>The command a person would type for a step; what is long comes from a file.</summary>
    private async Task<string[]> CommandOf(ProjectStep step)
    {
        if (step.Body is byte[] picture)
        {
            var query = HttpUtility.ParseQueryString(step.Path.Split('?')[1]);
            var file = Path.Combine(folder, query["name"]!);
            await File.WriteAllBytesAsync(file, picture);
            string[] joint = query["joint"] is { } number ? ["--joint", number] : [];
            return ["file", step.Path.Split('/')[1], file, "--caption", query["caption"]!, "--about", query["about"]!, "--by", query["by"]!, .. joint];
        }

        using var body = JsonDocument.Parse(JsonSerializer.Serialize(step.Body, RecordJson.Options));
        var (by, entry) = (body.RootElement.GetProperty("by").GetString()!, body.RootElement.GetProperty("entry"));
        if (step.Path == "proofs/stack")
            return ["stack", entry.GetProperty("module").GetString()!, .. entry.GetProperty("readingsV").EnumerateArray().Select(v => v.GetRawText()), "--by", by];
        string[] said = [entry.GetRawText()];
        if (said[0].Length > 2_000)
        {
            var file = Path.Combine(folder, "entry.json");
            await File.WriteAllTextAsync(file, said[0]);
            said = ["--file", file];
        }

        return ["enter", step.Path, .. said, "--by", by, "--based-on", body.RootElement.GetProperty("basedOn").GetRawText()];
    }

    private async Task<(int Code, string Output, string Error)> Run(string[] args)
    {
        using StringWriter output = new(), error = new();
        var code = await BenchCommand.Create().Parse([.. args, "--at", app.Urls.First()]).InvokeAsync(new System.CommandLine.InvocationConfiguration { Output = output, Error = error });
        return (code, output.ToString(), error.ToString());
    }
}
