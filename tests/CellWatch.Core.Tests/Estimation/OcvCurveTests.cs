using CellWatch.Core.Estimation.Ocv;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

/// <summary>Lookup checks of battery-maths 1; tables from PyBaMM's parameter sets, method checked there against its electrode state-of-health notebook.</summary>
public class OcvCurveTests
{
    [Theory]
    [InlineData("nmc811-graphite-siox-chen2020", 42, 3.682363)]
    [InlineData("nmc532-graphite-mohtat2020", 7.5, 3.486352)]
    [InlineData("nco-graphite-ecker2015", 99.75, 4.196609)]
    public void Voltage_at_a_charge(string curve, double soc, double voltageV) => Assert.Equal(voltageV, OcvCurves.Named(curve).VoltageAt(soc), 1.01e-6);

    [Theory]
    [InlineData("nmc532-graphite-mohtat2020", 3.7000, 46.7812)]
    [InlineData("lfp-graphite-prada2013", 3.2900, 74.3058)]
    [InlineData("nca-graphite-kim2011", 4.0500, 87.0171)]
    public void Charge_at_a_voltage(string curve, double voltageV, double soc) => Assert.Equal(soc, OcvCurves.Named(curve).SocAt(voltageV).SocPercent, 1.01e-4);

    [Fact]
    public void Outside_the_curve_the_charge_is_refused_and_flagged()
    {
        var mohtat = OcvCurves.Named("nmc532-graphite-mohtat2020");
        Assert.Equal(OcvAnswer.AboveTop, mohtat.SocAt(4.25).Answer);
        Assert.Equal(100, mohtat.SocAt(4.25).SocPercent);
        Assert.Equal(OcvAnswer.BelowBottom, mohtat.SocAt(2.70).Answer);
        Assert.Equal(0, mohtat.SocAt(2.70).SocPercent);
        Assert.False(mohtat.SocAt(double.NaN).IsTold);
        Assert.Throws<ArgumentOutOfRangeException>(() => mohtat.VoltageAt(100.1));
    }

    [Fact]
    public void On_the_iron_phosphate_plateau_it_cannot_tell()
    {
        var lfp = OcvCurves.Named("lfp-graphite-prada2013");
        Assert.Equal(OcvAnswer.TooFlat, lfp.SocAt(3.2660).Answer);
        Assert.Equal(OcvAnswer.TooFlat, lfp.SocAt(3.3140).Answer);
        Assert.Equal(OcvAnswer.Told, lfp.SocAt(3.10).Answer);
    }

    // Slopes of the underlying functions (battery-maths 1), where the table of 5 % steps is close to them.
    [Theory]
    [InlineData("nmc811-graphite-siox-chen2020", 50, 9.6526, 0.08)]
    [InlineData("nmc532-graphite-mohtat2020", 90, 11.4233, 0.02)]
    [InlineData("nca-graphite-kim2011", 50, 8.1288, 0.02)]
    [InlineData("lfp-graphite-prada2013", 50, 0.4865, 0.2)]
    public void Slopes_are_near_those_of_the_functions_behind(string curve, double soc, double mvPerPercent, double tolerance) =>
        Assert.InRange(OcvCurves.Named(curve).SlopeAt(soc), mvPerPercent * (1 - tolerance), mvPerPercent * (1 + tolerance));

    // All slopes printed in battery-maths 1. They are of the functions between the points of the table, so most of ours differ; what they are for,
    // refusing a look-up below 2 mV per %, must come out the same.
    [Theory]
    [InlineData("nmc811-graphite-siox-chen2020", 34.9517, 9.6526, 2.1455)]
    [InlineData("nmc532-graphite-mohtat2020", 4.4730, 5.2077, 11.4233)]
    [InlineData("lfp-graphite-prada2013", 26.0251, 0.4865, 0.1630)]
    [InlineData("nca-graphite-kim2011", 12.4968, 8.1288, 10.4585)]
    [InlineData("lco-graphite-marquis2019", 4.1114, 1.6819, 8.4686)]
    [InlineData("lco-graphite-ai2020", 4.9021, 4.2744, 9.9116)]
    [InlineData("nco-graphite-ecker2015", 18.6840, 1.5906, 10.4211)]
    public void A_look_up_is_refused_where_the_function_behind_is_too_flat(string curve, double at10, double at50, double at90)
    {
        foreach (var (soc, mvPerPercent) in new[] { (10.0, at10), (50.0, at50), (90.0, at90) })
            Assert.Equal(mvPerPercent >= 2, OcvCurves.Named(curve).SlopeAt(soc) >= 2);
    }

    [Fact]
    public void Every_curve_turns_back_and_names_its_paper()
    {
        Assert.Equal(7, OcvCurves.All.Count);
        foreach (var curve in OcvCurves.All)
        {
            Assert.Contains("doi", curve.Source, StringComparison.Ordinal);
            for (var soc = 0.0; soc <= 100; soc += 0.37) Assert.Equal(soc, curve.SocAt(curve.VoltageAt(soc)).SocPercent, 8);
        }
    }

    [Fact]
    public void A_name_that_does_not_exist_is_answered_with_those_that_do() =>
        Assert.Contains("nmc532-graphite-mohtat2020", Assert.Throws<ArgumentException>(() => OcvCurves.Named("nmc")).Message, StringComparison.Ordinal);

    [Fact]
    public void Points_that_do_not_rise_are_refused_with_their_place() =>
        Assert.Contains("point 3", Assert.Throws<ArgumentException>(() => new OcvCurve("x", "", "", [0, 50, 100], [3, 3.5, 3.5])).Message, StringComparison.Ordinal);

    [SharedFact("reference/ocv")]
    public void The_tables_carried_here_equal_the_reference_files()
    {
        foreach (var curve in OcvCurves.All)
        {
            var lines = File.ReadAllLines(SharedMaterial.PathOf($"reference/ocv/{curve.Name.Replace('-', '_')}.csv"))[1..];
            Assert.Equal(lines, curve.SocPercent.ToArray().Zip(curve.VoltageV.ToArray(), (s, v) => FormattableString.Invariant($"{s},{v:F6}")));
        }
    }
}
