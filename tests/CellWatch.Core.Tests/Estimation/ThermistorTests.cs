using CellWatch.Core.Estimation;
using CellWatch.Core.Tests.Statistics;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>Makers' tables of two 10 kohm parts, carried from the Linux kernel's ntc_thermistor driver, which names the data sheets.</summary>
public class ThermistorTests
{
    private static readonly double[] DegC =
    [
        -40, -35, -30, -25, -20, -15, -10, -5, 0, 5, 10, 15, 20, 25, 30, 35, 40, 45, 50, 55, 60, 65, 70, 75, 80, 85, 90,
        95, 100, 105, 110, 115, 120, 125,
    ];

    /// <summary>NCPxxXH103.</summary>
    private static readonly double[] FirstOhm =
    [
        247565, 181742, 135128, 101678, 77373, 59504, 46222, 36244, 28674, 22878, 18399, 14910, 12169, 10000, 8271,
        6883, 5762, 4851, 4105, 3492, 2985, 2563, 2211, 1915, 1666, 1454, 1275, 1121, 990, 876, 779, 694, 620, 556,
    ];

    /// <summary>B57330V2103.</summary>
    private static readonly double[] SecondOhm =
    [
        190030, 145360, 112060, 87041, 68104, 53665, 42576, 34001, 27326, 22096, 17973, 14703, 12090, 10000, 8311, 6941,
        5825, 4911, 4158, 3536, 3019, 2588, 2227, 1924, 1668, 1451, 1266, 1108, 973, 857, 757, 671, 596, 531,
    ];

    private static SteinhartHart Through(double[] table) =>
        SteinhartHart.Through(0, At(table, 0), 25, At(table, 25), 70, At(table, 70));

    private static double At(double[] table, double degC) => table[Array.IndexOf(DegC, degC)];

    [Fact]
    public void Beta_from_two_points_of_each_table()
    {
        Assert.Equal(3431.4213, Thermistor.BetaK(25, 10000, 50, 4105), 4);
        Assert.Equal(3431.7498, Thermistor.BetaK(25, 10000, 85, 1454), 4);
        Assert.Equal(3381.9819, Thermistor.BetaK(25, 10000, 50, 4158), 4);
        Assert.Equal(3435.4257, Thermistor.BetaK(25, 10000, 85, 1451), 4);
        Assert.Equal(3456.2470, Thermistor.BetaK(25, 10000, 100, 973), 4);
    }

    [Fact]
    public void Three_points_give_the_coefficients()
    {
        var first = Through(FirstOhm);
        Close.Relative(6.6901760390e-04, first.A);
        Close.Relative(2.9156564403e-04, first.B);
        Close.Relative(-5.3754337165e-10, first.C, 1e-5); // a difference of nearly equal terms: five digits are what rounding leaves
        var second = Through(SecondOhm);
        Close.Relative(8.7787260944e-04, second.A);
        Close.Relative(2.5322947682e-04, second.B);
        Close.Relative(1.8406642753e-07, second.C);
    }

    [Theory]
    [InlineData(-40, -39.999)]
    [InlineData(-20, -20.000)]
    [InlineData(-10, -10.000)]
    [InlineData(0, -0.000)]
    [InlineData(10, 10.000)]
    [InlineData(25, 25.000)]
    [InlineData(40, 40.001)]
    [InlineData(50, 50.002)]
    [InlineData(60, 59.999)]
    [InlineData(70, 70.000)]
    [InlineData(85, 85.015)]
    [InlineData(100, 99.988)]
    [InlineData(125, 124.971)]
    public void Steinhart_Hart_follows_the_first_table(double degC, double expected) => Assert.Equal(expected, Through(FirstOhm).DegC(At(FirstOhm, degC)), 3);

    [Theory]
    [InlineData(-40, -39.854)]
    [InlineData(-20, -19.967)]
    [InlineData(-10, -9.990)]
    [InlineData(0, 0.000)]
    [InlineData(10, 9.997)]
    [InlineData(25, 25.000)]
    [InlineData(40, 40.005)]
    [InlineData(50, 50.006)]
    [InlineData(60, 60.004)]
    [InlineData(70, 70.000)]
    [InlineData(85, 84.964)]
    [InlineData(100, 99.965)]
    [InlineData(125, 124.891)]
    public void Steinhart_Hart_follows_the_second_table(double degC, double expected) => Assert.Equal(expected, Through(SecondOhm).DegC(At(SecondOhm, degC)), 3);

