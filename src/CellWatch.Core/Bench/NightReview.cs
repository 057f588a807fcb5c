using CellWatch.Core.Statistics;

namespace CellWatch.Core.Bench;

/// <summary>
/// Why did a cell not come in? Each night leaves a change that the bleed does not explain; over several nights its rate against time tells a
/// leak, a stuck bleed and a mere offset apart, and one reading low on the curve tells capacity from charge.
/// <para>Source: charge balance of each cell against the median; intervals by Student t; the bounds between causes are own rules.</para>
/// </summary>
public static class NightReview
{
    /// <summary>Nights a leak of a few milliampere needs to rise above the noise.</summary>
    public const int LeastNightsForLeak = 5;

    /// <summary>Reviews all nights so far, oldest first; the last is the one of this morning.</summary>
    /// <param name="names">Name of each cell.</param>
    /// <param name="nights">At least one.</param>
    /// <param name="low">One reading low on the curve; null where there is none yet.</param>
    /// <param name="rules">Rules.</param>
    public static NightReviewOutcome Of(IReadOnlyList<string> names, IReadOnlyList<NightRecord> nights, LowReading? low, NightRules rules)
    {
        Register.RefusedException.Unless(nights.Count > 0, T("No night is on record."));
        var last = nights[^1];
        var withheld = Withheld(last, rules);
        if (withheld.Count > 0) return new NightReviewOutcome(withheld, [], double.NaN, double.NaN, T($"Figures are withheld: {string.Join("; ", withheld)}."));
        var usable = nights.Where(n => Withheld(n, rules).Count == 0).ToList();
        var cells = new List<NightCell>();
        for (var c = 0; c < names.Count; c++)
            if (Judge(names[c], c, usable, low, rules) is { } cell) cells.Add(cell);
        // A cell whose bleed stays on runs away from the others: it is said of that cell, and the spread of the others stays readable.
        var stuck = cells.Where(c => c.Cause == NightCause.BleedStuckOn).Select(c => c.Cell).ToHashSet(StringComparer.Ordinal);
        double before = Spread(last.BeforeAh, names, stuck), after = Spread(last.AfterAh, names, stuck);
        return new NightReviewOutcome([], [.. cells.OrderByDescending(c => Math.Abs(c.LeftAh))], before, after, Sentence(cells, before, after, stuck.Count == 0 ? after : Spread(last.AfterAh, names, []), last, rules));
    }

    private static double Spread(double[] ah, IReadOnlyList<string> names, HashSet<string> without)
    {
        var others = ah.Where((_, c) => !without.Contains(names[c])).ToList();
        return others.Max() - others.Min();
    }

    private static NightCell? Judge(string name, int c, List<NightRecord> nights, LowReading? low, NightRules rules)
    {
        var last = nights[^1];
        var planned = nights.Sum(n => n.PlannedAh[c]);
        var integrated = nights.Sum(n => n.IntegratedAh[c]);
        var median = nights.Sum(n => Robust.Median(n.IntegratedAh.Where(double.IsFinite).ToArray()));
        var seen = nights[0].BeforeAh[c] - last.AfterAh[c] + median;
        var left = last.AfterAh[c];
        var rate = UnexplainedRate(c, nights, rules);
        var capacityAh = low is null ? double.NaN : CapacityFrom(low, last, c);
        var (cause, evidence, test) = Cause(c, nights, rate, low, capacityAh, left, rules);
        if (cause == NightCause.Level && !(planned > 0) && !(integrated > 0)) return null;
        if (cause == NightCause.Level) evidence = T($"came in: {integrated:0.00} Ah counted, {seen:0.00} seen");
        int? nightsLeft = cause == NightCause.ChargeOffset && left > rules.LevelAh ? (int)Math.Ceiling(left / NightlyAh(c, nights, rules)) : null;
        var countSigma = rules.CountShare * integrated;
        var seenSigma = Math.Sqrt(2 * rules.ReadingSigmaAh * rules.ReadingSigmaAh + rules.CountShare * median * rules.CountShare * median);
        return new NightCell(name, planned, integrated, seen, left, nightsLeft, cause, evidence, test)
        {
            IntegratedSigmaAh = countSigma,
            SeenSigmaAh = seenSigma,
            Agree = double.IsNaN(integrated)
                ? null
                : Math.Abs(integrated - seen) <= 2 * Math.Sqrt(countSigma * countSigma + seenSigma * seenSigma) && Math.Abs(planned - integrated) <= Math.Max(2 * countSigma, 0.1 * planned),
            Convergence = Convergence(c, nights, cause, nightsLeft, rules),
        };
    }

    /// <summary>What a night takes out: the mean of those counted whole, else eight hours of the bleed current.</summary>
    private static double NightlyAh(int c, List<NightRecord> nights, NightRules rules)
    {
        var counted = nights.Select(n => n.IntegratedAh[c]).Where(a => a > rules.ReadingSigmaAh).ToList();
        return counted.Count > 0 ? counted.Average() : rules.BleedA * 8;
    }

