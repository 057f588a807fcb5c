namespace CellWatch.Core.Estimation;

/// <summary>What became of one sample given to a <see cref="ChargeCounter"/>.</summary>
public enum CountOutcome
{
    /// <summary>The first sample: nothing to count yet.</summary>
    First,

    /// <summary>The stretch since the sample before is counted.</summary>
    Counted,

    /// <summary>The clock did not go forward; the sample is not used.</summary>
    ClockNotForward,

    /// <summary>A gap with rest on both sides: counted, and flagged.</summary>
    BridgedGap,

    /// <summary>A gap under current: not counted, the charge in it is not known.</summary>
    UnknownGap,
}

/// <summary>
/// Counts charge and energy by the trapezoid rule over the time stamps. A gap is not filled silently: it is bridged only where both
/// sides are at rest, else the charge that went through it is unknown and stays out.
/// <para>Source: textbook rule; the handling of gaps is an own rule. Current positive = charging.</para>
/// </summary>
/// <param name="longestStepS">A longer step is a gap, s. Common rule: twice the sampling interval. Infinite for test files with deliberate sparse rows.</param>
/// <param name="restA">At or below this magnitude the cell is at rest, A.</param>
public sealed class ChargeCounter(double longestStepS, double restA)
{
    private double lastS, lastA, lastV;
    private bool hasLast;

    /// <summary>Charge put in, Ah, 0 or more.</summary>
    public double InAh { get; private set; }

    /// <summary>Charge taken out, Ah, 0 or more.</summary>
    public double OutAh { get; private set; }

    /// <summary>In minus out, Ah.</summary>
    public double NetAh => InAh - OutAh;

    /// <summary>Integral of voltage times current, Wh, positive into the cell.</summary>
    public double NetWh { get; private set; }

    /// <summary>Energy taken out, Wh, 0 or more: what is put in again does not lessen it.</summary>
    public double OutWh { get; private set; }

    /// <summary>Gaps whose charge is not known.</summary>
    public int UnknownGaps { get; private set; }

    /// <summary>Takes one sample in.</summary>
    public CountOutcome Add(double timeS, double currentA, double voltageV)
    {
        var outcome = !hasLast ? CountOutcome.First : Count(timeS, currentA, voltageV);
        if (outcome == CountOutcome.ClockNotForward) return outcome;
        (lastS, lastA, lastV, hasLast) = (timeS, currentA, voltageV, true);
        return outcome;
    }

    private CountOutcome Count(double timeS, double currentA, double voltageV)
    {
        var dtS = timeS - lastS;
        if (!(dtS >= 0)) return CountOutcome.ClockNotForward;
        var isGap = dtS > longestStepS;
        if (isGap && (Math.Abs(currentA) > restA || Math.Abs(lastA) > restA))
        {
            UnknownGaps++;
            return CountOutcome.UnknownGap;
        }

        var ah = TrapezoidAh(lastA, currentA, dtS);
        if (ah > 0) InAh += ah;
        else OutAh -= ah;
        var wh = (lastA * lastV + currentA * voltageV) / 2 * dtS / 3600;
        NetWh += wh;
        if (wh < 0) OutWh -= wh;
        return isGap ? CountOutcome.BridgedGap : CountOutcome.Counted;
    }

    /// <summary>Charge of one step, Ah, signed.</summary>
    public static double TrapezoidAh(double fromA, double toA, double dtS) => (fromA + toA) / 2 * dtS / 3600;

    /// <summary>Charge level after counting: z = z0 + (efficiency x in - out) / Q, percent. Efficiency about 0.999 for a healthy cell (from memory).</summary>
    public static double SocPercent(double startPercent, double inAh, double outAh, double capacityAh, double chargeEfficiency = 1) =>
        startPercent + 100 * (chargeEfficiency * inAh - outAh) / capacityAh;

    /// <summary>Charge error of a constant current error, Ah.</summary>
    public static double OffsetErrorAh(double offsetA, double hours) => offsetA * hours;

    /// <summary>Standard deviation of the charge counted from <paramref name="samples"/> samples with independent noise, Ah.</summary>
    public static double NoiseErrorAh(double noiseA, long samples, double intervalS) => noiseA * Math.Sqrt(samples) * intervalS / 3600;
}
