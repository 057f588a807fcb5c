using CellWatch.Core.Live;
using CellWatch.Core.Rules;

namespace CellWatch.Dashboard.Layout;

/// <summary>How loud the page is about the most urgent alarms.</summary>
public static class AlarmSound
{
    /// <summary>2: sounds, because one of the most urgent is active and nobody has seen it; 1: a low reminder, all that are active were seen; 0: silent.</summary>
    public static int LevelOf(PackState? state)
    {
        var level = 0;
        foreach (var alarm in state?.Alarms ?? [])
        {
            if (alarm.Priority != AlarmPriority.High || !alarm.IsActive) continue;
            if (alarm.State == AlarmState.Unacknowledged) return 2;
            if (alarm.State == AlarmState.Acknowledged) level = 1;
        }

        return level;
    }
}
