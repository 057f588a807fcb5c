namespace CellWatch.Dashboard.BenchPages;

/// <summary>For whom a kind of report usually is. Common practice, no source; whoever receives it decides.</summary>
public static class ReportWords
{
    /// <summary>In a few words; empty for a kind that is not known here.</summary>
    /// <param name="kind">Kind, as in the address: <c>passport</c>.</param>
    public static string For(string kind) => string.Join(", ", Receivers(kind));

    /// <summary>The kinds that can be handed over, sorted by the three who usually ask; who gets none yet is told so.</summary>
    /// <param name="kinds">Kinds there are, with their titles.</param>
    public static string ByReceiver(IReadOnlyList<(string Kind, string Title)> kinds) =>
        string.Join(" ", new[] { T("inspector"), T("buyer"), T("insurer") }.Select(who =>
        {
            var titles = kinds.Where(k => Receivers(k.Kind).Contains(who, StringComparer.Ordinal)).Select(k => k.Title.ToLowerInvariant()).ToList();
            return T($"For the {who}: {(titles.Count > 0 ? string.Join(", ", titles) : T("nothing yet"))}.");
        }));

    private static string[] Receivers(string kind) => kind switch
    {
        "passport" => [T("buyer"), T("next owner")],
        "certificate" => [T("buyer"), T("inspector")],
        "grades" => [T("buyer")],
        "plan" => [T("inspector"), T("workshop")],
        "proofs" => [T("inspector"), T("insurer")],
        "charge" => [T("inspector"), T("insurer")],
        "night" => [T("own file")],
        "health" => [T("insurer"), T("buyer")],
        "fault" => [T("insurer"), T("inspector")],
        "fade" => [T("buyer")],
        "labels" => [T("stuck on the modules")],
        _ => [],
    };
}
