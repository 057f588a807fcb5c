using CellWatch.Core.Live;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Layout;

/// <summary>Which alarms stand for themselves, and the most pressing word among them.</summary>
public static class AlarmCount
{
    /// <summary>How many, and the class of the most pressing one.</summary>
    public static (int Count, string Class) Of(PackState? state)
    {
        var count = 0;
        var worst = StateWord.Normal;
        foreach (var alarm in StandingAlarms.Of(state))
        {
            count++;
            if (Words.StateOf(alarm) is var word && word > worst) worst = word;
        }

        return (count, Words.Class(worst));
    }
}
