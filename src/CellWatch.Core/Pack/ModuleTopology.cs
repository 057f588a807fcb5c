using System.Globalization;

namespace CellWatch.Core.Pack;

/// <summary>How the cells of one module are joined: <c>6S2P</c> is six measured groups in series, each of two cells in parallel.</summary>
/// <param name="Series">Measured groups in series, 1 to 32.</param>
/// <param name="Parallel">Cells in parallel in each group, 1 to 100.</param>
public readonly record struct ModuleTopology(int Series, int Parallel)
{
    /// <summary>Most groups one module may have; more than any cell monitor chip in the field measures (common practice, no source).</summary>
    public const int MaxSeries = 32;

    /// <summary>Most cells in parallel.</summary>
    public const int MaxParallel = 100;

    /// <summary>Reads a topology that was checked when it was written down.</summary>
    /// <exception cref="FormatException">It is no topology.</exception>
    public static ModuleTopology Parse(string text) =>
        TryParse(text, out var topology) ? topology : throw new FormatException($"'{text}' is no topology: write series and parallel, for example 6S2P.");

    /// <summary>Reads <c>6S2P</c> or <c>12s1p</c>; false when the text has another form or a count is out of range.</summary>
    public static bool TryParse(string? text, out ModuleTopology topology)
    {
        topology = default;
        if (text is null) return false;
        var s = text.IndexOf('s', StringComparison.OrdinalIgnoreCase);
        if (s < 1 || !text.EndsWith('p') && !text.EndsWith('P')) return false;
        if (!int.TryParse(text.AsSpan(0, s), NumberStyles.None, CultureInfo.InvariantCulture, out var series)) return false;
        if (!int.TryParse(text.AsSpan(s + 1, text.Length - s - 2), NumberStyles.None, CultureInfo.InvariantCulture, out var parallel)) return false;
        if (series is < 1 or > MaxSeries || parallel is < 1 or > MaxParallel) return false;
        topology = new ModuleTopology(series, parallel);
        return true;
    }

    /// <inheritdoc/>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Series}S{Parallel}P");
}