    /// <summary>Removed at least half an ampere hour in each of two nights without less being left: it will not come in (common practice, no source).</summary>
    private static string Convergence(int c, List<NightRecord> nights, NightCause cause, int? nightsLeft, NightRules rules)
    {
        if (nights.Count < 2) return "";
        var course = string.Join(" -> ", nights.TakeLast(3).Select(n => $"{n.AfterAh[c]:+0.00;-0.00;0.00}")) + " Ah";
        var lastTwo = nights.TakeLast(2).ToList();
        var shrank = Math.Abs(lastTwo[0].BeforeAh[c]) - Math.Abs(lastTwo[1].AfterAh[c]);
        if (lastTwo.All(n => n.IntegratedAh[c] >= 0.5) && shrank < 2 * Math.Sqrt(2) * rules.ReadingSigmaAh)
            return T($"{course}: {lastTwo.Sum(n => n.IntegratedAh[c]):0.00} Ah taken out in two nights and no less is left. It will not come in.");
        if (cause == NightCause.LowCapacity) return T($"{course}: bleeding will not bring it in.");
        return nightsLeft is { } more ? T($"{course}: {more} more {(more == 1 ? T("night") : T("nights"))}.") : $"{course}.";
    }

    private static (NightCause, string Evidence, string Test) Cause(
        int c, List<NightRecord> nights, Rate rate, LowReading? low, double capacityAh, double left, NightRules rules)
    {
        var stuckLow = 0.7 * rules.BleedA;
        if (rate.LossA - rate.HalfWidthA > 0 && rate.LossA > stuckLow)
            return (NightCause.BleedStuckOn, T($"loses {1000 * rate.LossA:0} +-{1000 * rate.HalfWidthA:0} mA with the bleed commanded off: a bleed is {1000 * rules.BleedA:0} mA; a leak of this size would have failed the rest test{(rate.LossA - rate.HalfWidthA > rules.BleedA ? T("; while it bleeds it also reads low by the drop in its lead") : "")}"), T("lead-drop test: off and on, does the neighbour move?"));

        var commanded = nights.Sum(n => n.PlannedAh[c]);
        if (commanded > 0.5 && rate.LossA + rate.HalfWidthA < 0 && -rate.LossA * rate.Hours > 0.7 * commanded)
            return (NightCause.BleedDead, T($"{commanded:0.00} Ah were to be removed and {Math.Max(0, commanded + rate.LossA * rate.Hours):0.00} Ah were: the switch does nothing"), T("lead-drop test: no drop when on"));

        if (low is not null && 1 - capacityAh / low.CapacityAh > Math.Max(0.03, 3 * Math.Sqrt(2) * rules.ReadingSigmaAh / low.OutAh))
        {
            var lowAh = low.DeviationAh[c];
            return (NightCause.LowCapacity, T($"{left:+0.00;-0.00;0.00} Ah here, {lowAh:+0.00;-0.00;0.00} Ah at {low.ChargePercent:0} %: about {capacityAh:0.0} Ah where the others have {low.CapacityAh:0.0}. An offset would be the same in Ah at both ends; bleeding will not help"), "");
        }

        if (rate.LossA - rate.HalfWidthA > 0 && nights.Count >= LeastNightsForLeak && rate.LossA * rate.Hours > 2 * rules.ReadingSigmaAh)
            return (NightCause.Leak, T($"needs {24 * rate.LossA:0.00} Ah a day more than its bleed explains, every day: {1000 * rate.LossA:0.0} +-{1000 * rate.HalfWidthA:0.0} mA. A stuck bleed would be {1000 * rules.BleedA:0} mA, an offset would not grow"), T("rest test, or storage"));

        var lost = Math.Abs(left) > rules.LevelAh || Math.Abs(nights[^1].BeforeAh[c]) > rules.LevelAh;
        if (!lost) return (NightCause.Level, "", "");
        // Below the median and not bled: leak, low capacity and an offset the other way all look alike until time or depth tells.
        if (left < 0 && (low is null || nights.Count < LeastNightsForLeak))
        {
            var tests = new List<string>();
            if (low is null) tests.Add(T("one rest below 50 % (tells low capacity)"));
            if (nights.Count < LeastNightsForLeak) tests.Add(T($"{LeastNightsForLeak - nights.Count} more nights or a rest test (5 mA in one night is 0.05 Ah, below the noise of {rules.ReadingSigmaAh * Math.Sqrt(2):0.00} Ah)"));
            return (NightCause.Undecided, T($"{left:+0.00;-0.00;0.00} Ah: leak, low capacity and charge offset all fit"), string.Join("; ", tests));
        }

        var agree = nights.All(n => double.IsFinite(n.IntegratedAh[c])) ? T("planned, integrated and seen agree") : T("a hole in the record widens the doubt");
        var sameBelow = low is null ? "" : T($", and it is the same {low.DeviationAh[c]:+0.00;-0.00;0.00} Ah at {low.ChargePercent:0} %");
        return (NightCause.ChargeOffset, T($"{agree} within {rules.ReadingSigmaAh * Math.Sqrt(2) * 1.96:0.00} Ah; no loss with time ({1000 * rate.LossA:0.0} +-{1000 * rate.HalfWidthA:0.0} mA){sameBelow}"), low is null ? T("one rest below 50 % would confirm it") : "");
    }

