using CellWatch.Core.Estimation;
using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>
/// Ah of a module, the group that ended the discharge, and what was left in every other group: one discharge ranks them all.
/// <para>Charge: trapezoid rule. What was left is read from the group that did reach the end: its own voltage against charge is the curve of
/// its siblings, corrected for the difference in resistance (own method; needs no foreign curve).</para>
/// </summary>
public static class CapacityTest
{
    /// <summary>Name of the fitness point that only the end of a discharge can meet.</summary>
    internal static string EndedByGroup => T("ended by a group");

    private const double LoadFromShare = 0.5;

    /// <summary>Steps of current below this share of the capacity, per hour, drown in the steps of a 1 mV converter (own rule).</summary>
    private const double SmallestStepShare = 0.005;

    /// <summary>Judges one discharge.</summary>
    public static CapacityOutcome Judge(DischargeRecording r, CapacitySettings s)
    {
        var used = ForwardRows(r.TimeS, out var back);
        var counter = new ChargeCounter(double.PositiveInfinity, 0);
        var outAh = new double[used.Count];
        for (var i = 0; i < used.Count; i++)
        {
            counter.Add(r.TimeS[used[i]], r.CurrentA[used[i]], r.CellV.Sum(c => c[used[i]]));
            outAh[i] = counter.OutAh;
        }

        var loaded = LoadedRows(r, used);
        var moduleAh = new Uncertain(counter.OutAh, s.CurrentShare * counter.OutAh);
        var lowest = loaded.Count == 0 ? -1 : LowestAt(r, used[loaded[^1]]);
        var ended = lowest >= 0 && r.CellV[lowest][used[loaded[^1]]] <= s.LowestV + 0.005;
        var resistances = r.CellV.Select(c => ResistanceAt(10, r.TimeS, r.CurrentA, c, used)).ToArray();
        List<GroupCapacity> groups = ended ? Groups(r, used, loaded, outAh, lowest, resistances, moduleAh, s) : [];
        var fault = FaultOfSense(r, used, s);
        return new CapacityOutcome
        {
            ModuleAh = moduleAh,
            EnergyWh = counter.OutWh,
            TesterAh = r.TesterAh is null ? double.NaN : Math.Abs(r.TesterAh[^1]),
            EndedBy = ended ? lowest + 1 : 0,
            Groups = groups,
            ClockBackRows = back,
            SenseFault = fault,
            Fitness = Fitness(r, used, loaded, back, fault, ended, counter.OutAh, s),
            Cause = ended && r.CellV.Length > 1 ? Cause(groups, lowest) : "",
            Sentence = Sentence(r, used, loaded, counter.OutAh, lowest, ended, back.Count, fault, s),
        };
    }

    /// <summary>Rows whose time goes forward; a row whose time goes back is left out, and the ones after it count again from where the clock was.</summary>
    public static List<int> ForwardRows(double[] timeS, out List<int> back)
    {
        var used = new List<int>(timeS.Length);
        back = [];
        var latest = double.NegativeInfinity;
        for (var i = 0; i < timeS.Length; i++)
        {
            if (timeS[i] < latest)
            {
                back.Add(i);
                continue;
            }

            latest = timeS[i];
            used.Add(i);
        }

        return used;
    }

    /// <summary>Resistance a stated time after the first step of current, mOhm, by linear interpolation; NaN where the record does not show it.</summary>
    public static double ResistanceAt(double afterS, double[] timeS, double[] currentA, double[] cellV, IReadOnlyList<int> used)
    {
        var loadA = MedianLoadA(currentA, used);
        for (var i = 1; i < used.Count; i++)
        {
            if (Math.Abs(currentA[used[i]]) < LoadFromShare * loadA || Math.Abs(currentA[used[i - 1]]) >= LoadFromShare * loadA) continue;
            var rest = used[i - 1];
            var wantedS = timeS[rest] + afterS;
            for (var j = i; j < used.Count; j++)
            {
                if (timeS[used[j]] < wantedS) continue;
                int a = used[j - 1], b = used[j];
                var part = timeS[b] > timeS[a] ? (wantedS - timeS[a]) / (timeS[b] - timeS[a]) : 0;
                return 1000 * PulseResistance.Ohm(cellV[rest], currentA[rest], cellV[a] + part * (cellV[b] - cellV[a]), currentA[a] + part * (currentA[b] - currentA[a]));
            }

            return double.NaN;
        }

        return double.NaN;
    }

