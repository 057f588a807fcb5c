using System.Globalization;
using System.Text;
using CellWatch.Core.Bench;
using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Simulation.Workshop;

/// <summary>
/// One salvaged module on the bench, simulated: each group is an open-circuit curve, a series resistance and one slow branch, with its own
/// capacity and leak. It gives the recordings that bench tests are judged by. All figures are invented.
/// </summary>
public sealed class WorkshopModule
{
    private const double SlowTimeConstantS = 12;
    private static readonly OcvCurve Curve = OcvCurves.Named("nmc532-graphite-mohtat2020");
    private readonly SeededDraws draws;

    /// <summary>Makes a module.</summary>
    /// <param name="identity">Its identity.</param>
    /// <param name="seed">Seed of its noise and scatter.</param>
    /// <param name="meanAh">Mean capacity of its groups.</param>
    /// <param name="weakCell">Group with less, from 1; 0 for none.</param>
    /// <param name="weakAh">What that group has.</param>
    /// <param name="leakMilliampere">Leak of group 2.</param>
    /// <param name="ohmicMilliohm">Series resistance of a group.</param>
    public WorkshopModule(string identity, ulong seed, double meanAh, int weakCell = 0, double weakAh = 0, double leakMilliampere = 0, double ohmicMilliohm = 0.75)
    {
        Identity = identity;
        draws = new SeededDraws(seed);
        GroupAh = [.. Enumerable.Range(1, 6).Select(g => g == weakCell ? weakAh : meanAh + 0.35 * draws.Normal())];
        OhmicMilliohm = [.. Enumerable.Range(1, 6).Select(_ => ohmicMilliohm * (1 + 0.015 * draws.Normal()))];
        SlowMilliohm = [.. Enumerable.Range(1, 6).Select(_ => 0.33 * (1 + 0.02 * draws.Normal()))];
        LeakMilliampere = leakMilliampere;
        MassKg = Math.Round(12.5 + 0.15 * draws.Normal(), 1);
    }

    /// <summary>Its identity.</summary>
    public string Identity { get; }

    /// <summary>Capacity of each group, Ah.</summary>
    public double[] GroupAh { get; }

    /// <summary>Series resistance of each group.</summary>
    public double[] OhmicMilliohm { get; }

    /// <summary>Slow part of each group.</summary>
    public double[] SlowMilliohm { get; }

    /// <summary>Leak of group 2, mA.</summary>
    public double LeakMilliampere { get; }

    /// <summary>Mass, kg.</summary>
    public double MassKg { get; }

    /// <summary>Rest voltages of the groups at a level, to 1 mV.</summary>
    public double[] RestV(double percent) => [.. GroupAh.Select(_ => Math.Round(Curve.VoltageAt(percent) + 0.0004 * draws.Normal(), 3))];

    /// <summary>Slope of the curve at a level, mV per %.</summary>
    public static double SlopeAt(double percent) => Curve.SlopeAt(percent);

    /// <summary>A discharge from full to the first group at the limit, as a CSV file.</summary>
    public string CapacityCsv(double loadA, double lowestV, double startDegC)
    {
        const double StepS = 10;
        var circuits = Circuits();
        var text = new StringBuilder("time_s,current_A,cell1_V,cell2_V,cell3_V,cell4_V,cell5_V,cell6_V,temp1_degC,tester_Ah\n");
        double outAh = 0, timeS = 0;
        void Row(double currentA, double[] cellV)
        {
            var figures = new[] { timeS, currentA }.Concat(cellV.Select(v => Math.Round(v + 0.0003 * draws.Normal(), 3))).Append(Math.Round(startDegC + 3 * outAh / 110, 1)).Append(Math.Round(-outAh * 1.001, 2));
            text.AppendJoin(',', figures.Select(f => f.ToString(CultureInfo.InvariantCulture))).Append('\n');
        }

        for (; timeS < 60; timeS += StepS) Row(0, [.. circuits.Select(c => c.TerminalV(Curve.TopV, 0))]);
        var lastA = 0.0;
        while (true)
        {
            for (var g = 0; g < 6; g++) circuits[g].Step(-loadA, StepS);
            // The rows before and after are joined by a straight line, so the charge is counted like that here too.
            outAh += (lastA + loadA) / 2 * StepS / 3600;
            lastA = loadA;
            var cellV = circuits.Select((c, g) => c.TerminalV(OcvAt(100 * (1 - outAh / GroupAh[g])), -loadA)).ToArray();
            Row(-loadA, cellV);
            timeS += StepS;
            if (cellV.Min() <= lowestV) return text.ToString();
        }
    }

    /// <summary>Days of rest at a level, a sample each half hour, in a room that swings by 2 K a day.</summary>
    public RestRecording Rest(double days, double percent)
    {
        var times = Enumerable.Range(0, (int)(days * 48) + 1).Select(i => 1800.0 * i).ToArray();
        var degC = times.Select(t => 19 + Math.Sin(2 * Math.PI * t / 86400)).ToArray();
        var slopeV = SlopeAt(percent) / 1000;
        var cells = GroupAh.Select((ah, g) => times.Select((t, i) =>
            Curve.VoltageAt(percent) + 0.0005 * g + 0.004 * Math.Exp(-t / 30000) + 0.0004 * (degC[i] - 19) + 0.0001 * draws.Normal()
            - (g == 1 ? LeakMilliampere / 1000 * t / 3600 / ah * 100 * slopeV : 0)).ToArray()).ToArray();
        return new RestRecording(times, cells, degC, SlopeAt(percent), 110);
    }

    /// <summary>A 10 s discharge pulse at 50 %, ten samples a second.</summary>
    public PulseRecording Pulse(double currentA, double degC)
    {
        var circuits = Circuits();
        var times = Enumerable.Range(0, 126).Select(i => Math.Round(0.1 * i, 1)).ToArray();
        var current = times.Select(t => t is >= 1 and < 11.5 ? -currentA : 0.0).ToArray();
        var cells = GroupAh.Select(_ => new double[times.Length]).ToArray();
        double outAh = 0;
        for (var i = 0; i < times.Length; i++)
        {
            outAh -= current[i] * 0.1 / 3600;
            for (var g = 0; g < 6; g++)
            {
                circuits[g].Step(current[i], 0.1);
                cells[g][i] = circuits[g].TerminalV(OcvAt(50 - 100 * outAh / GroupAh[g]), current[i]) + 0.0001 * draws.Normal();
            }
        }

        return new PulseRecording(times, current, cells, degC, degC + 0.3, 50, 2.8);
    }

    private EquivalentCircuit[] Circuits() => [.. Enumerable.Range(0, 6).Select(g => new EquivalentCircuit(OhmicMilliohm[g] / 1000, new RcBranch(SlowMilliohm[g] / 1000, SlowTimeConstantS)))];

    private static double OcvAt(double percent) => Curve.VoltageAt(Math.Clamp(percent, 0, 100));
}
