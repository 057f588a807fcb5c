using System.Collections.Immutable;

namespace CellWatch.Core.Imbalance;

/// <summary>What the record says about the cells, one finding a cell of which there is something to say.</summary>
/// <param name="Findings">Named causes first, then what is undecided; NaN where a figure is not told.</param>
/// <param name="TooLittle">Cells of which too little is on record to say anything.</param>
public sealed record CausesAdvice(ImmutableArray<CellFinding> Findings, int TooLittle)
{
    /// <summary>Made from one finding a cell.</summary>
    public static CausesAdvice Of(IEnumerable<CellFinding> all)
    {
        var told = new List<CellFinding>();
        var tooLittle = 0;
        foreach (var finding in all)
        {
            // An undecided cell without any figure is one of which nothing is on record yet: counted, not listed.
            if (finding is { Cause: SuspectedCause.Undecided, OffsetAh: double.NaN }) tooLittle++;
            else if (finding.Evidence.Length > 0) told.Add(finding);
        }

        return new CausesAdvice([.. told.OrderBy(f => f.Cause is SuspectedCause.None ? 2 : f.Cause is SuspectedCause.Undecided ? 1 : 0).ThenBy(f => f.Cell)], tooLittle);
    }
}

/// <summary>Where advice is asked for that is not worked out in every scan.</summary>
public interface IAdviceDesk
{
    /// <summary>Plans the next night from the last scan; null before the first one.</summary>
    /// <param name="referencePercent">Level at which the cells are to be in line, %; null for the one this pack is kept at.</param>
    /// <param name="longestH">Longest night, h.</param>
    /// <param name="cancellation">Gives up waiting for the pack's task.</param>
    Task<BalanceAdvice?> PlanAsync(double? referencePercent, double longestH, CancellationToken cancellation = default);

    /// <summary>Why cells stand out, or what would decide; null before the first scan.</summary>
    /// <param name="cancellation">Gives up waiting for the pack's task.</param>
    Task<CausesAdvice?> CausesAsync(CancellationToken cancellation = default);
}
