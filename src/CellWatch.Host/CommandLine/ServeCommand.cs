using System.CommandLine;
using CellWatch.Host.Pipeline;

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
        var command = new Command("serve", "Reads the instruments of a site file, judges, keeps, publishes and serves the pages") { file };
        command.SetAction((result, cancellation) => RunAsync(result.GetValue(file), result.InvocationConfiguration, cancellation));
        return command;
    }

    private static async Task<int> RunAsync(FileInfo? named, InvocationConfiguration console, CancellationToken cancellation)
    {
        var file = named ?? new FileInfo(UsualFile);
        if (named is null && !file.Exists)
        {
            console.Error.WriteLine($"There is no {UsualFile} here and none was named. Make one with 'cellwatch new {UsualFile}', or see the simulated pack with 'cellwatch demo'.");
            return ExitCode.BadInput;
        }

        if (SiteArgument.Read(file, console.Error) is not { } site) return ExitCode.BadInput;
        return await ServiceRun.RunAsync(SitePlan.Of(site, file.FullName), console, cancellation);
    }
}
