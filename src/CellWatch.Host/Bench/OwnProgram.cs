using System.Diagnostics;

namespace CellWatch.Host.Bench;

/// <summary>This program once more, as a process of its own: for work that is done once and whose memory shall end with it.</summary>
internal static class OwnProgram
{
    /// <summary>Runs a command of this program to its end.</summary>
    /// <param name="arguments">The command.</param>
    /// <param name="cancellation">Ends it.</param>
    /// <exception cref="InvalidDataException">It failed; the message is what it said.</exception>
    /// <exception cref="System.ComponentModel.Win32Exception">It could not be started.</exception>
    public static async Task RunAsync(IEnumerable<string> arguments, CancellationToken cancellation)
    {
        using var process = Process.Start(StartInfo(arguments)) ?? throw new InvalidDataException("A second process of this program did not start.");
        try
        {
            var said = process.StandardError.ReadToEndAsync(cancellation);
            await process.StandardOutput.ReadToEndAsync(cancellation);
            await process.WaitForExitAsync(cancellation);
            if (process.ExitCode != 0) throw new InvalidDataException($"'{string.Join(' ', process.StartInfo.ArgumentList)}' ended with {process.ExitCode}: {(await said).Trim()}");
        }
        finally
        {
            if (!process.HasExited) process.Kill(entireProcessTree: true);
        }
    }

    private static ProcessStartInfo StartInfo(IEnumerable<string> arguments)
    {
        // Started as a program of its own, or by the framework's; a test's host is neither.
        var name = typeof(OwnProgram).Assembly.GetName().Name;
        var running = Environment.ProcessPath ?? "dotnet";
        var own = Path.GetFileNameWithoutExtension(running) == name;
        var start = new ProcessStartInfo(own || Path.GetFileNameWithoutExtension(running) == "dotnet" ? running : "dotnet") { RedirectStandardOutput = true, RedirectStandardError = true };
        if (!own) start.ArgumentList.Add(Path.Combine(AppContext.BaseDirectory, name + ".dll"));
        foreach (var argument in arguments) start.ArgumentList.Add(argument);
        return start;
    }
}
