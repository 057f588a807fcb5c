namespace CellWatch.Core.Proofs;

/// <summary>When a load is on during a proof: so many cycles of on, then off, after a lead-in without load.</summary>
/// <param name="LeadInS">Seconds without load before the first cycle.</param>
/// <param name="OnS">Seconds on.</param>
/// <param name="OffS">Seconds off.</param>
/// <param name="Cycles">How many.</param>
/// <param name="SettleS">Samples nearer than this after an edge are left out: a hand does not switch on the beat.</param>
public readonly record struct LoadRhythm(double LeadInS, double OnS, double OffS, int Cycles, double SettleS)
{
    /// <summary>Five cycles of 10 s on, 10 s off. At 2 Hz that is 100 samples each way, so that 1 mV of noise leaves 0.14 mV.</summary>
    public static LoadRhythm FiveTens { get; } = new(0, 10, 10, 5, 0);

    /// <summary>
    /// The same for a hand that follows a count: ten seconds to get ready, and 1.5 s left out after each edge (own rule). At 2 Hz 85 samples each
    /// way are left, so that 1 mV of noise leaves 0.15 mV.
    /// </summary>
    public static LoadRhythm ByHand { get; } = FiveTens with { LeadInS = 10, SettleS = 1.5 };

    /// <summary>Seconds until the last cycle ends.</summary>
    public double LengthS => LeadInS + Cycles * (OnS + OffS);

    /// <summary>1 with load, 0 without, null where the sample is not to be used.</summary>
    public double? LoadAt(double timeS)
    {
        var t = timeS - LeadInS;
        if (timeS < 0 || timeS >= LengthS) return null;
        if (t < 0) return 0;
        var within = t % (OnS + OffS);
        var sinceEdge = within < OnS ? within : within - OnS;
        if (sinceEdge < SettleS) return null;
        return within < OnS ? 1 : 0;
    }

    /// <summary>What the count says at an instant.</summary>
    public RhythmCount CountAt(double timeS)
    {
        if (timeS < LeadInS) return new RhythmCount(RhythmPhase.GetReady, 1, LeadInS - Math.Max(0, timeS));
        if (timeS >= LengthS) return new RhythmCount(RhythmPhase.Over, Cycles, 0);
        var (cycle, within) = ((int)((timeS - LeadInS) / (OnS + OffS)), (timeS - LeadInS) % (OnS + OffS));
        return within < OnS ? new RhythmCount(RhythmPhase.On, cycle + 1, OnS - within) : new RhythmCount(RhythmPhase.Off, cycle + 1, OnS + OffS - within);
    }
}

/// <summary>What a person is asked to do with the load.</summary>
public enum RhythmPhase
{
    /// <summary>No load yet.</summary>
    GetReady,

    /// <summary>Load on.</summary>
    On,

    /// <summary>Load off.</summary>
    Off,

    /// <summary>All cycles are over: load off.</summary>
    Over,
}

/// <summary>Where a rhythm stands.</summary>
/// <param name="Phase">What to do.</param>
/// <param name="Cycle">Which cycle, from 1.</param>
/// <param name="LeftS">Seconds until the next edge.</param>
public readonly record struct RhythmCount(RhythmPhase Phase, int Cycle, double LeftS);
