using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Core.Tests.Engine;

/// <summary>
/// A small physical model behind a <see cref="PackBench"/>: each cell has its own capacity, level and resistance (one part at once, one
/// with 45 s), a charger holds the highest cell at a target. Written for these tests apart from the simulator, so that the engine is not
/// tested by its own twin.
/// </summary>
internal sealed class ModelPack
{
    private const double SlowS = 45;
    private readonly Random _random;
    private readonly double[] _slowV;
    private readonly double[] _rattle;

    public ModelPack(PackBench bench, double level, int seed, string curve = "nmc532-graphite-mohtat2020")
    {
        Bench = bench;
        _random = new Random(seed);
        Curve = OcvCurves.Named(curve);
        var n = bench.Map.CellCount;
        CapacityAh = [.. Enumerable.Range(0, n).Select(_ => 110 * (1 + 0.006 * Normal()))];
        Level = [.. Enumerable.Range(0, n).Select(_ => level + 0.001 * Normal())];
        OhmFast = [.. Enumerable.Range(0, n).Select(_ => 0.00085 * (1 + 0.03 * Normal()))];
        OhmSlow = [.. Enumerable.Range(0, n).Select(_ => 0.0006 * (1 + 0.03 * Normal()))];
        JointOhm = new double[n];
        _rattle = [.. Enumerable.Repeat(1.0, n)];
        LeakA = new double[n];
        BleedA = new double[n];
        _slowV = new double[n];
        bench.NoiseV = 0.001;
    }

    public PackBench Bench { get; }
    public OcvCurve Curve { get; }
    public double[] CapacityAh { get; }
    public double[] Level { get; }
    public double[] OhmFast { get; }
    public double[] OhmSlow { get; }

    /// <summary>Resistance of a joint inside a cell's loop, ohm; temperature and charge do not move it.</summary>
    public double[] JointOhm { get; }

    /// <summary>Cells whose joint is loose: it takes another value, between a fifth and the double, whenever it is rattled.</summary>
    public HashSet<int> LooseCells { get; } = [];

    /// <summary>Moves every loose joint.</summary>
    public void Rattle()
    {
        foreach (var cell in LooseCells) _rattle[cell] = 0.2 + 1.8 * _random.NextDouble();
    }

    /// <summary>What temperature makes of every cell's own resistance; 1 at 25 degC.</summary>
    public double OhmFactor { get; set; } = 1;
    public double[] LeakA { get; }
    public double[] BleedA { get; }

    /// <summary>Charger: constant current until the highest cell is at the target, then held there; NaN holds no target.</summary>
    public double ChargeA { get; set; }
    public double TargetV { get; set; } = double.NaN;
    public double EndA { get; set; } = 2.2;
    public double CurrentA { get; private set; }

    /// <summary>When the highest cell's own voltage first reached the target, s on the bench's clock; NaN while it did not.</summary>
    public double ArrivedAtS { get; private set; } = double.NaN;
    public int ArrivedCell { get; private set; } = -1;

    /// <summary>Runs for some seconds; after every scan <paramref name="each"/> is asked whether to go on.</summary>
    public void Run(double seconds, double dtS = 1, Func<bool>? each = null)
    {
        for (var s = 0.0; s < seconds; s += dtS)
        {
            Step(dtS);
            Bench.Run(dtS, dtS);
            if (each is not null && !each()) return;
        }
    }

    public double Highest() => Bench.CellV.Max();

    private void Step(double dtS)
    {
        Control(dtS);
        for (var k = 0; k < Level.Length; k++)
        {
            Level[k] += (CurrentA - LeakA[k] - BleedA[k]) * dtS / 3600 / CapacityAh[k];
            var keep = Math.Exp(-dtS / SlowS);
            _slowV[k] = keep * _slowV[k] + (1 - keep) * OhmFactor * OhmSlow[k] * CurrentA;
            Bench.CellV[k] = Curve.VoltageAt(Math.Clamp(100 * Level[k], 0, 100)) + CurrentA * (OhmFactor * OhmFast[k] + JointOhm[k] * _rattle[k]) + _slowV[k];
        }

        Bench.CurrentA = CurrentA + 0.03 * Normal();
        if (!double.IsNaN(ArrivedAtS) || double.IsNaN(TargetV) || Highest() < TargetV) return;
        ArrivedAtS = Bench.NowUs * 1e-6 + dtS;
        ArrivedCell = Array.IndexOf(Bench.CellV, Highest());
    }

    private void Control(double dtS)
    {
        var wanted = ChargeA;
        if (!double.IsNaN(TargetV) && ChargeA > 0)
        {
            wanted = Math.Clamp(CurrentA + 0.5 * dtS * (TargetV - Highest()) / 0.0014, 0, ChargeA);
            if (wanted <= EndA && Highest() > TargetV - 0.01) ChargeA = wanted = 0;
        }

        CurrentA = Math.Clamp(wanted, CurrentA - 100 * dtS, CurrentA + 100 * dtS);
    }

    private double Normal() => Math.Sqrt(-2 * Math.Log(1 - _random.NextDouble())) * Math.Cos(2 * Math.PI * _random.NextDouble());
}
