using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Testing;

/// <summary>
/// A charge made from a formula, so that its record is known beforehand: five minutes of rest, one minute at 30 A ended by the hand cut-off, a minute of
/// rest, 60 A until cell 4 is at 4.10 V, then a taper with a time constant of 335 s down to 3 A. One scan a second.
/// </summary>
public static class MadeCharge
{
    /// <summary>One module of six.</summary>
    public static readonly PackLayout Layout = new("petrel", [new PackModule(new ModuleId("B07"), new ModuleTopology(6, 2), 2, 1, "bench")]);

    /// <summary>Seconds: end of the rest, of the cut-off's minute, beginning of the charge, cell 4 at its target, end.</summary>
    public const int RestEndS = 300, CutS = 360, BeginS = 420, TargetS = BeginS + 940, EndS = TargetS + 1004;

    /// <summary>Time constant of the taper, s.</summary>
    public const double TaperS = 335;

    /// <summary>Current at a second, A.</summary>
    public static double CurrentA(double t) => t < RestEndS ? 0 : t < CutS ? 30 : t < BeginS ? 0 : t < TargetS ? 60 : t <= EndS ? 60 * Math.Exp(-(t - TargetS) / TaperS) : 0;

    /// <summary>Voltage of a group (from 0) at a second, V.</summary>
    public static double CellV(int group, double t) => 3.64 + (t < BeginS ? 0 : 0.26 + 0.0002 * (Math.Min(t, TargetS) - BeginS)) + (group == 3 ? 0.012 : 0);

    /// <summary>The charge that goes in from the cut-off's minute to the end, Ah: sums of the formula.</summary>
    public static double InAh => (30.0 * 60 + 60.0 * 940 + 60 * TaperS * (1 - Math.Exp(-1004 / TaperS))) / 3600;

    /// <summary>A scan.</summary>
    /// <param name="t">Second.</param>
    /// <param name="began">Wall time of second 0.</param>
    /// <param name="change">What is different in it; null for nothing.</param>
    public static Snapshot Scan(int t, DateTimeOffset began, Action<SnapshotBuffer>? change = null) => Some.Snapshot(Layout, t + 1, b =>
    {
        b.Begin(t + 1, new SnapshotTime(1_000_000L * (t + 1), began.ToUnixTimeMilliseconds() + 1000L * t));
        b.Qualities.Fill(Quality.Good);
        b.Origins.Fill(Origin.Measured);
        b.Proven.Fill(true);
        for (var g = 0; g < 6; g++) b.Values[g] = CellV(g, t);
        for (var s = 0; s < 2; s++) b.Values[b.Map.FirstTemperature + s] = 26 + 0.5 * s + 0.001 * t;
        b.Values[b.Map.PackCurrent] = CurrentA(t);
        change?.Invoke(b);
    });
}
