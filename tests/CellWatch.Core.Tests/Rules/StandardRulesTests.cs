using CellWatch.Core.Pack;
using CellWatch.Core.Rules;

namespace CellWatch.Core.Tests.Rules;

public sealed class StandardRulesTests
{
    /// <summary>The starting limits of the-job 0.3 (for a 4.20 V cell), row by row: limit, on-delay where one is stated.</summary>
    [Theory]
    [InlineData("cell-high-warn", 4.15, null)]
    [InlineData("cell-high", 4.20, 1.0)]
    [InlineData("cell-high-absolute", 4.25, 0.0)]
    [InlineData("cell-low-load-warn", 3.10, null)]
    [InlineData("cell-low-load", 2.80, 2.0)]
    [InlineData("cell-low-rest-warn", 3.30, null)]
    [InlineData("cell-low-rest", 3.00, null)]
    [InlineData("spread-warn", 0.020, null)]
    [InlineData("spread", 0.050, null)]
    [InlineData("spread-charge-warn", 1.0, null)]
    [InlineData("spread-charge", 3.0, null)]
    [InlineData("charge-cold-warn", 5.0, null)]
    [InlineData("charge-cold", 0.0, null)]
    [InlineData("charge-hot-warn", 40.0, null)]
    [InlineData("charge-hot", 45.0, null)]
    [InlineData("hot-warn", 50.0, null)]
    [InlineData("hot", 55.0, null)]
    [InlineData("temperature-spread-warn", 5.0, null)]
    [InlineData("temperature-spread", 10.0, null)]
    [InlineData("heat-unexplained-warn", 2.0, 60.0)]
    [InlineData("heat-unexplained", 4.0, null)]
    [InlineData("heat-at-rest", 1.0, null)]
    [InlineData("data-age-warn", 2.0, null)]
    [InlineData("data-age", 5.0, null)]
    [InlineData("taper-missing", 10.0, null)]
    public void Default_limits_are_exactly_the_starting_limits(string name, double limit, double? onDelayS)
    {
        var table = StandardRules.For(new CellLimits());
        var rule = table.Rules[table.IndexOf(name)];
        Assert.Equal(limit, rule.Limit, 12);
        if (onDelayS is { } s) Assert.Equal(s, rule.OnDelayS);
    }

    [Fact]
    public void The_default_charge_target_lies_below_the_first_warning() =>
        Assert.All(CellType.BuiltIn, type => Assert.True(type.Limits.ChargeTargetV < type.Limits.HighWarnV && type.Limits.HighWarnV < type.Limits.HighStopV));

    [Theory]
    [InlineData("Limit", "limit is NaN; allowed: a finite figure.")]
    [InlineData("OnDelay", "on-delay s is -1; allowed: 0 to 86400.")]
    [InlineData("Deadband", "deadband is -0.1; allowed: 0 or above.")]
    [InlineData("Samples", "samples is 0; allowed: 1 to 1000.")]
    [InlineData("Latching", "latching is False; allowed: true, because the most urgent must be reset by a person.")]
    [InlineData("SuppressedBy", "suppressed by is 'nothing-such'; allowed: the name of an earlier row.")]
    public void A_wrong_row_is_refused_with_its_name_value_and_allowed_range(string what, string message)
    {
        var rule = new Rule { Name = "mine", Quantity = Quantity.CellVoltage, Limit = 4.2, Priority = AlarmPriority.Medium, Message = "x", DoFirst = "y" };
        rule = what switch
        {
            "Limit" => rule with { Limit = double.NaN },
            "OnDelay" => rule with { OnDelayS = -1 },
            "Deadband" => rule with { Deadband = -0.1 },
            "Samples" => rule with { Samples = 0 },
            "Latching" => rule with { Priority = AlarmPriority.High },
            _ => rule with { SuppressedBy = "nothing-such" },
        };
        Assert.Equal("Rule 1 'mine': " + message, Assert.Throws<ArgumentException>(() => new RuleTable([rule])).Message);
    }
}
