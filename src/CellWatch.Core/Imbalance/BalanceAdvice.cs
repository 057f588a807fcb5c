using System.Collections.Immutable;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Imbalance;

/// <summary>A plan for the next night and what must be known beside it.</summary>
/// <param name="Plan">The plan; empty with the reason where none may be made.</param>
/// <param name="Schedule">Turns, measuring window and limits.</param>
/// <param name="Map">The channels its cells are counted in.</param>
/// <param name="ReferencePercent">Level at which the cells are to be in line, %.</param>
/// <param name="LevelPercent">Mean charge now, %; null where it cannot be told.</param>
/// <param name="Time">The scan it was made from.</param>
/// <param name="Simulated">Whether the pack is simulated.</param>
public sealed record BalanceAdvice(
    BalancePlan Plan, BleedSchedule Schedule, ChannelMap Map, double ReferencePercent, double? LevelPercent, SnapshotTime Time, bool Simulated)
{
    /// <summary>Who carries it out. Commands to bleed do not exist on any wire of this program, so this holds for every site.</summary>
    public static string ByHand => T("No front end here takes a bleed command from this program: carry the plan out at the boards' own control, or by hand. It advises, it switches nothing.");
}

/// <summary>Which cells may be left to bleed unattended.</summary>
public static class BleedTimeOuts
{
    /// <summary>
    /// By cell: whether every front end that provides it is heard and says that it opens its switches by itself. One that says nothing counts as one that does
    /// not, and so does a cell that none provides: unknown is unsafe.
    /// </summary>
    public static ImmutableArray<bool> Of(ChannelMap map, IReadOnlyCollection<FrontEndHealth> frontEnds)
    {
        var opens = new bool[map.CellCount];
        foreach (var frontEnd in frontEnds)
            foreach (var cell in Cells(map, frontEnd)) opens[cell] = true;
        foreach (var frontEnd in frontEnds.Where(f => !(f is { State: LinkState.Alive, BleedTimeoutS: > 0 })))
            foreach (var cell in Cells(map, frontEnd)) opens[cell] = false;
        return [.. opens];
    }

    /// <summary>Cells whose voltage or bleed flag a front end provides.</summary>
    private static IEnumerable<int> Cells(ChannelMap map, FrontEndHealth frontEnd)
    {
        foreach (var channel in frontEnd.Channels)
        {
            if (channel < map.CellCount) yield return channel;
            else if (channel >= map.FirstBleed && channel < map.FirstBleed + map.CellCount) yield return channel - map.FirstBleed;
        }
    }
}
