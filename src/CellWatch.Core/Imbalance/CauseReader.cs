using CellWatch.Core.Engine;

namespace CellWatch.Core.Imbalance;

/// <summary>Reads the cause from a cell's figures. Every branch states the figure that speaks for it and what excludes its rivals.</summary>
internal static class CauseReader
{
    private const double Sure = 3;

    public static CellFinding Read(CauseEvidence e)
    {
        var hasOhm = e.ExcessShare > e.WorthOhmShare;
        if (!e.Fits) return hasOhm ? Resistance(e) : Undecided(e, T("too little on record to tell its causes apart"), T("a rest, a charge and a discharge on record"));

        // A cell of much resistance charges and discharges along another stretch of the curve, which looks like a little less capacity.
        var worthCapacity = hasOhm ? 2 * e.WorthCapacity : e.WorthCapacity;
        var lowCapacity = e.SpanAh >= e.SpanNeededAh && e.CapacityTerm > worthCapacity && e.CapacityTerm > Sure * e.CapacityTermSigma;
        if (lowCapacity && IsLostParallel(e)) return LostParallel(e);
        if (e.HasTime && e.LeakA > e.WorthLeakA && e.LeakA > Sure * e.LeakSigmaA) return Leak(e);
        if (lowCapacity) return LowCapacity(e);
        if (hasOhm) return Resistance(e);
        if (e.SpanAh >= e.SpanNeededAh && e.CapacityTerm < -e.WorthCapacity && e.CapacityTerm < -Sure * e.CapacityTermSigma)
            return Finding(e, SuspectedCause.None, T($"has more capacity than its siblings, about {Ah(e.CapacityAh)} where they have {Ah(e.NominalAh)}: no fault"), T("nothing to do"));
        return Math.Abs(e.OffsetNowAh) < e.WorthAh ? Finding(e, SuspectedCause.None, "", "") : Offset(e);
    }

    private static bool IsLostParallel(CauseEvidence e)
    {
        if (e.Parallel < 2) return false;
        double left = (e.Parallel - 1.0) / e.Parallel, ohm = 1 / left;
        return Math.Abs(e.CapacityAh / (left * e.NominalAh) - 1) < 0.15 && Math.Abs((1 + e.ExcessShare) / ohm - 1) < 0.25;
    }

    private static CellFinding LostParallel(CauseEvidence e) => Finding(
        e, SuspectedCause.LostParallelCell,
        T($"{Ah(e.CapacityAh)} where its siblings have {Ah(e.NominalAh)}, and {Say.With(1 + e.ExcessShare, "0.0", T("times"))} their resistance: one of {e.Parallel} parallel cells has dropped out. Ageing moves both much less"),
        T("reject the module"));

    private static CellFinding Leak(CauseEvidence e)
    {
        var figure = T($"loses {MilliA(e.LeakA)} ±{MilliA(2 * e.LeakSigmaA)} beyond its siblings over {Say.Span(3600 * e.SpanH)}");
        return e.LeakA > 0.7 * e.BleedA
            ? Finding(e, SuspectedCause.StuckBleed, T($"{figure}: as much as a bleed switch takes ({MilliA(e.BleedA)}). A leak of this size would be new, an offset would not grow"), T("lead-drop test: does the neighbour move when bleeding is switched on and off?"))
            : Finding(e, SuspectedCause.SelfDischarge, T($"{figure}. An offset would not grow with time, low capacity would follow the charge moved, a stuck bleed would take {MilliA(e.BleedA)}"), T("look again in a week; reject above 5") + Say.Thin + "mA");
    }

    private static CellFinding LowCapacity(CauseEvidence e)
    {
        var even = e.EvenAtPercent;
        var level = even is >= 0 and <= 102 ? T($"level with its siblings at {Say.With(even, "0", "%")} charge") : T($"off by {Signed(e.OffsetNowAh)} now");
        return Finding(
            e, SuspectedCause.LowCapacity,
            T($"low capacity fits: {level}, about {Ah(e.CapacityAh)} ±{Ah(2 * e.CapacitySigmaAh)} where they have {Ah(e.NominalAh)}. A charge offset would be the same at every level"),
            T("bench discharge; bleeding will not help"));
    }

