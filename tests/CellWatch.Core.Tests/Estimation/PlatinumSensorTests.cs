using CellWatch.Core.Estimation;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

public class PlatinumSensorTests
{
    // IEC 60751 scale; printed tables (sensor makers' pages) give 18.52 at -200, 138.51 at 100, 390.48 at 850.
    [Theory]
    [InlineData(-200, 18.5201)]
    [InlineData(-100, 60.2558)]
    [InlineData(-50, 80.3063)]
    [InlineData(-40, 84.2707)]
    [InlineData(-20, 92.1599)]
    [InlineData(-10, 96.0859)]
    [InlineData(0, 100.0000)]
    [InlineData(10, 103.9025)]
    [InlineData(25, 109.7347)]
    [InlineData(40, 115.5408)]
    [InlineData(50, 119.3971)]
    [InlineData(60, 123.2419)]
    [InlineData(80, 130.8968)]
    [InlineData(100, 138.5055)]
    [InlineData(150, 157.3251)]
    [InlineData(200, 175.8560)]
    [InlineData(300, 212.0515)]
    [InlineData(400, 247.0920)]
    [InlineData(600, 313.7080)]
    [InlineData(850, 390.4811)]
    public void Resistance_agrees_with_the_printed_tables_and_turns_back(double degC, double ohm)
    {
        Assert.Equal(ohm, PlatinumSensor.Ohm(degC), 4);
        Assert.Equal(degC, PlatinumSensor.DegC(PlatinumSensor.Ohm(degC)), 8);
        Assert.Equal(degC, PlatinumSensor.DegC(PlatinumSensor.Ohm(degC, 1000), 1000), 8);
    }

    [Fact]
    public void Inverse_as_in_a_public_calculator() => Assert.Equal(21.818931, PlatinumSensor.DegC(108.5), 6);

    // Data logger manual CR1000, p. 236.
    [Fact]
    public void The_polynomial_below_zero() => Assert.Equal(-100.00036, PlatinumSensor.DegCBelowZeroByPolynomial(60.2558), 4);
}
