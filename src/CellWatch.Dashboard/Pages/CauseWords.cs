using CellWatch.Core.Imbalance;

namespace CellWatch.Dashboard.Pages;

/// <summary>Causes as a person reads them.</summary>
public static class CauseWords
{
    /// <summary>The cause in a few words, without a full stop.</summary>
    public static string Of(SuspectedCause cause) => cause switch
    {
        SuspectedCause.None => T("no fault"),
        SuspectedCause.Undecided => T("undecided"),
        SuspectedCause.ChargeOffset => T("charge offset"),
        SuspectedCause.LowCapacity => T("low capacity"),
        SuspectedCause.HighResistance => T("high resistance of its own"),
        SuspectedCause.LooseJoint => T("joint inside its loop"),
        SuspectedCause.SelfDischarge => T("leaks"),
        SuspectedCause.StuckBleed => T("bleeds all the time"),
        SuspectedCause.BadLead => T("lead, not cell"),
        _ => T("a parallel cell is lost"),
    };
}