    private static List<GroupCapacity> Groups(
        DischargeRecording r, List<int> used, List<int> loaded, double[] outAh, int lowest, double[] resistances, Uncertain moduleAh, CapacitySettings s)
    {
        var end = loaded[^1];
        var loadA = Math.Abs(r.CurrentA[used[end]]);
        var groups = new List<GroupCapacity>();
        for (var g = 0; g < r.CellV.Length; g++)
        {
            var endV = r.CellV[g][used[end]];
            var remaining = g == lowest ? new Uncertain(0, 0) : Remaining(r, used, loaded, outAh, lowest, endV, (resistances[g] - resistances[lowest]) / 1000 * loadA);
            var capacity = moduleAh.Value + remaining.Value;
            groups.Add(new GroupCapacity(g + 1, endV, new Uncertain(capacity, Math.Sqrt(Math.Pow(s.CurrentShare * capacity, 2) + remaining.Sigma * remaining.Sigma)), remaining, resistances[g]));
        }

        return groups;
    }

    /// <summary>Where the group that reached the end passed the same voltage; the charge it gave from there on is what the other has left.</summary>
    private static Uncertain Remaining(DischargeRecording r, List<int> used, List<int> loaded, double[] outAh, int lowest, double endV, double extraDropV)
    {
        const double ReadingV = 0.003, ShareOfRemaining = 0.05;
        // A more resistive sibling stands lower for the same charge: its drop beyond the reference's is given back.
        var wantedV = endV + (double.IsFinite(extraDropV) ? extraDropV : 0);
        var reference = r.CellV[lowest];
        for (var i = loaded.Count - 2; i >= 0; i--)
        {
            double v = reference[used[loaded[i]]], next = reference[used[loaded[i + 1]]];
            if (v < wantedV) continue;
            var part = v > next ? (v - wantedV) / (v - next) : 0;
            var atAh = outAh[loaded[i]] + part * (outAh[loaded[i + 1]] - outAh[loaded[i]]);
            var remaining = outAh[loaded[^1]] - atAh;
            var slopeVPerAh = SlopeNear(reference, used, loaded, outAh, i);
            var sigma = Math.Sqrt(
                Math.Pow((ReadingV + 0.3 * (double.IsFinite(extraDropV) ? Math.Abs(extraDropV) : 0.02)) / slopeVPerAh, 2) + Math.Pow(ShareOfRemaining * remaining, 2));
            return new Uncertain(remaining, sigma);
        }

        return new Uncertain(double.NaN, double.NaN);
    }

    private static double SlopeNear(double[] reference, List<int> used, List<int> loaded, double[] outAh, int i)
    {
        int a = Math.Max(0, i - 60), b = Math.Min(loaded.Count - 1, i + 60);
        return Math.Max(1e-4, (reference[used[loaded[a]]] - reference[used[loaded[b]]]) / Math.Max(1e-9, outAh[loaded[b]] - outAh[loaded[a]]));
    }

    private static SenseFault? FaultOfSense(DischargeRecording r, List<int> used, CapacitySettings s)
    {
        var highest = s.HighestMilliohmAh / s.RatedAh;
        var seen = new List<double>();
        foreach (var cell in r.CellV)
            for (var i = 1; i < used.Count; i++)
            {
                double dA = r.CurrentA[used[i]] - r.CurrentA[used[i - 1]], dS = r.TimeS[used[i]] - r.TimeS[used[i - 1]];
                if (Math.Abs(dA) < SmallestStepShare * s.RatedAh || dS > 5) continue;
                var milliohm = 1000 * (cell[used[i]] - cell[used[i - 1]]) / dA;
                if (milliohm > highest) seen.Add(milliohm);
            }

        return seen.Count == 0 ? null : new SenseFault(seen.Min(), seen.Max());
    }

