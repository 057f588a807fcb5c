namespace CellWatch.Dashboard.Layout;

/// <summary>One page as the rail, the phone's bar and the title block name it.</summary>
/// <param name="Path">Address under the base.</param>
/// <param name="Name">Name in words.</param>
/// <param name="OnPhoneBar">Whether the phone's bar shows it; the others are under More.</param>
/// <param name="AtTheEnd">Whether it stands at the end of the rail, apart from the pages of the pack.</param>
public sealed record PageName(string Path, string Name, bool OnPhoneBar, bool AtTheEnd = false);

/// <summary>The pages there are.</summary>
public static class PageNames
{
    /// <summary>In the order of the rail.</summary>
    public static IReadOnlyList<PageName> All { get; } =
    [
        new("whole-pack", T("Whole pack"), true),
        new("module-sheet", T("Module sheet"), false),
        new("charging", T("Charging"), true),
        new("bench", T("Bench"), false),
        new("night-review", T("Night review"), false),
        new("alarms", T("Alarms"), true),
        new("traces", T("Traces"), false),
        new("fitting-plan", T("Fitting plan"), false),
        new("proofs", T("Proofs"), true),
        new("instruments", T("Instruments"), false),
        new("reports", T("Reports"), false),
        new("settings", T("Settings"), false, AtTheEnd: true),
        new("help", T("Help"), false, AtTheEnd: true),
        new("first-run", T("First run"), false, AtTheEnd: true),
    ];

    /// <summary>What the browser's tab says: <c>Charging – SIMULATED – CellWatch</c>.</summary>
    /// <param name="page">The page in words.</param>
    /// <param name="simulated">Whether anything on it comes from a model.</param>
    public static string Title(string page, bool simulated) => (simulated ? T($"{page} – SIMULATED") : page) + " – CellWatch";

    /// <summary>The page an address under the base belongs to; the first one for the base itself, null for an unknown address.</summary>
    public static PageName? At(string relativePath)
    {
        var first = relativePath.Split('?', '#')[0].Split('/')[0];
        return first.Length == 0 ? All[0] : All.FirstOrDefault(p => p.Path == first);
    }
}