    private static CellFinding Resistance(CauseEvidence e)
    {
        var extra = T($"{Say.Milliohms(e.Ohm10)} where its siblings have {Say.Milliohms(e.MedianOhm10)}");
        double excessEarly = e.EarlyOhm - e.MedianEarlyOhm, excess10 = e.Ohm10 - e.MedianOhm10;
        var x = e.Excess;
        if (x.Pattern == ExcessPattern.Jumping)
            return Finding(e, SuspectedCause.LooseJoint, T($"{Between(x.LowOhm, x.HighOhm)} above its siblings, another value from one step of current to the next ({x.Steps} steps): a cell's own resistance does not jump"), T("take the load off; clean and torque the joint"));
        if (excess10 > 1.2 * excessEarly)
            return Finding(e, SuspectedCause.HighResistance, T($"{extra}, and more after 10 s than at once: the cell's slow part. A joint answers all at once; nothing at rest, so no charge offset"), T("ease the current; place it cool"));
        return x.Pattern switch
        {
            ExcessPattern.Constant => Finding(
                e, SuspectedCause.LooseJoint,
                T($"{extra}, all of it at once, and {Say.Milliohms(x.MeanOhm)} more in each of {x.Steps} steps, while theirs went from {Between(x.SiblingsLowOhm, x.SiblingsHighOhm)}: the cell's own would have moved with theirs"),
                T("clean and torque the joint")),
            ExcessPattern.Proportional => Finding(
                e, SuspectedCause.HighResistance,
                T($"{extra}, and the same share more in each of {x.Steps} steps, while theirs went from {Between(x.SiblingsLowOhm, x.SiblingsHighOhm)}: a joint would have added the same each time"),
                T("ease the current; place it cool")),
            _ => Undecided(
                e, T($"{extra}, all of it at once: a loose joint inside its loop or the cell's own ohmic part"),
                T("clean and torque the joint: if the excess goes, it was the joint; or steps of current on a cold and on a warm day: a joint adds the same ohms, a cell's own grow in the cold")),
        };
    }

    private static CellFinding Offset(CauseEvidence e)
    {
        var figure = T($"{Signed(e.OffsetNowAh)} from its siblings");
        var spanned = e.SpanAh >= e.SpanNeededAh;
        var capacityExcluded = spanned && Math.Abs(e.CapacityTerm) + 2 * e.CapacityTermSigma < 1.2 * e.WorthCapacity;
        // A cell that stands high cannot have got there by leaking.
        var leakExcluded = e.OffsetNowAh > 0 || e.HasTime && e.LeakA + 2 * e.LeakSigmaA < 2 * e.WorthLeakA;
        if (capacityExcluded && leakExcluded)
            return Finding(
                e, SuspectedCause.ChargeOffset,
                T($"{figure}, the same over {Ah(e.SpanAh)} of charge moved (capacity {Ah(e.CapacityAh)} ±{Ah(2 * e.CapacitySigmaAh)}){(e.HasTime ? T($" and over {Say.Span(3600 * e.SpanH)}") : "")}: charge offset"),
                e.OffsetNowAh > 0 ? T($"bleed {Ah(e.OffsetNowAh)} once") : T($"bleed the others, or top it up by {Ah(-e.OffsetNowAh)} once"));

        var tests = new List<string>();
        if (!capacityExcluded) tests.Add(T($"one rest {Say.With(100 * e.SpanNeededAh / e.NominalAh, "0", "%")} of charge away from here tells low capacity"));
        if (!leakExcluded) tests.Add(T("three days at rest tell a leak"));
        var rivals = (capacityExcluded, leakExcluded) switch
        {
            (false, false) => T("charge offset, low capacity and a leak all fit"),
            (false, true) => T("charge offset and capacity both fit"),
            _ => T("charge offset and a leak both fit"),
        };
        return Undecided(e, $"{figure}: {rivals}", string.Join("; ", tests));
    }

    private static CellFinding Undecided(CauseEvidence e, string evidence, string decides) => Finding(e, SuspectedCause.Undecided, evidence, decides);

    private static CellFinding Finding(CauseEvidence e, SuspectedCause cause, string evidence, string decides) => new(
        e.Cell, cause, evidence, decides, e.OffsetNowAh, e.SpanAh >= e.SpanNeededAh ? e.CapacityAh : double.NaN, e.LeakA, e.Ohm10 - e.MedianOhm10);

    private static string Between(double low, double high) => T($"{Say.Milliohms(low)} to {Say.Milliohms(high)}");

    private static string Ah(double ah) => Say.AmpereHours(ah);

    private static string Signed(double ah) => Say.With(ah, Math.Abs(ah) < 0.995 ? "+0.00;-0.00" : "+0.0;-0.0", "Ah");

    private static string MilliA(double a) => Say.With(1000 * a, Math.Abs(a) < 0.00995 ? "0.0" : "0", "mA");
}