    private static List<FitnessPoint> Fitness(
        DischargeRecording r, List<int> used, List<int> loaded, List<int> back, SenseFault? fault, bool ended, double outAh, CapacitySettings s)
    {
        var loadA = MedianLoadA(r.CurrentA, used);
        // The first and last rows of a step are the tester's own ramps.
        var unflat = loaded.Skip(3).SkipLast(3).Count(i => Math.Abs(Math.Abs(r.CurrentA[used[i]]) - loadA) > s.FlatShare * loadA);
        var points = new List<FitnessPoint>
        {
            new(T("current flat"), unflat <= 0.01 * loaded.Count, unflat <= 0.01 * loaded.Count ? T($"within {100 * s.FlatShare:0} % of {loadA:0.0} A") : T($"{unflat} of {loaded.Count} rows off {loadA:0.0} A by more than {100 * s.FlatShare:0} %")),
            new(T("time forward"), back.Count == 0, back.Count == 0 ? T("no step back") : T($"the clock stepped back in {back.Count} rows: marked, kept, not used")),
            new(T("sense connection"), fault is null, fault is null ? T("no step too large for a cell") : SenseSentence(fault)),
            new(EndedByGroup, ended, ended ? T($"first group at {s.LowestV:0.00} V") : T($"no group reached {s.LowestV:0.00} V: this is not a capacity")),
        };
        if (r.TemperatureDegC is { } degC)
        {
            var inside = used.Select(i => degC[i]).Where(double.IsFinite).ToList();
            var steady = inside.Count > 0 && inside.Min() >= s.ColdestDegC && inside.Max() <= s.HottestDegC;
            points.Add(new(T("temperature"), steady, inside.Count == 0 ? T("no reading") : $"{inside.Min():0.0}-{inside.Max():0.0} degC"));
        }
        else points.Add(new(T("temperature"), false, T("not recorded: not comparable with other modules")));

        if (r.TesterAh is { } tester)
        {
            var testerAh = Math.Abs(tester[^1]);
            var percent = 100 * (outAh - testerAh) / outAh;
            points.Add(new(T("own count against tester"), Math.Abs(percent) <= 1, T($"own {outAh:0.00} Ah, tester {testerAh:0.00} Ah, difference {percent:0.0} %")));
        }

        return points;
    }

    private static string Cause(List<GroupCapacity> groups, int lowest)
    {
        var others = groups.Where(g => g.Cell != lowest + 1 && double.IsFinite(g.Resistance10sMilliohm)).Select(g => g.Resistance10sMilliohm).ToArray();
        var own = groups[lowest].Resistance10sMilliohm;
        if (others.Length == 0 || !double.IsFinite(own)) return "";
        var median = Robust.Median(others);
        return own <= 1.1 * median
            ? T($"Low capacity, not high resistance, makes group {lowest + 1} weak: its 10 s resistance is {own:0.00} mOhm, its siblings' median {median:0.00} mOhm.")
            : T($"Group {lowest + 1} is also more resistive than its siblings ({own:0.00} against {median:0.00} mOhm, 10 s): part of its early end is voltage drop, not charge.");
    }

    private static string Sentence(
        DischargeRecording r, List<int> used, List<int> loaded, double outAh, int lowest, bool ended, int back, SenseFault? fault, CapacitySettings s)
    {
        var clock = back > 0 ? T($" The clock stepped back: {back} rows are marked and kept, not used.") : "";
        var sense = fault is null ? "" : " " + SenseSentence(fault);
        if (!ended) return T($"{outAh:0.000} Ah out; no group reached {s.LowestV:0.00} V.{clock}{sense}");
        var end = used[loaded[^1]];
        if (r.CellV.Length == 1) return T($"{outAh:0.000} Ah out, ended at {r.CellV[0][end]:0.000} V.{clock}{sense}");
        var next = Enumerable.Range(0, r.CellV.Length).Where(g => g != lowest).MinBy(g => r.CellV[g][end]);
        return T($"{outAh:0.00} Ah. Group {lowest + 1} ended it at {r.CellV[lowest][end]:0.000} V; the next, group {next + 1}, was at {r.CellV[next][end]:0.000} V.{clock}{sense}");
    }

    private static string SenseSentence(SenseFault fault) =>
        T($"The voltage jumps by {fault.LowMilliohm:0}-{fault.HighMilliohm:0} mOhm times the current when it starts or stops: not believable for this cell. Check the sense connection; it carries current or makes poor contact. This is not printed as resistance of the cell.");

    private static List<int> LoadedRows(DischargeRecording r, List<int> used)
    {
        var loadA = MedianLoadA(r.CurrentA, used);
        var loaded = new List<int>();
        for (var i = 0; i < used.Count; i++)
            if (r.CurrentA[used[i]] <= -LoadFromShare * loadA && loadA > 0) loaded.Add(i);
        return loaded;
    }

    private static double MedianLoadA(double[] currentA, IReadOnlyList<int> used)
    {
        var largest = used.Count == 0 ? 0 : used.Max(i => -currentA[i]);
        var discharging = used.Where(i => -currentA[i] > 0.1 * largest).Select(i => -currentA[i]).ToArray();
        return discharging.Length == 0 ? 0 : Robust.Median(discharging);
    }

    private static int LowestAt(DischargeRecording r, int row) => Enumerable.Range(0, r.CellV.Length).MinBy(g => r.CellV[g][row]);
}
