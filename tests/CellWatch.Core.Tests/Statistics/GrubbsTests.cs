using CellWatch.Core.Statistics;
using Xunit;

namespace CellWatch.Core.Tests.Statistics;

public class GrubbsTests
{
    // NIST/SEMATECH e-Handbook 1.3.5.17.1: mass spectrometer data of Tietjen and Moore.
    private static readonly double[] MassSpectrometer = [199.31, 199.53, 200.19, 200.82, 201.92, 201.95, 202.18, 245.57];

    [Fact]
    public void The_handbook_example_gives_its_published_statistic_and_limit()
    {
        var (g, index) = Grubbs.Statistic(MassSpectrometer);
        Assert.Equal(2.468764611, g, 9);
        Assert.Equal(7, index);
        var moments = new RunningMoments();
        foreach (var v in MassSpectrometer) moments.Add(v);
        Assert.Equal(206.43375, moments.Mean, 9);
        Assert.Equal(15.8525644, moments.Sigma, 7);
        Assert.Equal(2.031652, Grubbs.Critical(8, 0.05, twoSided: false), 6);
        Assert.Equal(2.126645, Grubbs.Critical(8, 0.05), 6);
    }

    // Critical values computed independently (battery-maths 8.3); one-sided 5 % agrees with public code, two-sided with LibreTexts Appendix 7 to 0.001.
    [Theory]
    [InlineData(3, 1.1531, 1.1546, 1.1543, 1.1547)]
    [InlineData(4, 1.4625, 1.4925, 1.4812, 1.4962)]
    [InlineData(5, 1.6714, 1.7489, 1.7150, 1.7637)]
    [InlineData(6, 1.8221, 1.9442, 1.8871, 1.9728)]
    [InlineData(7, 1.9381, 2.0973, 2.0200, 2.1391)]
    [InlineData(8, 2.0317, 2.2208, 2.1266, 2.2744)]
    [InlineData(9, 2.1096, 2.3231, 2.2150, 2.3868)]
    [InlineData(10, 2.1761, 2.4097, 2.2900, 2.4821)]
    [InlineData(11, 2.2339, 2.4843, 2.3547, 2.5641)]
    [InlineData(12, 2.2850, 2.5494, 2.4116, 2.6357)]
    [InlineData(13, 2.3305, 2.6070, 2.4620, 2.6990)]
    [InlineData(14, 2.3717, 2.6585, 2.5073, 2.7554)]
    [InlineData(15, 2.4090, 2.7049, 2.5483, 2.8061)]
    [InlineData(16, 2.4433, 2.7470, 2.5857, 2.8521)]
    [InlineData(17, 2.4748, 2.7854, 2.6200, 2.8940)]
    [InlineData(18, 2.5040, 2.8208, 2.6516, 2.9325)]
    [InlineData(19, 2.5312, 2.8535, 2.6809, 2.9680)]
    [InlineData(20, 2.5566, 2.8838, 2.7082, 3.0008)]
    [InlineData(24, 2.6439, 2.9866, 2.8016, 3.1117)]
    [InlineData(30, 2.7451, 3.1029, 2.9085, 3.2361)]
    [InlineData(36, 2.8237, 3.1910, 2.9906, 3.3296)]
    [InlineData(50, 2.9570, 3.3366, 3.1282, 3.4825)]
    [InlineData(100, 3.2095, 3.6002, 3.3841, 3.7540)]
    [InlineData(108, 3.2356, 3.6266, 3.4101, 3.7808)]
    [InlineData(216, 3.4557, 3.8448, 3.6285, 4.0004)]
    public void Critical_values_agree_with_the_table(int n, double oneSided5, double oneSided1, double twoSided5, double twoSided1)
    {
        Assert.Equal(oneSided5, Grubbs.Critical(n, 0.05, twoSided: false), 5.1e-5);
        Assert.Equal(oneSided1, Grubbs.Critical(n, 0.01, twoSided: false), 5.1e-5);
        Assert.Equal(twoSided5, Grubbs.Critical(n, 0.05), 5.1e-5);
        Assert.Equal(twoSided1, Grubbs.Critical(n, 0.01), 5.1e-5);
    }

    [Fact]
    public void Equal_values_have_no_outlier_to_test() => Assert.Throws<ArgumentException>(() => Grubbs.Statistic([1, 1, 1]));

    // Student t table, as printed in textbooks: 97.5 % points.
    [Theory]
    [InlineData(1, 12.706)]
    [InlineData(2, 4.303)]
    [InlineData(5, 2.571)]
    [InlineData(10, 2.228)]
    [InlineData(30, 2.042)]
    [InlineData(120, 1.980)]
    public void Student_points_agree_with_the_printed_table(int nu, double t)
    {
        Assert.Equal(t, StudentT.UpperPoint(0.025, nu), 3);
        Assert.Equal(0.975, StudentT.Cdf(StudentT.UpperPoint(0.025, nu), nu), 12);
    }
}
