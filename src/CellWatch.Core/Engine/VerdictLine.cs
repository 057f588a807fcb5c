using System.Collections.Immutable;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>
/// The first line of a page: the most pressing thing first, with figures; what is missing, since when. Written as advice.
/// </summary>
internal sealed class VerdictLine(Facts facts)
{
    /// <summary>Says at most this many names before it counts.</summary>
    private const int MostNames = 3;

    public Verdict Of(Snapshot snapshot, ImmutableArray<AlarmView> alarms, ImmutableArray<StateWord> cells)
    {
        var worst = StateWord.Normal;
        foreach (var cell in cells) worst = worst > cell ? worst : cell;
        var urgent = alarms.FirstOrDefault(a => a.IsActive && IsShown(a));
        if (urgent is not null && CellStates.WordOf(urgent) > worst) worst = CellStates.WordOf(urgent);
        if (facts.KnownCells == 0 && worst < StateWord.ActNow) return new Verdict(StateWord.NoData, NothingKnown(snapshot));

        var held = alarms.FirstOrDefault(a => !a.IsActive && a.Priority == AlarmPriority.High && a.State is AlarmState.LatchedUnacknowledged or AlarmState.LatchedAcknowledged);
        if (held is not null && worst < StateWord.Caution) worst = StateWord.Caution;
        var sentence = worst switch
        {
            StateWord.ActNow when urgent is not null && CellStates.WordOf(urgent) == worst => urgent.Message,
            StateWord.Caution when urgent is not null && CellStates.WordOf(urgent) == worst => $"{Known()} {urgent.Message}",
            StateWord.Caution when held is not null => T($"{Known()} Held until reset: {held.Message}"),
            StateWord.NoData => Missing(snapshot, urgent),
            StateWord.Doubtful => Disbelieved(snapshot),
            StateWord.NotProven => $"{Known()} {Widest()}{NotProven()}",
            _ => $"{Known()} {Widest()}",
        };
        if (facts.Limits is null) sentence += T(" Choose the cell type first. Without it there are no limits to judge by.");
        return new Verdict(worst == StateWord.Normal && facts.Limits is null ? StateWord.Caution : worst, sentence.Trim());
    }

    /// <summary><c>All 108 cells known.</c> or how many are not.</summary>
    private string Known()
    {
        var all = facts.Map.CellCount;
        var bleeding = facts.BleedingCells > 0 ? T($", {facts.BleedingCells} bleeding") : "";
        return facts.KnownCells == all
            ? all == 1 ? T($"The cell is known{bleeding}.") : T($"All {all} cells known{bleeding}.")
            : T($"{facts.KnownCells} of {all} cells known{bleeding}.");
    }

    /// <summary><c>Widest: B07.3, 18 mV low (2.3 Ah).</c></summary>
    private string Widest()
    {
        if (facts.HighestCell < 0 || facts.HighestCell == facts.LowestCell) return "";
        var high = facts.HighestV - facts.MedianV > facts.MedianV - facts.LowestV;
        var cell = high ? facts.HighestCell : facts.LowestCell;
        var deviation = (high ? facts.HighestV : facts.LowestV) - facts.MedianV;
        var ah = facts.ChargeBesideAh(cell, deviation);
        var charge = double.IsFinite(ah) ? $" ({Say.AmpereHours(Math.Abs(ah))})" : "";
        return T($"Widest: {facts.Map.NameOf(cell)}, {Say.Millivolts(deviation)} {(high ? T("high") : T("low"))}{charge}.");
    }

    private string NotProven()
    {
        var count = facts.Map.CellCount - facts.ProvenCells;
        return T($" Not supervised: {Say.Count(count, T("channel"), T("channels"))} not proven.");
    }

    private string NothingKnown(Snapshot snapshot)
    {
        var newest = long.MaxValue;
        for (var cell = 0; cell < facts.Map.CellCount; cell++) newest = Math.Min(newest, snapshot.AgeUs[cell]);
        if (newest == long.MaxValue) return T("No instrument is connected. Connect one on Instruments, or start the simulated pack.");
        if (snapshot.CellQuality.IndexOfAnyExcept(Quality.Missing, Quality.Stale) >= 0) return T($"No cell value can be believed. {Disbelieved(snapshot)}");
        return T($"No cell has been seen since {Since(snapshot, newest)}. Look at Instruments.");
    }

    private string Missing(Snapshot snapshot, AlarmView? urgent)
    {
        if (urgent is { Word: "NO DATA" }) return $"{urgent.Message} {Known()}";
        int count = 0, first = -1;
        var newest = long.MaxValue;
        for (var cell = 0; cell < facts.Map.CellCount; cell++)
        {
            if (snapshot.CellQuality[cell] is not (Quality.Missing or Quality.Stale)) continue;
            if (first < 0) first = cell;
            newest = Math.Min(newest, snapshot.AgeUs[cell]);
            count++;
        }

        if (first < 0) return Known();
        var who = count == 1 ? facts.Map.NameOf(first) : Say.Count(count, T("cell"), T("cells"));
        var since = newest == long.MaxValue ? T("no data yet") : T($"no data since {Since(snapshot, newest)}");
        return $"{Known()} {who}: {since}.";
    }

    private string Disbelieved(Snapshot snapshot)
    {
        var names = new List<string>();
        var count = 0;
        for (var cell = 0; cell < facts.Map.CellCount; cell++)
        {
            if (snapshot.CellQuality[cell] is Quality.Good or Quality.Missing or Quality.Stale) continue;
            count++;
            if (names.Count < MostNames) names.Add($"{facts.Map.NameOf(cell)} {facts.ReasonOf(snapshot, cell)}");
        }

        var more = count > names.Count ? T($" and {count - names.Count} more") : "";
        return T($"{Known()} Not believed: {string.Join("; ", names)}{more}.");
    }

    private string Since(Snapshot snapshot, long ageUs) => Say.Clock(snapshot.Time.WallUnixMs - ageUs / 1000, facts.Options.TimeZone);

    private static bool IsShown(AlarmView alarm) => alarm.State is not (AlarmState.Shelved or AlarmState.Suppressed or AlarmState.OutOfService);
}
