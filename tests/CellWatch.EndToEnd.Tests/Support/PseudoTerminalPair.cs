using System.Diagnostics;

namespace CellWatch.EndToEnd.Tests.Support;

/// <summary>Two joined pseudo-terminals made by socat: an independent process writes at one end, the service reads at the other.</summary>
public sealed class PseudoTerminalPair : IDisposable
{
    private readonly string _folder;
    private Process? _socat;

    public PseudoTerminalPair(string folder)
    {
        _folder = folder;
        Join();
    }

    /// <summary>The end the service opens.</summary>
    public string ServiceEnd => Path.Combine(_folder, "service");

    /// <summary>The end the board writes at.</summary>
    public string BoardEnd => Path.Combine(_folder, "board");

    /// <summary>Joins the ends (again).</summary>
    public void Join()
    {
        _socat = Process.Start(new ProcessStartInfo("socat", [$"pty,raw,echo=0,link={ServiceEnd}", $"pty,raw,echo=0,link={BoardEnd}"]) { UseShellExecute = false })!;
        var limit = Stopwatch.StartNew();
        while (!(File.Exists(ServiceEnd) && File.Exists(BoardEnd)))
        {
            if (limit.Elapsed > TimeSpan.FromSeconds(10)) throw new TimeoutException("socat made no pseudo-terminals.");
            Thread.Sleep(20);
        }
    }

    /// <summary>Pulls the plug: both ends vanish.</summary>
    public void Pull()
    {
        if (_socat is null) return;
        _socat.Kill();
        _socat.WaitForExit();
        _socat.Dispose();
        _socat = null;
        File.Delete(ServiceEnd);
        File.Delete(BoardEnd);
    }

    public void Dispose() => Pull();
}
