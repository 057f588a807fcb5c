using System.CommandLine;
using CellWatch.Core.Wording;
using CellWatch.Dashboard.Texts;
using CellWatch.Host.Pipeline;
using CellWatch.Host.Site;

namespace CellWatch.Host.CommandLine;

/// <summary><c>serve --site FILE</c>: reads, judges, keeps, publishes and shows a real pack.</summary>
public static class ServeCommand
{
    /// <summary>Name of the site file that is looked for when none is named.</summary>
    public const string UsualFile = "site.json";

    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var file = new Option<FileInfo?>("--site", "-s") { Description = $"The site file; left out, {UsualFile} in this folder" };
        var port = new Option<int?>("--port") { Description = "Port of the pages; left out, the one in the site file" };
        var command = new Command("serve", "Reads the instruments of a site file, judges, keeps, publishes and serves the pages") { file, port };
        command.SetAction((result, cancellation) => RunAsync(result.GetValue(file), result.GetValue(port), result.InvocationConfiguration, cancellation));
        return command;
    }

    // The first start of all: no site file yet, and none was named. A named one that is missing is a fault and ends the command.
    private static async Task<int> GuideAsync(int port, InvocationConfiguration console, CancellationToken cancellation)
    {
        console.Error.WriteLine($"There is no {UsualFile} here and none was named, so nothing is measured.");
        console.Output.WriteLine(FirstRunWords.Plain());
        try
        {
            await using var app = GuideHost.Build(port);
            await app.StartAsync(cancellation);
            console.Output.WriteLine($"The same as a page: http://localhost:{port}/first-run  Stop with Ctrl+C.");
            await app.WaitForShutdownAsync(cancellation);
        }
        catch (OperationCanceledException)
        {
            // Asked to stop.
        }
        catch (IOException fault) when (fault.InnerException is Microsoft.AspNetCore.Connections.AddressInUseException)
        {
            // The guide stands above; without a free port it is not shown as a page.
        }

        return ExitCode.BadInput;
    }

    private static async Task<int> RunAsync(FileInfo? named, int? port, InvocationConfiguration console, CancellationToken cancellation)
    {
        var file = named ?? new FileInfo(UsualFile);
        if (named is null && !file.Exists) return await GuideAsync(port ?? new WebEntry().Port, console, cancellation);
        if (SiteArgument.Read(file, console.Error) is not { } site) return ExitCode.BadInput;
        Texts.Speak(SiteLanguage.Read(site.Document.Language, site.Folder));
        var plan = SitePlan.Of(site, file.FullName);
        return await ServiceRun.RunAsync(plan with { WebPort = port ?? plan.WebPort }, console, cancellation);
    }
}
