using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Layout;

/// <summary>Which alarms stand for themselves, and the most pressing word among them.</summary>
public static class AlarmCount
{
    /// <summary>Alarms a person should look at: not grouped under another, not put aside.</summary>
    public static IEnumerable<AlarmView> Standing(PackState? state) => (state?.Alarms ?? [])
        .Where(a => a.GroupedUnder.Length == 0 && a.State is not (AlarmState.Shelved or AlarmState.Suppressed or AlarmState.OutOfService or AlarmState.Normal));

    /// <summary>How many, and the class of the most pressing one.</summary>
    public static (int Count, string Class) Of(PackState? state)
    {
        var count = 0;
        var worst = StateWord.Normal;
        foreach (var alarm in Standing(state))
        {
            count++;
            if (Words.StateOf(alarm) is var word && word > worst) worst = word;
        }

        return (count, Words.Class(worst));
    }
}
