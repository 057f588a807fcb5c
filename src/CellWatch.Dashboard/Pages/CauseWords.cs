using CellWatch.Core.Imbalance;

namespace CellWatch.Dashboard.Pages;

/// <summary>Causes as a person reads them.</summary>
public static class CauseWords
{
    /// <summary>The cause in a few words, without a full stop.</summary>
    public static string Of(SuspectedCause cause) => cause switch
    {
        SuspectedCause.None => "no fault",
        SuspectedCause.Undecided => "undecided",
        SuspectedCause.ChargeOffset => "charge offset",
        SuspectedCause.LowCapacity => "low capacity",
        SuspectedCause.HighResistance => "high resistance of its own",
        SuspectedCause.LooseJoint => "joint inside its loop",
        SuspectedCause.SelfDischarge => "leaks",
        SuspectedCause.StuckBleed => "bleeds all the time",
        SuspectedCause.BadLead => "lead, not cell",
        _ => "a parallel cell is lost",
    };
}
