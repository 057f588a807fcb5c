using System.Diagnostics;

namespace CellWatch.EndToEnd.Tests.Support;

/// <summary>Independent processes around the service; each ends with its test.</summary>
public sealed class Writers : IDisposable
{
    private readonly List<Process> _processes = [];

    /// <summary>A bash process that prints at a terminal four times a second.</summary>
    public Process Print(string terminal, string print) =>
        Start("bash", "-c", $"exec 3<>'{terminal}'; while {print} >&3; do sleep 0.25; done");

    /// <summary>Starts a program whose output goes nowhere.</summary>
    public Process Start(string program, params string[] arguments)
    {
        var process = Process.Start(new ProcessStartInfo(ToolFactAttribute.PathOf(program) ?? program, arguments) { UseShellExecute = false })!;
        _processes.Add(process);
        return process;
    }

    /// <summary>Ends one.</summary>
    public static void End(Process process)
    {
        if (!process.HasExited) process.Kill(entireProcessTree: true);
        process.WaitForExit();
    }

    public void Dispose()
    {
        foreach (var process in _processes)
        {
            End(process);
            process.Dispose();
        }
    }
}
