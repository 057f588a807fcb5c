namespace CellWatch.Core.Charging;

/// <summary>How much of the charge current a cell's temperature allows, and how high it may be charged.</summary>
public sealed class TemperatureProfile
{
    private readonly Zone[] _zones;

    private TemperatureProfile(string name, string source, params Zone[] zones)
    {
        Name = name;
        Source = source;
        _zones = zones;
    }

    /// <summary>Its name in the site file.</summary>
    public string Name { get; }

    /// <summary>Where it comes from.</summary>
    public string Source { get; }

    /// <summary>
    /// Nothing below 0 degC, rising to full at 15, full to 40, falling to nothing at 45. A default of this program, not from a standard.
    /// </summary>
    public static TemperatureProfile Ramp { get; } = new(
        "ramp", "default of this program, not from a standard",
        new Zone(0, 0, 15, 1, null), new Zone(15, 1, 40, 1, null), new Zone(40, 1, 45, 0, null));

    /// <summary>
    /// Zones as the JEITA guideline of 2007 is drawn in chip makers' data sheets (the guideline itself was not opened): half the current
    /// from 0 to 10 degC, all of it above, less voltage from 45 and from 50, nothing above 60. A lower bound belongs to the warmer zone; 60 itself is still allowed.
    /// </summary>
    public static TemperatureProfile Jeita { get; } = new(
        "jeita", "JEITA guideline of 20 April 2007 as drawn in chip makers' data sheets",
        new Zone(0, 0.5, 10, 0.5, null), new Zone(10, 1, 45, 1, null),
        new Zone(45, 1, 50, 1, 4.15), new Zone(50, 1, 60, 1, 4.10));

    /// <summary>All profiles that can be chosen by name.</summary>
    public static IReadOnlyList<TemperatureProfile> BuiltIn { get; } = [Ramp, Jeita];

    /// <summary>
    /// Share of the charge current allowed, 0 to 1: the lower of what the coldest and what the hottest cell allows.
    /// </summary>
    public double Factor(double coldestDegC, double hottestDegC) => Math.Min(FactorAt(coldestDegC), FactorAt(hottestDegC));

    /// <summary>Highest charge voltage for a 4.2 V cell at its hottest, V; null where the temperature asks for nothing less.</summary>
    public double? HighestV(double hottestDegC) => ZoneAt(hottestDegC)?.HighestV;

    private double FactorAt(double degC) =>
        ZoneAt(degC) is { } z ? z.FromFactor + (z.ToFactor - z.FromFactor) * (degC - z.FromDegC) / (z.ToDegC - z.FromDegC) : 0;

    private Zone? ZoneAt(double degC)
    {
        // From the warm end, so that a bound shared by two zones belongs to the warmer.
        for (var i = _zones.Length - 1; i >= 0; i--)
            if (degC >= _zones[i].FromDegC && degC <= _zones[i].ToDegC) return _zones[i];
        return null;
    }

    private readonly record struct Zone(double FromDegC, double FromFactor, double ToDegC, double ToFactor, double? HighestV);
}
