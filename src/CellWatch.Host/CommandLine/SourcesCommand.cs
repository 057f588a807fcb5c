using System.CommandLine;
using CellWatch.Core.Sources;

namespace CellWatch.Host.CommandLine;

/// <summary><c>sources</c>: every method behind the figures, with where it comes from and what it was checked against.</summary>
public static class SourcesCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var command = new Command("sources", "Prints every method behind the figures, with its source and what it was checked against");
        command.SetAction(result =>
        {
            result.InvocationConfiguration.Output.Write(SourceList.Render());
            return ExitCode.Ok;
        });
        return command;
    }
}
