namespace CellWatch.Core.Estimation.Ocv;

/// <summary>What a lookup of charge from voltage came to.</summary>
public enum OcvAnswer
{
    /// <summary>The charge is told.</summary>
    Told,

    /// <summary>The voltage lies above the curve; the charge is clamped to its top and not to be trusted.</summary>
    AboveTop,

    /// <summary>The voltage lies below the curve; the charge is clamped to its bottom and not to be trusted.</summary>
    BelowBottom,

    /// <summary>Cannot tell here: the curve rises by less than 2 mV per percent, so a millivolt is worth more than half a percent.</summary>
    TooFlat,
}

/// <summary>Charge read from a curve.</summary>
/// <param name="SocPercent">0 to 100; the clamped end or the nearest guess where <paramref name="Answer"/> is not <see cref="OcvAnswer.Told"/>.</param>
/// <param name="SlopeMvPerPercent">Slope of the curve there.</param>
/// <param name="Answer">Whether the charge may be used.</param>
public readonly record struct OcvLookup(double SocPercent, double SlopeMvPerPercent, OcvAnswer Answer)
{
    /// <summary>True when the charge may be used.</summary>
    public bool IsTold => Answer == OcvAnswer.Told;
}

/// <summary>
/// Open-circuit voltage against charge: strictly rising points joined by straight lines, never extrapolated.
/// </summary>
public sealed class OcvCurve
{
    /// <summary>Below this slope a voltage does not tell the charge (own rule; 1 mV is then worth more than half a percent).</summary>
    public const double FlatMvPerPercent = 2.0;

    private readonly double[] socPercent;
    private readonly double[] voltageV;
    private readonly double[] sigmaV;

    /// <param name="name">Short name, as a setting holds it.</param>
    /// <param name="chemistry">What cell it describes, in words.</param>
    /// <param name="source">Paper or measurement behind the numbers.</param>
    /// <param name="socPercent">At least two, strictly rising, within 0 to 100.</param>
    /// <param name="voltageV">As many, strictly rising.</param>
    /// <param name="sigmaV">Standard deviation of each voltage; null where the source states none, then <see cref="SigmaAt"/> is NaN.</param>
    /// <exception cref="ArgumentException">The points do not rise strictly or are not finite; the message says where.</exception>
    public OcvCurve(
        string name, string chemistry, string source, ReadOnlySpan<double> socPercent, ReadOnlySpan<double> voltageV, ReadOnlySpan<double> sigmaV = default)
    {
        if (socPercent.Length < 2 || socPercent.Length != voltageV.Length || (!sigmaV.IsEmpty && sigmaV.Length != voltageV.Length))
            throw new ArgumentException($"Curve '{name}': at least two points are needed, and as many voltages as charges.", nameof(socPercent));
        for (var i = 0; i < socPercent.Length; i++)
        {
            if (!double.IsFinite(voltageV[i]) || !(socPercent[i] is >= 0 and <= 100))
                throw new ArgumentException($"Curve '{name}', point {i + 1}: charge must lie from 0 to 100 % and voltage be finite.", nameof(socPercent));
            if (i > 0 && !(socPercent[i] > socPercent[i - 1] && voltageV[i] > voltageV[i - 1]))
                throw new ArgumentException($"Curve '{name}', point {i + 1}: charge and voltage must both rise from point to point.", nameof(voltageV));
        }

        (Name, Chemistry, Source) = (name, chemistry, source);
        this.socPercent = socPercent.ToArray();
        this.voltageV = voltageV.ToArray();
        this.sigmaV = sigmaV.ToArray();
    }

    /// <summary>Short name, as a setting holds it.</summary>
    public string Name { get; }

    /// <summary>What cell it describes, in words.</summary>
    public string Chemistry { get; }

    /// <summary>Paper or measurement behind the numbers.</summary>
    public string Source { get; }

    /// <summary>Charge of each point, percent, rising.</summary>
    public ReadOnlySpan<double> SocPercent => socPercent;

    /// <summary>Voltage of each point, V, rising.</summary>
    public ReadOnlySpan<double> VoltageV => voltageV;

    /// <summary>Lowest charge the curve covers, percent.</summary>
    public double BottomSocPercent => socPercent[0];

    /// <summary>Highest charge the curve covers, percent.</summary>
    public double TopSocPercent => socPercent[^1];

    /// <summary>Lowest voltage of the curve.</summary>
    public double BottomV => voltageV[0];

    /// <summary>Highest voltage of the curve.</summary>
    public double TopV => voltageV[^1];

    /// <summary>Voltage at a charge.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the curve: it is never extrapolated.</exception>
    public double VoltageAt(double soc) => Interpolate(socPercent, voltageV, Covered(soc));

    /// <summary>Standard deviation of the curve at a charge, V; NaN where the source states none.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the curve.</exception>
    public double SigmaAt(double soc) => sigmaV.Length == 0 ? double.NaN : Interpolate(socPercent, sigmaV, Covered(soc));

    /// <summary>Slope in mV per percent: of the straight piece there; on a point, the mean of the pieces on both sides.</summary>
    /// <exception cref="ArgumentOutOfRangeException">Outside the curve.</exception>
    public double SlopeAt(double soc)
    {
        var i = PieceOf(socPercent, Covered(soc));
        if (soc == socPercent[i] && i > 0) return (PieceSlope(i - 1) + PieceSlope(i)) / 2;
        return PieceSlope(i);
    }

    /// <summary>Charge at an open-circuit voltage; says so where the curve cannot tell.</summary>
    public OcvLookup SocAt(double restV)
    {
        if (!(restV <= TopV)) return new OcvLookup(TopSocPercent, PieceSlope(socPercent.Length - 2), OcvAnswer.AboveTop);
        if (restV < BottomV) return new OcvLookup(BottomSocPercent, PieceSlope(0), OcvAnswer.BelowBottom);
        var slope = PieceSlope(PieceOf(voltageV, restV));
        return new OcvLookup(Interpolate(voltageV, socPercent, restV), slope, slope < FlatMvPerPercent ? OcvAnswer.TooFlat : OcvAnswer.Told);
    }

    internal static OcvCurve FromPairs(string name, string chemistry, string source, ReadOnlySpan<double> pairs)
    {
        var soc = new double[pairs.Length / 2];
        var v = new double[pairs.Length / 2];
        for (var i = 0; i < soc.Length; i++) (soc[i], v[i]) = (pairs[2 * i], pairs[2 * i + 1]);
        return new OcvCurve(name, chemistry, source, soc, v);
    }

    private double Covered(double soc) => soc >= BottomSocPercent && soc <= TopSocPercent
        ? soc
        : throw new ArgumentOutOfRangeException(nameof(soc), soc, $"Curve '{Name}' covers {BottomSocPercent} to {TopSocPercent} %.");

    private double PieceSlope(int i) => 1000 * (voltageV[i + 1] - voltageV[i]) / (socPercent[i + 1] - socPercent[i]);

    /// <summary>Index of the straight piece whose lower end lies at or below <paramref name="x"/>.</summary>
    private static int PieceOf(double[] points, double x)
    {
        int low = 0, high = points.Length - 2;
        while (low < high)
        {
            var middle = (low + high + 1) / 2;
            if (points[middle] <= x) low = middle;
            else high = middle - 1;
        }

        return low;
    }

    private static double Interpolate(double[] from, double[] to, double x)
    {
        var i = PieceOf(from, x);
        return to[i] + (x - from[i]) / (from[i + 1] - from[i]) * (to[i + 1] - to[i]);
    }
}
