using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>Shows how runs get on while they are running. The data are the pack's own scans; nothing else is asked.</summary>
public interface IRunFollower
{
    /// <summary>How a run gets on; null where its module is not on the pack's instruments, or nothing was heard since it began.</summary>
    RunProgress? ProgressOf(string runId);

    /// <summary>What was recorded since it began, as <see cref="RecordingCsv"/> writes it; null where nothing was.</summary>
    string? CsvOf(string runId);
}

/// <summary>How a run with current gets on.</summary>
/// <param name="Recording">What was recorded since it began.</param>
/// <param name="CurrentA">Current now, A, positive charging.</param>
/// <param name="OwnAh">Own count so far, Ah out.</param>
/// <param name="OwnWh">Own count so far, Wh out.</param>
/// <param name="LoadS">Time under load so far, s.</param>
/// <param name="LowestCell">Group that is lowest now, from 1; 0 where none is known.</param>
/// <param name="Fitness">Are the data fit to be used? What can only be said at the end is left out.</param>
/// <param name="Forecast">When it ends; null while that cannot be told.</param>
/// <param name="Ended">Whether a group has reached the end voltage, or the load went off after it had been on.</param>
/// <param name="LongestHoleS">Longest hole under current, s; 0 where there is none.</param>
public sealed record RunProgress(
    DischargeRecording Recording, double CurrentA, double OwnAh, double OwnWh, double LoadS, int LowestCell, IReadOnlyList<FitnessPoint> Fitness, CapacityForecast? Forecast, bool Ended,
    double LongestHoleS)
{
    /// <summary>Whether nothing speaks against the data so far.</summary>
    public bool IsFit => Fitness.All(f => f.Fit);

    /// <summary>Looks at a recording that is still growing.</summary>
    /// <param name="r">Rows so far; one at least.</param>
    /// <param name="settings">Rules of the capacity test.</param>
    /// <param name="curve">Curve of the cells; null where none is chosen.</param>
    /// <param name="siblingAh">Median of the siblings' smallest groups, Ah; null before the first is known.</param>
    public static RunProgress Of(DischargeRecording r, CapacitySettings settings, OcvCurve? curve, double? siblingAh)
    {
        var outcome = CapacityTest.Judge(r, settings);
        var used = CapacityTest.ForwardRows(r.TimeS, out _);
        var largest = used.Count == 0 ? 0 : used.Max(i => -r.CurrentA[i]);
        var loaded = used.Where(i => -r.CurrentA[i] > 0.5 * largest && largest > 1).ToList();
        var loadS = loaded.Count < 2 ? 0 : r.TimeS[loaded[^1]] - r.TimeS[loaded[0]];
        var last = used.Count == 0 ? -1 : used[^1];
        var lowest = last < 0 ? -1 : Enumerable.Range(0, r.CellV.Length).Where(g => double.IsFinite(r.CellV[g][last])).OrderBy(g => r.CellV[g][last]).FirstOrDefault(-1);
        var off = loaded.Count > 0 && last > loaded[^1] && r.TimeS[last] - r.TimeS[loaded[^1]] > 10;
        var holeS = new RecordingCsv(r.TimeS, r.CurrentA, r.CellV, r.TemperatureDegC, r.TesterAh).LongestHoleS();
        var whole = new FitnessPoint(T("record whole"), holeS == 0, holeS == 0 ? T("no hole under current") : T($"a hole of {holeS:0} s under current: its charge is not known"));
        return new RunProgress(
            r, last < 0 ? double.NaN : r.CurrentA[last], outcome.ModuleAh.Value, outcome.EnergyWh, loadS, lowest + 1, loaded.Count == 0 ? [] : [whole, .. outcome.Fitness.Where(f => outcome.EndedBy > 0 || f.Name != CapacityTest.EndedByGroup)],
            outcome.EndedBy > 0 || off || loaded.Count < 2 ? null : CapacityForecast.Of(r, loaded, outcome.ModuleAh.Value, settings, curve, siblingAh), outcome.EndedBy > 0 || off, holeS);
    }
}

/// <summary>When a discharge ends, and by which group.</summary>
/// <param name="LeftS">Time left, s.</param>
/// <param name="Cell">Group that ends it, from 1; 0 where only the siblings say when.</param>
/// <param name="GroupAh">Capacity that group is heading for, Ah.</param>
/// <param name="FromSiblings">Whether it rests on the siblings' results alone.</param>
public sealed record CapacityForecast(double LeftS, int Cell, double GroupAh, bool FromSiblings)
{
    /// <summary>Below this fall of the charge level a group's own figures say too little, % (own rule).</summary>
    public const double LeastFallPercent = 15;

    /// <summary>
    /// Each group's level at the start from its rest voltage, and now from its loaded voltage corrected by its own 10 s resistance: the charge
    /// between the two gives its capacity, the level at the end voltage what is left (own method; slow polarisation is left out, so it is "about").
    /// Before a group has fallen far enough, the siblings' median is taken.
    /// </summary>
    public static CapacityForecast? Of(DischargeRecording r, IReadOnlyList<int> loaded, double outAh, CapacitySettings s, OcvCurve? curve, double? siblingAh)
    {
        var loadA = Robust.Median([.. loaded.Select(i => -r.CurrentA[i])]);
        if (curve is not null && loaded[0] > 0 && Math.Abs(r.CurrentA[loaded[0] - 1]) < 0.05 * loadA)
        {
            CapacityForecast? first = null;
            var used = Enumerable.Range(0, r.TimeS.Length).ToList();
            for (var g = 0; g < r.CellV.Length; g++)
            {
                var milliohm = CapacityTest.ResistanceAt(10, r.TimeS, r.CurrentA, r.CellV[g], used);
                var dropV = double.IsFinite(milliohm) ? loadA * milliohm / 1000 : 0;
                var (from, now, end) = (Level(curve, r.CellV[g][loaded[0] - 1]), Level(curve, r.CellV[g][loaded[^1]] + dropV), Level(curve, s.LowestV + dropV));
                if (!(from - now >= LeastFallPercent)) return Siblings(outAh, loadA, siblingAh);
                var ah = outAh / (from - now) * (from - end);
                var left = Math.Max(0, ah - outAh) / loadA * 3600;
                if (first is null || left < first.LeftS) first = new CapacityForecast(left, g + 1, ah, false);
            }

            return first;
        }

        return Siblings(outAh, loadA, siblingAh);
    }

    private static CapacityForecast? Siblings(double outAh, double loadA, double? siblingAh) =>
        siblingAh is { } ah && loadA > 0 ? new CapacityForecast(Math.Max(0, ah - outAh) / loadA * 3600, 0, ah, true) : null;

    private static double Level(OcvCurve curve, double restV) => double.IsFinite(restV) ? curve.SocAt(restV).SocPercent : double.NaN;
}
