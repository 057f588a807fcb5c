namespace CellWatch.Core.Pack;

/// <summary>
/// A chemistry profile: what the cells are, what they hold and the limits they are judged by. Without a chosen cell type there
/// are no limits to judge by and no charge can be called supervised.
/// </summary>
/// <param name="Name">Its name in the site file, for example <c>nmc-4.20</c>.</param>
/// <param name="Description">What it is, in words.</param>
/// <param name="Source">Where its limits come from, printed with every report.</param>
/// <param name="Limits">The limits.</param>
/// <param name="OcvCurve">Name of the open-circuit voltage curve used until an own curve is learned; null where none fits.</param>
public sealed record CellType(string Name, string Description, string Source, CellLimits Limits, string? OcvCurve)
{
    /// <summary>A 4.20 V nickel-manganese-cobalt cell with graphite, the profile of the starting limits.</summary>
    public static CellType Nmc420 { get; } = new(
        "nmc-4.20", "nickel-manganese-cobalt / graphite, 4.20 V", "common practice, no source; the cell maker's data sheet overrides",
        new CellLimits(), "nmc532-graphite-mohtat2020");

    /// <summary>A 3.65 V iron-phosphate cell. Its curve is flat: a voltage says little about charge between the ends.</summary>
    public static CellType Lfp365 { get; } = new(
        "lfp-3.65", "iron phosphate / graphite, 3.65 V",
        "charge and cut-off voltage: LFP 202 Ah and 304 Ah data sheet extracts; the rest common practice, no source",
        new CellLimits
        {
            ChargeTargetV = 3.50,
            HighWarnV = 3.55,
            HighStopV = 3.65,
            HighAbsoluteV = 3.75,
            LowLoadWarnV = 2.80,
            LowLoadStopV = 2.50,
            LowRestWarnV = 3.00,
            LowRestStopV = 2.80,
        },
        "lfp-graphite-prada2013");

    /// <summary>The profiles that come with the program; a site file may change any limit.</summary>
    public static IReadOnlyList<CellType> BuiltIn { get; } = [Nmc420, Lfp365];
}
