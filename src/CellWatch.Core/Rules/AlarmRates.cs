namespace CellWatch.Core.Rules;

/// <summary>
/// Rates of alarms: flood (more than 10 in 10 min, over when under 5), chattering (3 within a minute), share by priority. Windows
/// are half open (t−600 s, t]. Figures as commonly quoted from ISA-18.2 / IEC 62682; the standards themselves were not opened.
/// </summary>
internal sealed class AlarmRates
{
    private const long MinuteUs = 60_000_000;
    private const long TenMinutesUs = 10 * MinuteUs;
    /// <summary>A day, µs.</summary>
    public const long DayUs = 24L * 3600 * 1_000_000;
    private const int Most = 4096;

    private readonly Queue<(long AtUs, int Row, int Place, AlarmPriority Priority)> _day = new();
    private bool _flood;

    /// <summary>Notes one activation.</summary>
    public void Raised(long nowUs, int row, int place, AlarmPriority priority)
    {
        if (_day.Count == Most) _day.Dequeue();
        _day.Enqueue((nowUs, row, place, priority));
    }

    /// <summary>Activations in the window that ends now.</summary>
    private int Within(long nowUs, long windowUs) => _day.Count(a => a.AtUs > nowUs - windowUs && a.AtUs <= nowUs);

    /// <summary>In the last ten minutes.</summary>
    public int InTenMinutes(long nowUs) => Within(nowUs, TenMinutesUs);

    /// <summary>In the last day.</summary>
    public int InDay(long nowUs)
    {
        while (_day.TryPeek(out var oldest) && oldest.AtUs <= nowUs - DayUs) _day.Dequeue();
        return _day.Count;
    }

    /// <summary>Whether there is a flood; keeps its own hysteresis, so ask once a published state.</summary>
    public bool IsFlood(long nowUs)
    {
        var count = InTenMinutes(nowUs);
        _flood = _flood ? count >= 5 : count > 10;
        return _flood;
    }

    /// <summary>Alarms that were raised three times within one minute during the last day.</summary>
    public List<(int Row, int Place)> Chattering()
    {
        var found = new List<(int, int)>();
        foreach (var alarm in _day.GroupBy(a => (a.Row, a.Place)))
        {
            var times = alarm.Select(a => a.AtUs).ToArray();
            for (var i = 2; i < times.Length; i++)
            {
                if (times[i] - times[i - 2] >= MinuteUs) continue;
                found.Add(alarm.Key);
                break;
            }
        }

        return found;
    }

    /// <summary>The alarms raised most often in the last day, with their count.</summary>
    public List<(int Row, int Place, int Count)> Repeaters(int most) =>
        [.. _day.GroupBy(a => (a.Row, a.Place)).Select(g => (g.Key.Row, g.Key.Place, g.Count())).OrderByDescending(x => x.Item3).ThenBy(x => x.Row).ThenBy(x => x.Place).Take(most)];

    /// <summary>Activations of the last day by priority: low, medium, high.</summary>
    public (int Low, int Medium, int High) ByPriority() =>
        (_day.Count(a => a.Priority == AlarmPriority.Low), _day.Count(a => a.Priority == AlarmPriority.Medium), _day.Count(a => a.Priority == AlarmPriority.High));
}
