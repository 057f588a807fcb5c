using System.CommandLine;
using CellWatch.Host.Site;

namespace CellWatch.Host.CommandLine;

/// <summary><c>check FILE</c>: says everything that is wrong with a site file, or what it describes.</summary>
public static class CheckCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var file = new Argument<FileInfo>("FILE") { Description = "The site file" };
        var command = new Command("check", "Checks a site file; names file, line, value, allowed range and the nearest valid name") { file };
        command.SetAction(result => Run(result.GetValue(file)!, result.InvocationConfiguration.Output, result.InvocationConfiguration.Error));
        return command;
    }

    private static int Run(FileInfo file, TextWriter output, TextWriter error)
    {
        if (SiteArgument.Read(file, error) is not { } site) return ExitCode.BadInput;
        output.WriteLine(SiteSummary.Of(site));
        return ExitCode.Ok;
    }
}
