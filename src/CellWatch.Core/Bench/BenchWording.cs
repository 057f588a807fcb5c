using CellWatch.Core.Proofs;

namespace CellWatch.Core.Bench;

/// <summary>Words of the bench that pages, reports and sentences share.</summary>
public static class BenchWording
{
    /// <summary>A gate's state as it stands on a page.</summary>
    public static string Of(GateState state) => state switch
    {
        GateState.Proven => T("PROVEN"),
        GateState.Ready => T("READY"),
        GateState.Reopened => T("RE-OPENED"),
        _ => T("OPEN"),
    };

    /// <summary>A way to prove a channel.</summary>
    public static string Of(ProofMethod method) => method switch
    {
        ProofMethod.Stack => T("connector by hand meter"),
        ProofMethod.Sum => T("sum against terminals"),
        ProofMethod.ModuleLoad => T("load on the module"),
        ProofMethod.CellRhythm => T("cell rhythm"),
        ProofMethod.WarmHand => T("warm hand"),
        ProofMethod.KnownCurrent => T("known load, then charger"),
        _ => T("string voltage against hand meter and sum"),
    };

    /// <summary>A verdict.</summary>
    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Accept => T("accept"),
        Verdict.AcceptWithLimits => T("accept with limits"),
        Verdict.LowPowerOnly => T("low power only"),
        Verdict.Reject => T("reject"),
        _ => T("undecided"),
    };

    /// <summary>Why a cell stands where it does after a night.</summary>
    public static string Of(NightCause cause) => cause switch
    {
        NightCause.ChargeOffset => T("charge offset"),
        NightCause.LowCapacity => T("low capacity"),
        NightCause.Leak => T("leak"),
        NightCause.BleedStuckOn => T("bleed stays on"),
        NightCause.BleedDead => T("bleed does nothing"),
        NightCause.Level => T("level"),
        _ => T("undecided"),
    };

    /// <summary>A criterion of a grade; the records keep its English name.</summary>
    public static string Criterion(string name) => name switch
    {
        "inspection" => T("inspection"),
        "rest test" => T("rest test"),
        "capacity" => T("capacity"),
        "resistance" => T("resistance"),
        "isolation" => T("isolation"),
        _ => name,
    };
}
