using CellWatch.Core.Assess;
using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>Simulated cells of known truth: the curve and circuit that the filter is given, unless said.</summary>
public class SocBankTests
{
    private static readonly OcvCurve Curve = OcvCurves.Named("nmc532-graphite-mohtat2020");

    private static SocBankOptions Options => new() { CapacityAh = 110, SeriesResistanceOhm = 0.6e-3, BranchResistanceOhm = 0.4e-3 };

    private sealed class Pack(double[] soc, double[] capacityAh, double[] scale)
    {
        private readonly EquivalentCircuit[] circuits = [.. scale.Select(s => new EquivalentCircuit(0.6e-3 * s, new RcBranch(0.4e-3 * s, 60)))];

        public double[] Soc { get; } = soc;

        public double[] V { get; } = new double[soc.Length];

        public void Step(double currentA, double dtS)
        {
            for (var k = 0; k < Soc.Length; k++)
            {
                Soc[k] += 100 * currentA * dtS / 3600 / capacityAh[k];
                circuits[k].Step(currentA, dtS);
                V[k] = circuits[k].TerminalV(Curve.VoltageAt(Soc[k]), currentA);
            }
        }
    }

    private static bool[] AllUsable(int n) => Enumerable.Repeat(true, n).ToArray();

    [Fact]
    public void A_wrong_start_is_corrected_and_the_charge_difference_is_seen()
    {
        var pack = new Pack([60, 60, 58, 60], [110, 110, 110, 110], [1, 1, 1, 1]);
        var bank = new SocBank(4, Options with { StartSocPercent = 75 }, Curve);
        for (var s = 0; s < 3600; s++)
        {
            var current = s % 600 < 300 ? -60.0 : 40.0;
            pack.Step(current, 1);
            bank.Step(pack.V, AllUsable(4), current, true, 20, 1);
        }

        for (var k = 0; k < 4; k++) Assert.InRange(bank.SocPercent[k] - pack.Soc[k], -1, 1);
        Assert.Equal(-2.2, bank.DeltaAh[2], 0.3);
        Assert.InRange(Math.Abs(bank.DeltaAh[2] + 2.2), 0, 2 * bank.DeltaSigmaAh[2]);
        Assert.InRange(bank.DeltaAh[0], -0.05, 0.05);
        Assert.DoesNotContain(true, bank.CurveDoesNotFit.ToArray());
    }

    [Fact]
    public void Resistance_is_measured_on_steps_and_filed_by_temperature_and_charge()
    {
        var pack = new Pack([60, 60], [110, 110], [1, 1.5]);
        var bank = new SocBank(2, Options, Curve);
        for (var s = 0; s < 60; s++)
        {
            var current = s < 20 ? 0.0 : -55;
            pack.Step(current, 1);
            bank.Step(pack.V, AllUsable(2), current, true, 20, 1);
        }

        // The sampled step begins up to one interval before the first loaded sample, and the curve itself falls a little.
        var expected = 0.6e-3 + 0.4e-3 * (1 - Math.Exp(-10.0 / 60));
        Assert.InRange(bank.Resistance10sOhm[0], expected * 0.97, expected * 1.05);
        Assert.InRange(bank.Resistance10sOhm[1] / bank.Resistance10sOhm[0], 1.45, 1.5);
        Assert.True(double.IsNaN(bank.Resistance.LatestOhm(ResistanceTime.Tenth)[0])); // 1 s sampling cannot tell it
        Assert.Equal(1, bank.Resistance.Binned(0, ResistanceTime.Two, 2, 2).Count);
        Assert.Equal((double.NaN, 0), bank.Resistance.Binned(0, ResistanceTime.Two, 0, 0));
    }

    [Fact]
    public void A_current_that_is_not_flat_or_a_lost_reading_gives_no_resistance()
    {
        var pack = new Pack([60, 60], [110, 110], [1, 1]);
        var bank = new SocBank(2, Options, Curve);
        for (var s = 0; s < 60; s++)
        {
            var current = s < 20 ? 0.0 : -55 - (s - 20) * 2;
            pack.Step(current, 1);
            bank.Step(pack.V, AllUsable(2), current, true, 20, 1);
        }

        Assert.True(double.IsNaN(bank.Resistance10sOhm[0]));
        for (var s = 0; s < 60; s++)
        {
            var current = s < 20 ? 0.0 : -55;
            pack.Step(current, 1);
            bank.Step(pack.V, [s != 25, true], current, true, double.NaN, 1);
        }

        Assert.True(double.IsNaN(bank.Resistance10sOhm[0]));
        Assert.InRange(bank.Resistance10sOhm[1], 0.6e-3, 0.75e-3);
    }

