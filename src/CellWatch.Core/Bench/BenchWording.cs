using CellWatch.Core.Proofs;

namespace CellWatch.Core.Bench;

/// <summary>Words of the bench that pages, reports and sentences share.</summary>
public static class BenchWording
{
    /// <summary>A gate's state as it stands on a page.</summary>
    public static string Of(GateState state) => state switch
    {
        GateState.Proven => "PROVEN",
        GateState.Ready => "READY",
        GateState.Reopened => "RE-OPENED",
        _ => "OPEN",
    };

    /// <summary>A way to prove a channel.</summary>
    public static string Of(ProofMethod method) => method switch
    {
        ProofMethod.Stack => "connector by hand meter",
        ProofMethod.Sum => "sum against terminals",
        ProofMethod.ModuleLoad => "load on the module",
        ProofMethod.CellRhythm => "cell rhythm",
        ProofMethod.WarmHand => "warm hand",
        ProofMethod.KnownCurrent => "known load, then charger",
        _ => "string voltage against hand meter and sum",
    };

    /// <summary>A verdict.</summary>
    public static string Of(Verdict verdict) => verdict switch
    {
        Verdict.Accept => "accept",
        Verdict.AcceptWithLimits => "accept with limits",
        Verdict.LowPowerOnly => "low power only",
        Verdict.Reject => "reject",
        _ => "undecided",
    };

    /// <summary>Why a cell stands where it does after a night.</summary>
    public static string Of(NightCause cause) => cause switch
    {
        NightCause.ChargeOffset => "charge offset",
        NightCause.LowCapacity => "low capacity",
        NightCause.Leak => "leak",
        NightCause.BleedStuckOn => "bleed stays on",
        NightCause.BleedDead => "bleed does nothing",
        NightCause.Level => "level",
        _ => "undecided",
    };
}
