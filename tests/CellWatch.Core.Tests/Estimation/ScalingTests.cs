using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;
using CsCheck;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>Laws of size: a pack n times as large, at n times the current and an n-th of the resistance, is the same pack.</summary>
public sealed class ScalingTests
{
    [Fact]
    public void A_cell_n_times_as_large_has_the_same_charge_level_and_n_times_the_difference_in_ampere_hours() =>
        Gen.Double[0.1, 20].Select(Gen.Double[-60, 60].Array[40], Gen.Double[0.2, 0.9]).Sample(
            (size, currents, level) =>
            {
                var plain = Filtered(1, currents, level);
                var large = Filtered(size, currents, level);
                return Enumerable.Range(0, 3).All(k =>
                    Math.Abs(plain.SocPercent[k] - large.SocPercent[k]) < 1e-6 && Math.Abs(plain.SigmaPercent[k] - large.SigmaPercent[k]) < 1e-6
                    && Math.Abs(plain.DeltaAh[k] * size - large.DeltaAh[k]) < 1e-6 * Math.Max(1, size));
            },
            iter: 100, threads: 1);

    [Fact]
    public void Twice_the_charge_to_bleed_takes_twice_the_hours_and_heat_and_twice_the_resistor_twice_the_hours() =>
        Gen.Double[0.01, 5].Select(Gen.Double[3, 4.2], Gen.Double[5, 100], Gen.Double[0.1, 1]).Sample(
            (ah, v, ohm, duty) =>
                Math.Abs(Balancing.Hours(2 * ah, v, ohm, duty) / Balancing.Hours(ah, v, ohm, duty) - 2) < 1e-12
                && Math.Abs(Balancing.Hours(ah, v, 2 * ohm, duty) / Balancing.Hours(ah, v, ohm, duty) - 2) < 1e-12
                && Math.Abs(Balancing.HeatWh(2 * ah, v) / Balancing.HeatWh(ah, v) - 2) < 1e-12,
            iter: 200, threads: 1);

    private static SocBank Filtered(double size, double[] currents, double level)
    {
        var curve = OcvCurves.Named("nmc532-graphite-mohtat2020");
        var bank = new SocBank(3, new SocBankOptions { CapacityAh = 110 * size, SeriesResistanceOhm = 0.0006 / size, BranchResistanceOhm = 0.0004 / size }, curve);
        var v = new double[3];
        var z = level;
        foreach (var currentA in currents)
        {
            z = Math.Clamp(z + currentA * 10 / 3600 / 110, 0.05, 0.95);
            for (var k = 0; k < 3; k++) v[k] = curve.VoltageAt(100 * z - k) + 0.0008 * currentA;
            bank.Step(v, [true, true, true], currentA * size, true, 25, 10);
        }

        return bank;
    }
}
