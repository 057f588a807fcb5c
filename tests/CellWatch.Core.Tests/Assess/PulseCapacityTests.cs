using CellWatch.Core.Assess;
using CellWatch.Core.Statistics;
using CellWatch.Testing;
using Xunit;
using Xunit.Abstractions;

namespace CellWatch.Core.Tests.Assess;

/// <summary>Retired cells of two chemistries (S. Tao and co-workers, Nature Communications, s41467-024-54454-0); capacity by a 1C discharge.</summary>
public class PulseCapacityTests(ITestOutputHelper output)
{
    /// <summary>5 s resistances of the +1C and -1C pulse at one level: (U11 - U9) and (U13 - U15) over the nominal capacity in A, as in reference_answers.csv.</summary>
    private static (double[] Charge, double[] Discharge, double[] CapacityAh, double[] Soh) At(string file, double soc)
    {
        using var reader = new StreamReader(SharedMaterial.PathOf("data/" + file));
        var t = MeasuredTable.Read(reader);
        var rows = Enumerable.Range(0, t.RowCount).Where(r => t.FindNumbers("soc_nominal_percent")![r] == soc).ToArray();
        double[] Pick(string name) => [.. rows.Select(r => t.FindNumbers(name)![r])];
        double[] Difference(string a, string b) => [.. Pick(a).Zip(Pick(b), (x, y) => x - y).Zip(Pick("nominal_Ah"), (v, i) => 1000 * v / i)];
        return (Difference("U11_V", "U9_V"), Difference("U13_V", "U15_V"), Pick("measured_Ah"), Pick("soh"));
    }

    private static double Correlation(double[] x, double[] y)
    {
        var line = LineFit.Through(x, y)!.Value;
        return Math.Sign(line.Slope) * Math.Sqrt(line.RSquared);
    }

    [SharedTheory("data/retired_cells_pulse_NMC21Ah.csv")]
    [InlineData("retired_cells_pulse_NMC21Ah.csv", 10, -0.855)]
    [InlineData("retired_cells_pulse_NMC21Ah.csv", 30, -0.902)]
    [InlineData("retired_cells_pulse_NMC21Ah.csv", 50, -0.887)]
    [InlineData("retired_cells_pulse_LMO10Ah.csv", 10, 0.579)]
    [InlineData("retired_cells_pulse_LMO10Ah.csv", 30, -0.126)]
    [InlineData("retired_cells_pulse_LMO10Ah.csv", 50, -0.761)]
    public void The_correlation_with_health_is_that_of_the_answers(string file, double soc, double expected)
    {
        var (charge, _, _, soh) = At(file, soc);
        Assert.Equal(expected, Correlation(charge, soh), 3);
    }

    [SharedFact("data/retired_cells_pulse_NMC21Ah.csv")]
    public void Where_resistance_follows_health_capacity_is_predicted_and_where_it_does_not_that_is_said()
    {
        foreach (var soc in (double[])[10, 30, 50])
            foreach (var file in (string[])["retired_cells_pulse_NMC21Ah.csv", "retired_cells_pulse_LMO10Ah.csv"])
            {
                var (charge, discharge, capacity, _) = At(file, soc);
                output.WriteLine($"{file} at {soc} %: {PulseCapacity.Evaluate([charge, discharge], capacity).Sentence}");
            }

        var nmc = At("retired_cells_pulse_NMC21Ah.csv", 30);
        Assert.True(PulseCapacity.Evaluate([nmc.Charge], nmc.CapacityAh).CanPredict);
        var lmo = At("retired_cells_pulse_LMO10Ah.csv", 30);
        var cannot = PulseCapacity.Evaluate([lmo.Charge], lmo.CapacityAh);
        Assert.False(cannot.CanPredict);
        Assert.Contains("test capacity", cannot.Sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Noise_predicts_nothing()
    {
        var random = new Random(3);
        double[] Draw() => [.. Enumerable.Range(0, 40).Select(_ => random.NextDouble())];
        Assert.False(PulseCapacity.Evaluate([Draw(), Draw()], Draw()).CanPredict);
        Assert.Throws<ArgumentException>(() => PulseCapacity.Evaluate([Draw()], [1, 2, 3]));
    }
}
