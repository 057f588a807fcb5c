namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// The published curves that come with the program. Each is a stand-in for a cell of another make: for grading, learn the
/// curve of your own cell (<see cref="OcvLearning"/>) and prefer it. None carries hysteresis, ageing or temperature.
/// </summary>
public static class OcvCurves
{
    /// <summary>All, in a fixed order.</summary>
    public static IReadOnlyList<OcvCurve> All { get; } =
    [
        Nmc811GraphiteSiOxChen2020.Curve, Nmc532GraphiteMohtat2020.Curve, LfpGraphitePrada2013.Curve, NcaGraphiteKim2011.Curve,
        LcoGraphiteMarquis2019.Curve, LcoGraphiteAi2020.Curve, NcoGraphiteEcker2015.Curve,
    ];

    /// <summary>The curve of that name, underscores and hyphens alike; null where there is none.</summary>
    public static OcvCurve? Find(string? name) =>
        name is null ? null : All.FirstOrDefault(c => string.Equals(c.Name.Replace('_', '-'), name.Replace('_', '-'), StringComparison.OrdinalIgnoreCase));

    /// <summary>The curve of that name.</summary>
    /// <exception cref="ArgumentException">There is none; the message lists the names.</exception>
    public static OcvCurve Named(string name) =>
        All.FirstOrDefault(c => string.Equals(c.Name, name, StringComparison.OrdinalIgnoreCase))
        ?? throw new ArgumentException($"There is no curve '{name}'. Known: {string.Join(", ", All.Select(c => c.Name))}.", nameof(name));
}
