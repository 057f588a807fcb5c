using System.Collections.Immutable;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>
/// The one word for each cell. If several apply: ACT NOW, NO DATA, DOUBTFUL, CAUTION, NOT PROVEN, BLEEDING, NORMAL, in this order.
/// </summary>
internal static class CellStates
{
    public static ImmutableArray<StateWord> Of(Snapshot snapshot, ImmutableArray<AlarmView> alarms)
    {
        var states = new StateWord[snapshot.Map.CellCount];
        for (var cell = 0; cell < states.Length; cell++)
        {
            states[cell] = snapshot.CellQuality[cell] switch
            {
                Quality.Missing or Quality.Stale => StateWord.NoData,
                Quality.Good when !snapshot.Proven[cell] => StateWord.NotProven,
                Quality.Good => snapshot.IsBleeding(cell) ? StateWord.Bleeding : StateWord.Normal,
                _ => StateWord.Doubtful,
            };
        }

        foreach (var alarm in alarms)
        {
            if (!alarm.IsActive || alarm.Cell is not { } cell || alarm.State == AlarmState.OutOfService) continue;
            var word = WordOf(alarm);
            if (word > states[cell]) states[cell] = word;
        }

        return ImmutableArray.Create(states);
    }

    /// <summary>The word an active alarm gives to what it is about.</summary>
    public static StateWord WordOf(AlarmView alarm) => alarm.Priority switch
    {
        AlarmPriority.High => StateWord.ActNow,
        AlarmPriority.Medium when alarm.Word == "NO DATA" => StateWord.NoData,
        AlarmPriority.Medium => StateWord.Caution,
        _ => StateWord.Normal,
    };
}
