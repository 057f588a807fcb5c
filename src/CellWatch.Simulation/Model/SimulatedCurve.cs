using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Simulation.Model;

/// <summary>The curve of all simulated cells: NMC532 / graphite of Mohtat et al. 2020, the one the 4.20 V cell type points to.</summary>
internal static class SimulatedCurve
{
    public static OcvCurve Curve { get; } = OcvCurves.Named("nmc532-graphite-mohtat2020");

    public static OcvGrid Grid { get; } = new(Curve.SocPercent, Curve.VoltageV);
}
