using System.Text;

namespace CellWatch.Core.Sources;

/// <summary>Where a method comes from.</summary>
/// <param name="Name">Of the method, in the field's words.</param>
/// <param name="UsedFor">What the program does with it.</param>
/// <param name="Source">Paper, standard, data sheet or "own rule"; says "from memory" where the text was not opened.</param>
/// <param name="CheckedAgainst">What the tests compare it with.</param>
public sealed record SourceNote(string Name, string UsedFor, string Source, string CheckedAgainst);

/// <summary>
/// Every method behind the figures, with its source: printed by the program so that a reader can judge a figure. Two limits hold for
/// all: texts named "from memory" were not opened, and no entry makes a figure a statement of compliance.
/// </summary>
public static partial class SourceList
{
    /// <summary>All, in the order of use.</summary>
    public static IReadOnlyList<SourceNote> All { get; } = [.. Statistics, .. Curves, .. Checks, .. Estimation, .. Imbalance, .. Charging, .. Alarms, .. Safety, .. Reading, .. Bench, .. Fitting, .. Proofs];

    /// <summary>The list as plain text, one paragraph an entry.</summary>
    public static string Render()
    {
        var text = new StringBuilder();
        foreach (var s in All)
            text.Append(s.Name).Append('\n')
                .Append("  used for: ").Append(s.UsedFor).Append('\n')
                .Append("  source:   ").Append(s.Source).Append('\n')
                .Append("  checked:  ").Append(s.CheckedAgainst).Append("\n\n");
        return text.ToString();
    }
}
