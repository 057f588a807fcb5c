namespace CellWatch.Dashboard.BenchPages;

/// <summary>For whom a kind of report usually is. Common practice, no source; whoever receives it decides.</summary>
public static class ReportWords
{
    /// <summary>In a few words; empty for a kind that is not known here.</summary>
    /// <param name="kind">Kind, as in the address: <c>passport</c>.</param>
    public static string For(string kind) => kind switch
    {
        "passport" => T("buyer, next owner"),
        "certificate" => T("buyer, inspector"),
        "grades" => T("buyer"),
        "plan" => T("inspector, workshop"),
        "proofs" => T("inspector, insurer"),
        "charge" => T("inspector, insurer"),
        "night" => T("own file"),
        "health" => T("insurer, buyer"),
        "fault" => T("insurer, inspector"),
        "fade" => T("buyer"),
        "labels" => T("stuck on the modules"),
        _ => "",
    };
}
