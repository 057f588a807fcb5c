using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Bench.Project;

/// <summary>What the bench must know of the site.</summary>
/// <param name="Map">The pack's channels, as wired.</param>
/// <param name="CellType">Cell type; null where none is chosen, and then no charge is supervised.</param>
/// <param name="NominalV">Nominal voltage of the pack.</param>
/// <param name="RatedGroupAh">Rated capacity of a group.</param>
/// <param name="HandCutOff">The hand cut-off in words.</param>
/// <param name="SoftwareVersion">Printed on every report.</param>
public sealed record BenchSite(ChannelMap Map, CellType? CellType, double NominalV, double RatedGroupAh, string HandCutOff, string SoftwareVersion)
{
    /// <summary>The pack.</summary>
    public PackLayout Layout => Map.Layout;

    /// <summary>Limits to judge by: the cell type's, or the starting limits.</summary>
    public CellLimits Limits => CellType?.Limits ?? new CellLimits();

    /// <summary>Highest working voltage: every cell at its stop limit.</summary>
    public double HighestV => Layout.CellCount * Limits.HighStopV;

    /// <summary>The curve of the cell type; null where there is none.</summary>
    public OcvCurve? Curve => CellType?.OcvCurve is { } name ? OcvCurves.Named(name) : null;

    /// <summary>A site for a pack, with nominal voltage from 3.70 V a group (common practice).</summary>
    public static BenchSite For(PackLayout layout, CellType? cellType, string handCutOff, string softwareVersion, double ratedGroupAh = 110, double? nominalV = null) =>
        new(new ChannelMap(layout), cellType, nominalV ?? Math.Round(layout.CellCount * 3.70), ratedGroupAh, handCutOff, softwareVersion);
}

/// <summary>Who enters something, when, and whether any figure of it comes from a model.</summary>
/// <param name="By">The name the person typed.</param>
/// <param name="At">Wall time.</param>
/// <param name="Simulated">Whether a figure is simulated.</param>
public readonly record struct Stamp(string By, DateTimeOffset At, bool Simulated);