    [Fact]
    public void At_ten_hertz_and_faster_the_ohmic_part_is_told_apart()
    {
        var pack = new Pack([60], [110], [1]);
        var bank = new SocBank(1, Options, Curve);
        for (var s = 0; s < 1500; s++)
        {
            var current = s < 600 ? 0.0 : -55;
            pack.Step(current, 0.02);
            bank.Step(pack.V, AllUsable(1), current, true, 20, 0.02);
        }

        Assert.InRange(bank.Resistance.LatestOhm(ResistanceTime.Tenth)[0], 0.595e-3, 0.61e-3);
    }

    [Fact]
    public void Two_rests_with_a_swing_between_give_each_cell_its_own_capacity()
    {
        var pack = new Pack([85, 85, 85], [110, 99, 110], [1, 1, 1]);
        var bank = new SocBank(3, Options with { CapacitySigma = 0.1 }, Curve);
        void Run(double current, int seconds)
        {
            for (var s = 0; s < seconds; s += 5)
            {
                pack.Step(current, 5);
                bank.Step(pack.V, AllUsable(3), current, true, 20, 5);
            }
        }

        Run(0, 2000);
        for (var cycle = 0; cycle < 3; cycle++)
        {
            Run(-55, 3600);
            Run(0, 2400);
            Run(55, 3600);
            Run(0, 2400);
        }

        Assert.True(bank.CapacityPairs(0) >= 4);
        Assert.InRange(bank.CapacityAh[0], 107, 113);
        Assert.InRange(bank.CapacityAh[1], 96, 103);
        Assert.InRange(Math.Abs(bank.CapacityAh[1] - 99), 0, 2 * bank.CapacitySigmaAh[1]);
    }

    [Fact]
    public void A_cell_without_readings_is_counted_on_with_growing_doubt_and_a_lost_current_widens_all()
    {
        var pack = new Pack([60, 60], [110, 110], [1, 1]);
        var bank = new SocBank(2, Options, Curve);
        void Run(int seconds, bool second, bool current)
        {
            for (var s = 0; s < seconds; s++)
            {
                pack.Step(-30, 1);
                bank.Step(pack.V, [true, second], -30, current, 20, 1);
            }
        }

        Run(600, true, true);
        var whileRead = bank.SigmaPercent[1];
        Run(600, false, true);
        Assert.True(bank.SigmaPercent[1] > whileRead);
        Assert.InRange(bank.SocPercent[1] - pack.Soc[1], -1.5, 1.5);
        var before = bank.SigmaPercent[0];
        Run(120, true, false);
        Assert.True(bank.SigmaPercent[0] > before + 1);
    }

    [Fact]
    public void A_cell_never_read_has_no_level()
    {
        var bank = new SocBank(2, Options, Curve);
        bank.Step([3.8, 0], [true, false], 0, true, 20, 1);
        Assert.True(double.IsNaN(bank.SocPercent[1]));
        Assert.True(double.IsNaN(bank.DeltaAh[1]));
        Assert.Equal(0, bank.DeltaAh[0]);
    }

    [Fact]
    public void On_a_flat_curve_it_counts_and_says_that_it_cannot_tell()
    {
        var lfp = OcvCurves.Named("lfp-graphite-prada2013");
        var bank = new SocBank(1, Options, lfp);
        bank.SetSoc(0, 55, 2);
        for (var s = 0; s < 3600; s++) bank.Step([3.2700], AllUsable(1), 0, true, 20, 1); // 3 mV above the curve: 65 % by lookup
        Assert.True(bank.CannotTellHere[0]);
        Assert.InRange(bank.SocPercent[0], 53, 58);
        Assert.InRange(bank.SigmaPercent[0], 1.5, 4);
    }

