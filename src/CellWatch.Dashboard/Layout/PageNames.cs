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
        new("whole-pack", "Whole pack", true),
        new("module-sheet", "Module sheet", false),
        new("charging", "Charging", true),
        new("bench", "Bench", false),
        new("night-review", "Night review", false),
        new("alarms", "Alarms", true),
        new("traces", "Traces", false),
        new("fitting-plan", "Fitting plan", false),
        new("proofs", "Proofs", true),
        new("instruments", "Instruments", false),
        new("reports", "Reports", false),
        new("settings", "Settings", false, AtTheEnd: true),
        new("help", "Help", false, AtTheEnd: true),
        new("first-run", "First run", false, AtTheEnd: true),
    ];

    /// <summary>The page an address under the base belongs to; the first one for the base itself, null for an unknown address.</summary>
    public static PageName? At(string relativePath)
    {
        var first = relativePath.Split('?', '#')[0].Split('/')[0];
        return first.Length == 0 ? All[0] : All.FirstOrDefault(p => p.Path == first);
    }
}
