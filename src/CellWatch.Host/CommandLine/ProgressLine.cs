using System.Diagnostics;
using System.Globalization;

namespace CellWatch.Host.CommandLine;

/// <summary>A line of progress on standard error, for anything that takes longer than two seconds; silent where nobody looks.</summary>
public sealed class ProgressLine(TextWriter error, long? total)
{
    private static readonly TimeSpan QuietFor = TimeSpan.FromSeconds(2);
    private static readonly TimeSpan Every = TimeSpan.FromMilliseconds(250);

    private readonly long _started = Stopwatch.GetTimestamp();
    private readonly bool _isTerminal = !Console.IsErrorRedirected;
    private long _last;
    private bool _shown;

    /// <summary>Says how far it is, at most four times a second.</summary>
    public void Report(long done)
    {
        var elapsed = Stopwatch.GetElapsedTime(_started);
        if (!_isTerminal || elapsed < QuietFor || Stopwatch.GetElapsedTime(_last) < Every) return;
        _last = Stopwatch.GetTimestamp();
        _shown = true;
        if (total is > 0 and var all)
        {
            var share = Math.Clamp(done / (double)all, 0, 1);
            var leftS = share > 0 ? elapsed.TotalSeconds * (1 - share) / share : 0;
            error.Write(string.Create(CultureInfo.InvariantCulture, $"\r[{new string('=', (int)(share * 30)),-30}] {share:P0}, about {leftS:F0} s left  "));
        }
        else
        {
            error.Write(string.Create(CultureInfo.InvariantCulture, $"\r{done} done, {elapsed.TotalSeconds:F0} s  "));
        }
    }

    /// <summary>Takes the line away.</summary>
    public void Clear()
    {
        if (_shown) error.Write("\r" + new string(' ', 60) + "\r");
    }
}
