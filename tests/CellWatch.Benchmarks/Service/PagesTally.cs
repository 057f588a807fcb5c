namespace CellWatch.Benchmarks.Service;

/// <summary>Gathers what the pages saw: delays from the wire to the screen, and how old the data of each page grew before the next came.</summary>
/// <param name="wire">Knows when each round left.</param>
/// <param name="pages">Number of pages.</param>
internal sealed class PagesTally(WireLoad wire, int pages)
{
    private readonly List<double> _delayMs = [];
    private readonly List<double> _drawMs = [];
    private readonly long[] _shownSentMs = new long[pages];
    private readonly double[] _oldestMs = new double[pages];
    private readonly int[] _silences = new int[pages];
    private int[] _silencesBefore = new int[pages];

    /// <summary>Takes what each page has kept.</summary>
    public async Task TakeAsync(List<PageProbe> from)
    {
        for (var page = 0; page < pages; page++)
        {
            var look = await from[page].LookAsync();
            _silences[page] = look.Silences;
            _drawMs.AddRange(look.DrawMs);
            for (var k = 0; k + 1 < look.Seen.Length; k += 2) Seen(page, (int)look.Seen[k], (long)look.Seen[k + 1]);
        }
    }

    /// <summary>Leaves out all that was seen so far: pages opening, code not yet compiled.</summary>
    public void Forget()
    {
        _delayMs.Clear();
        _drawMs.Clear();
        Array.Clear(_oldestMs);
        _silencesBefore = [.. _silences];
    }

    /// <summary>Says what was found.</summary>
    public void Report(Action<FormattableString> say)
    {
        if (_delayMs.Count == 0)
        {
            say($"no round was seen on a page");
            return;
        }

        _delayMs.Sort();
        _drawMs.Sort();
        Array.Sort(_oldestMs);
        say($"last byte of a round to its pixel, {_delayMs.Count} rounds: median {Part(_delayMs, 0.5):F0} ms, p95 {Part(_delayMs, 0.95):F0} ms, longest {_delayMs[^1]:F0} ms (limit p95 500 ms)");
        say($"drawing of a picture by our scripts, {_drawMs.Count} pictures: median {Part(_drawMs, 0.5):F1} ms, p95 {Part(_drawMs, 0.95):F1} ms, longest {_drawMs[^1]:F1} ms (limit 50 ms)");
        say($"oldest data that stood on a page: median page {_oldestMs[pages / 2]:F0} ms, worst page {_oldestMs[^1]:F0} ms; pages that showed NO DATA: {_silences.Where((s, page) => s > _silencesBefore[page]).Count()} of {pages} (while they were all being opened: {_silencesBefore.Count(s => s > 0)})");
    }

    private static double Part(List<double> sorted, double part) => sorted[(int)(part * (sorted.Count - 1))];

    private void Seen(int page, int round, long seenMs)
    {
        if (wire.SentUnixMs(round, seenMs) is not { } sentMs) return;
        _delayMs.Add(seenMs - sentMs);
        if (_shownSentMs[page] > 0) _oldestMs[page] = Math.Max(_oldestMs[page], seenMs - _shownSentMs[page]);
        _shownSentMs[page] = sentMs;
    }
}
