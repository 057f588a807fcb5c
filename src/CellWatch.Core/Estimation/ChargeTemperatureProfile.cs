namespace CellWatch.Core.Estimation;

/// <summary>What charging a temperature allows.</summary>
/// <param name="CurrentFactor">0 to 1, times the normal charge current.</param>
/// <param name="HighestCellV">Highest cell voltage; NaN where the profile sets none.</param>
public readonly record struct ChargeAllowance(double CurrentFactor, double HighestCellV);

/// <summary>
/// How charging is cut back with temperature. Give it the coldest cell for the lower limits and the hottest for the upper ones.
/// Reason for the cold end: the graphite falls to the potential of lithium and metal plates out.
/// </summary>
public abstract class ChargeTemperatureProfile
{
    /// <summary>Name, as a setting holds it.</summary>
    public abstract string Name { get; }

    /// <summary>Where it comes from.</summary>
    public abstract string Source { get; }

    /// <summary>What this temperature allows. A temperature that is not known (NaN) allows nothing.</summary>
    public abstract ChargeAllowance At(double temperatureDegC);

    /// <summary>The stricter of what the coldest and the hottest cell allow.</summary>
    public ChargeAllowance For(double coldestDegC, double hottestDegC)
    {
        ChargeAllowance cold = At(coldestDegC), hot = At(hottestDegC);
        return new ChargeAllowance(Math.Min(cold.CurrentFactor, hot.CurrentFactor), Lower(cold.HighestCellV, hot.HighestCellV));
    }

    /// <summary>Default: 0 below 0 degC, ramp to all at 15, all to 40, ramp to 0 at 45 (own default, not from a standard).</summary>
    public static ChargeTemperatureProfile Ramp { get; } = new RampProfile();

    /// <summary>Zones of the JEITA guideline of 20 April 2007 for 4.2 V cells.</summary>
    public static ChargeTemperatureProfile Jeita { get; } = new JeitaProfile();

    /// <summary>All profiles that can be selected.</summary>
    public static IReadOnlyList<ChargeTemperatureProfile> All { get; } = [Ramp, Jeita];

    private static double Lower(double a, double b) => double.IsNaN(a) ? b : double.IsNaN(b) ? a : Math.Min(a, b);

    private sealed class RampProfile : ChargeTemperatureProfile
    {
        public override string Name => "ramp";

        public override string Source => "Own default, not from a standard: none below 0 degC, all from 15 to 40, none from 45.";

        public override ChargeAllowance At(double temperatureDegC) => new(Factor(temperatureDegC), double.NaN);

        private static double Factor(double t) => t switch
        {
            < 0 or >= 45 or double.NaN => 0,
            < 15 => t / 15,
            <= 40 => 1,
            _ => (45 - t) / 5,
        };
    }

    private sealed class JeitaProfile : ChargeTemperatureProfile
    {
        public override string Name => "jeita";

        public override string Source => "JEITA guideline, 20 April 2007, as drawn in charger data sheets SLUSB10 and SLUSA49B; half current in the cool zone.";

        // The bound between two zones belongs to the warmer one; 60 degC itself is still allowed.
        public override ChargeAllowance At(double temperatureDegC) => temperatureDegC switch
        {
            < 0 or > 60 or double.NaN => new(0, double.NaN),
            < 10 => new(0.5, 4.20),
            < 45 => new(1, 4.20),
            < 50 => new(1, 4.15),
            _ => new(1, 4.10),
        };
    }
}
