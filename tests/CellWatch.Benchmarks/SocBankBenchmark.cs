using BenchmarkDotNet.Attributes;
using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Benchmarks;

/// <summary>One snapshot through the charge estimation of all cells; also how it grows with their number.</summary>
[MemoryDiagnoser]
public class SocBankBenchmark
{
    private SocBank bank = null!;
    private double[] voltageV = [];
    private bool[] usable = [];
    private double[] temperatureDegC = [];
    private int step;

    [Params(108, 216, 10_000)]
    public int Cells { get; set; }

    [GlobalSetup]
    public void Prepare()
    {
        bank = new SocBank(Cells, new SocBankOptions { CapacityAh = 110, SeriesResistanceOhm = 0.6e-3, BranchResistanceOhm = 0.4e-3 }, OcvCurves.Named("nmc532-graphite-mohtat2020"));
        voltageV = [.. Enumerable.Range(0, Cells).Select(k => 3.8 + 0.0001 * (k * 7919 % 97))];
        usable = [.. Enumerable.Repeat(true, Cells)];
        temperatureDegC = [.. Enumerable.Repeat(22.0, Cells)];
    }

    /// <summary>Current changes every 30 s, so that steps of resistance are in it at their true share.</summary>
    [Benchmark]
    public double Step()
    {
        var current = step++ / 30 % 2 == 0 ? -60.0 : 40.0;
        bank.Step(voltageV, usable, current, true, temperatureDegC, 1);
        return bank.SocPercent[0];
    }
}
