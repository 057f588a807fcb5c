namespace CellWatch.Core.Proofs;

/// <summary>By what a channel can be proven.</summary>
public enum ProofMethod
{
    /// <summary>Hand meter on the unplugged connector.</summary>
    Stack,

    /// <summary>Sum of the cells against the terminals.</summary>
    Sum,

    /// <summary>A known load on the module's terminals.</summary>
    ModuleLoad,

    /// <summary>A load or bleed on one cell, in a rhythm.</summary>
    CellRhythm,

    /// <summary>A warm hand on a sensor.</summary>
    WarmHand,

    /// <summary>Known load and charger for the current sensor.</summary>
    KnownCurrent,

    /// <summary>String voltage against hand meter and sum.</summary>
    StringVoltage,
}

/// <summary>One attempt at a proof, passed or not; failed ones are kept too.</summary>
/// <param name="Subject">Module (<c>B07</c>) for a stack, sum or module load; channel name for the others.</param>
/// <param name="Method">By what.</param>
/// <param name="Passed">Whether it passed.</param>
/// <param name="Sentence">What was found.</param>
/// <param name="Readings">The readings it was judged by, with units in their names.</param>
/// <param name="DipMv">Dip, mV, where there is one.</param>
/// <param name="ConfidencePercent">Confidence, where there is one.</param>
/// <param name="Evidence">Where its data lie and how they were taken, in words; empty for readings typed in.</param>
public sealed record ProofAttempt(
    string Subject, ProofMethod Method, bool Passed, string Sentence, IReadOnlyDictionary<string, double> Readings, double? DipMv = null, double? ConfidencePercent = null,
    string Evidence = "");

/// <summary>Why the proofs of a module's connector no longer hold.</summary>
/// <param name="Module">The module.</param>
/// <param name="Reason">What happened, in words.</param>
public sealed record ProofVoided(string Module, string Reason);

/// <summary>Whether a channel is proven now.</summary>
/// <param name="Channel">Its name.</param>
/// <param name="Proven">True when a valid proof says that it is what it is named after.</param>
/// <param name="Why">By what and when, or what is missing.</param>
public sealed record ChannelProof(string Channel, bool Proven, string Why);
