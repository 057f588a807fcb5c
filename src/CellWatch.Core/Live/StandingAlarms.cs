using CellWatch.Core.Rules;

namespace CellWatch.Core.Live;

/// <summary>Which alarms stand for themselves, and which of them comes first.</summary>
public static class StandingAlarms
{
    /// <summary>Alarms a person should look at: not grouped under another, not put aside.</summary>
    public static IEnumerable<AlarmView> Of(PackState? state) => (state?.Alarms ?? [])
        .Where(a => a.GroupedUnder.Length == 0 && a.State is not (AlarmState.Shelved or AlarmState.Suppressed or AlarmState.OutOfService or AlarmState.Normal));

    /// <summary>The one to do something about first; null where there is none.</summary>
    public static AlarmView? First(PackState? state) => Of(state)
        .OrderByDescending(a => a.IsActive)
        .ThenByDescending(a => a.Priority)
        .ThenBy(a => a.State is AlarmState.Unacknowledged ? 0 : 1)
        .FirstOrDefault(a => a.Priority > AlarmPriority.Low || a.State != AlarmState.Acknowledged);

    /// <summary>The most pressing one that nobody has seen; null where all were seen.</summary>
    public static AlarmView? FirstUnseen(PackState? state) => Of(state)
        .Where(a => a.State is AlarmState.Unacknowledged or AlarmState.LatchedUnacknowledged or AlarmState.ReturnedUnacknowledged)
        .OrderByDescending(a => a.IsActive)
        .ThenByDescending(a => a.Priority)
        .FirstOrDefault();
}