    [Fact]
    public void The_same_input_gives_the_same_bits_and_a_step_allocates_nothing()
    {
        static double[] Run(out long allocated)
        {
            var n = 216;
            var pack = new Pack(Enumerable.Range(0, n).Select(k => 50 + k % 7 * 0.3).ToArray(), Enumerable.Repeat(110.0, n).ToArray(), Enumerable.Repeat(1.0, n).ToArray());
            var bank = new SocBank(n, Options, Curve);
            var usable = AllUsable(n);
            allocated = 0;
            for (var s = 0; s < 4000; s++)
            {
                var current = s is > 100 and < 400 ? -60 : 0.0;
                pack.Step(current, 1);
                var before = GC.GetAllocatedBytesForCurrentThread();
                bank.Step(pack.V, usable, current, true, 20, 1);
                if (s > 10) allocated += GC.GetAllocatedBytesForCurrentThread() - before;
            }

            return [.. bank.SocPercent, .. bank.SigmaPercent, .. bank.DeltaAh, .. bank.Resistance10sOhm];
        }

        // The first run also sets up what is made once a program.
        var first = Run(out _);
        Assert.Equal(first, Run(out var bytes));
        Assert.Equal(0, bytes);
    }

    [Fact]
    public void The_order_of_the_cells_changes_no_answer()
    {
        double[] soc = [50, 52, 51, 49.5, 55];
        var order = new[] { 3, 0, 4, 2, 1 };
        SocBank Run(double[] start)
        {
            var pack = new Pack([.. start], Enumerable.Repeat(110.0, 5).ToArray(), [1, 1, 1, 1, 1]);
            var bank = new SocBank(5, Options, Curve);
            for (var s = 0; s < 900; s++)
            {
                pack.Step(-40, 1);
                bank.Step(pack.V, AllUsable(5), -40, true, 20, 1);
            }

            return bank;
        }

        SocBank straight = Run(soc), mixed = Run([.. order.Select(i => soc[i])]);
        for (var k = 0; k < 5; k++) Assert.Equal(straight.DeltaAh[order[k]], mixed.DeltaAh[k]);
    }

    // The three string files have no independent truth: charge differences between groups must agree between the rates.
    [SharedFact("data/ev_string6_discharge_0p3C.csv")]
    public void Differences_between_groups_agree_between_three_rates()
    {
        // Two of the learned cell in parallel: same curve, twice the capacity, half the resistance.
        var learned = EvCell.Learned();
        SocBank Run(string file)
        {
            using var reader = new StreamReader(SharedMaterial.PathOf("data/" + file));
            var table = MeasuredTable.Read(reader);
            var columns = Enumerable.Range(1, 6).Select(k => table.FindNumbers($"cell{k}_V")!).ToArray();
            double[] t = table.FindNumbers("time_s")!, i = table.FindNumbers("current_A")!;
            var bank = new SocBank(6, new SocBankOptions { CapacityAh = 2 * learned.CapacityAh, SeriesResistanceOhm = 0.85e-3, BranchResistanceOhm = 0.5e-3 }, learned.Curve);
            // Until half the charge is out.
            for (var k = 0; k < t.Length && ChargeOut(t, i, k) < 27.5; k++)
                bank.Step(columns.Select(c => c[k]).ToArray(), AllUsable(6), i[k], true, 25, k == 0 ? 0 : t[k] - t[k - 1]);
            return bank;
        }

        double ahOut = 0;
        double ChargeOut(double[] t, double[] i, int k)
        {
            ahOut = k == 0 ? 0 : ahOut - (i[k] + i[k - 1]) / 2 * (t[k] - t[k - 1]) / 3600;
            return ahOut;
        }

        SocBank[] banks = [Run("ev_string6_discharge_0p3C.csv"), Run("ev_string6_discharge_2C.csv"), Run("ev_string6_discharge_2p75C.csv")];
        foreach (var a in banks)
            foreach (var b in banks)
                for (var k = 0; k < 6; k++)
                    Assert.InRange(Math.Abs(a.DeltaAh[k] - b.DeltaAh[k]), 0, 2 * Math.Sqrt(a.DeltaSigmaAh[k] * a.DeltaSigmaAh[k] + b.DeltaSigmaAh[k] * b.DeltaSigmaAh[k]));
        Assert.All(banks, b => Assert.True(b.DeltaAh[0] < -1));
    }
}