    [Theory]
    [InlineData(-40, -40.003)]
    [InlineData(-20, -20.000)]
    [InlineData(-10, -10.000)]
    [InlineData(0, 0.001)]
    [InlineData(10, 10.001)]
    [InlineData(25, 25.000)]
    [InlineData(40, 39.999)]
    [InlineData(50, 49.997)]
    [InlineData(60, 59.992)]
    [InlineData(70, 69.990)]
    [InlineData(85, 85.000)]
    [InlineData(100, 99.967)]
    [InlineData(125, 124.938)]
    public void Beta_alone_follows_the_first_table(double degC, double expected) =>
        Assert.Equal(expected, Thermistor.BetaDegC(At(FirstOhm, degC), 10000, Thermistor.BetaK(25, 10000, 85, 1454)), 3);

    [Theory]
    [InlineData(-40, -35.685)]
    [InlineData(-20, -17.556)]
    [InlineData(-10, -8.299)]
    [InlineData(0, 1.076)]
    [InlineData(10, 10.564)]
    [InlineData(25, 25.000)]
    [InlineData(40, 39.672)]
    [InlineData(50, 49.579)]
    [InlineData(60, 59.585)]
    [InlineData(70, 69.688)]
    [InlineData(85, 85.000)]
    [InlineData(100, 100.570)]
    [InlineData(125, 126.928)]
    public void Beta_alone_leaves_the_second_table_by_kelvins(double degC, double expected) =>
        Assert.Equal(expected, Thermistor.BetaDegC(At(SecondOhm, degC), 10000, Thermistor.BetaK(25, 10000, 85, 1451)), 3);

    [Fact]
    public void Beta_gives_the_resistances_of_common_parts()
    {
        Assert.Equal(28704.2904, Thermistor.BetaOhm(0, 10000, 3435), 4);
        Assert.Equal(4101.1899, Thermistor.BetaOhm(50, 10000, 3435), 4);
        Assert.Equal(33620.6037, Thermistor.BetaOhm(0, 10000, 3950), 4);
        Assert.Equal(2486.1648, Thermistor.BetaOhm(60, 10000, 3950), 4);
        Assert.Equal(4323.4540, Thermistor.BetaOhm(45, 10000, 3977), 4);
    }

    // NTCLE100E3, coefficients in several public files citing data sheet 29049.
    [Theory]
    [InlineData(32650, -0.0655)]
    [InlineData(10000, 25.0000)]
    [InlineData(4000, 47.2916)]
    [InlineData(2000, 66.1856)]
    [InlineData(1000, 87.1586)]
    public void The_four_term_form_of_a_maker(double ohm, double degC) =>
        Assert.Equal(degC, Thermistor.FourTermDegC(ohm, 10000, 3.354016e-3, 2.569850e-4, 2.620131e-6, 6.383091e-8), 4);

    [Fact]
    public void A_table_is_joined_in_the_logarithm_and_refused_outside()
    {
        Assert.Equal(36.610295, Thermistor.TableDegC(DegC, FirstOhm, 6500)!.Value, 6);
        // Joined in the resistance itself it would be 36.708296, a tenth of a kelvin off.
        Assert.Equal(36.708296, 35 + 5 * (6883 - 6500) / (6883.0 - 5762), 6);
        Assert.Equal(50, Thermistor.TableDegC(DegC, FirstOhm, 4105)!.Value, 9);
        Assert.Null(Thermistor.TableDegC(DegC, FirstOhm, 300000));
        Assert.Null(Thermistor.TableDegC(DegC, FirstOhm, 500));
    }

    // battery-maths check 11.2.
    [Fact]
    public void Divider_counts_and_their_faults()
    {
        var divider = new ThermistorDivider(10000, 12);
        Assert.Equal(1192, Math.Round(divider.Code(4105)));
        Assert.Equal(0.29103155, divider.Code(4105) / 4095, 8);
        Assert.Equal(4106.097141, divider.Ohm(1192), 6);
        Assert.Equal(49.989275, Thermistor.BetaDegC(divider.Ohm(1192), 10000, 3431.7498), 6);
        Assert.Equal(0.035995, Thermistor.BetaDegC(divider.Ohm(1192), 10000, 3431.7498) - Thermistor.BetaDegC(divider.Ohm(1193), 10000, 3431.7498), 6);
        Assert.Equal(3936.01, divider.Code(247565), 2);
        Assert.Equal(215.69, divider.Code(556), 2);
        Assert.Equal(DividerState.Good, divider.State(3936));
        Assert.Equal(DividerState.Good, divider.State(216));
        Assert.Equal(DividerState.Open, divider.State(4031));
        Assert.Equal(DividerState.Short, divider.State(99));
    }
}