    /// <summary>Loss that the bleed does not explain, against the median cell: slope of the balance over time.</summary>
    private static Rate UnexplainedRate(int c, List<NightRecord> nights, NightRules rules)
    {
        var times = new List<double> { nights[0].HoursSinceFirst - nights[0].Hours };
        var balance = new List<double> { nights[0].BeforeAh[c] };
        var removed = 0.0;
        var holes = 0;
        var counted = 0.0;
        foreach (var n in nights)
        {
            var median = Robust.Median(n.IntegratedAh.Where(double.IsFinite).ToArray());
            if (double.IsFinite(n.IntegratedAh[c]))
            {
                removed += n.IntegratedAh[c] - median;
                counted += n.IntegratedAh[c];
            }
            else holes++;

            times.Add(n.HoursSinceFirst);
            balance.Add(n.AfterAh[c] + removed);
        }

        var hours = times[^1] - times[0];
        var sigma = rules.ReadingSigmaAh;
        // What went through an unseen stretch, and the error of the count, look like a loss or a gain.
        var unknownA = (holes * rules.BleedA * 8 + rules.CountShare * counted) / hours;
        if (times.Count < 4) return new Rate((balance[0] - balance[^1]) / hours, 1.96 * Math.Sqrt(2) * sigma / hours + unknownA, hours);
        var fit = LineFit.Through([.. times], [.. balance])!.Value;
        // The scatter of a few nights is not trusted below the known doubt of a reading.
        var mean = times.Average();
        var known = 1.96 * sigma / Math.Sqrt(times.Sum(t => (t - mean) * (t - mean)));
        return new Rate(-fit.Slope, Math.Max(fit.SlopeHalfWidth(), known) + unknownA, hours);
    }

    /// <summary>
    /// Capacity of a cell from its deviation low on the curve: it gave the same charge as all, so its level fell by out / Ck. The charge it is off
    /// at the reference level is taken out first.
    /// </summary>
    private static double CapacityFrom(LowReading low, NightRecord reference, int c)
    {
        var usualShare = low.OutAh / low.CapacityAh;
        var share = usualShare - (low.DeviationAh[c] - reference.AfterAh[c]) / low.CapacityAh;
        return low.OutAh / share;
    }

    private static List<string> Withheld(NightRecord n, NightRules rules)
    {
        var why = new List<string>();
        if (!n.Before.AtRest || !n.After.AtRest) why.Add(T("not at rest"));
        if (n.Before.BleedOffMinutes < rules.BleedOffMinutes || n.After.BleedOffMinutes < rules.BleedOffMinutes) why.Add(T($"the bleed was off for less than {rules.BleedOffMinutes:0} min"));
        if (Math.Abs(n.After.TemperatureDegC - n.Before.TemperatureDegC) > rules.ComparableK)
            why.Add(T($"temperature differs by {Math.Abs(n.After.TemperatureDegC - n.Before.TemperatureDegC):0.0} K ({rules.ComparableK:0} allowed)"));
        return why;
    }

    private static string Sentence(List<NightCell> cells, double before, double after, double afterOfAll, NightRecord last, NightRules rules)
    {
        var stuck = cells.Where(c => c.Cause == NightCause.BleedStuckOn).Select(c => c.Cell).ToList();
        var text = T($"Spread {(Math.Abs(before - after) < 0.05 ? T($"{after:0.0} Ah, as before the night") : $"{before:0.0} -> {after:0.0} Ah")}{(stuck.Count > 0 ? T($" without {string.Join(", ", stuck)}, {afterOfAll:0.0} Ah with {(stuck.Count == 1 ? T("it") : T("them"))}") : "")}.");
        var more = cells.Where(c => c.NightsLeft > 0).ToList();
        if (more.Count > 0) text += T($" {more.Max(c => c.NightsLeft)} more {(more.Max(c => c.NightsLeft) == 1 ? T("night") : T("nights"))} for {more.Count} {(more.Count == 1 ? T("cell") : T("cells"))}.");
        foreach (var cause in cells.Where(c => c.Cause is not (NightCause.ChargeOffset or NightCause.Level)).OrderByDescending(c => Math.Abs(c.LeftAh)).GroupBy(c => c.Cause))
            text += cause.Count() <= 3 ? $" {string.Join(", ", cause.Select(c => c.Cell))}: {BenchWording.Of(cause.Key)}." : T($" {cause.Count()} cells: {BenchWording.Of(cause.Key)}.");
        if (last.Gaps.Count > 0) text += T($" Gaps: {string.Join(", ", last.Gaps)}; charge removed in them is not known.");
        if (last.HottestBoardDegC > rules.BoardLimitDegC) text += T($" A bleed board reached {last.HottestBoardDegC:0} degC ({rules.BoardLimitDegC:0} allowed).");
        return text;
    }

    private readonly record struct Rate(double LossA, double HalfWidthA, double Hours);
}
