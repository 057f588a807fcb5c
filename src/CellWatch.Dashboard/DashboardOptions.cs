using System.Reflection;
using CellWatch.Core.Bench;
using CellWatch.Core.Inputs;

namespace CellWatch.Dashboard;

/// <summary>What the pages say about the site that is not in the pack's state.</summary>
public sealed class DashboardOptions
{
    /// <summary>Project as written in the title block; empty takes the site's name from the pack.</summary>
    public string SiteName { get; set; } = "";

    /// <summary>Revision of the pack as built: <c>rev C</c>; empty leaves the field out.</summary>
    public string PackRevision { get; set; } = "";

    /// <summary>Version of the program.</summary>
    public string Version { get; set; } = Assembly.GetExecutingAssembly().GetName().Version?.ToString(3) ?? "";

    /// <summary>Zone in which times are shown; the log and all messages keep UTC.</summary>
    public TimeZoneInfo TimeZone { get; set; } = TimeZoneInfo.Utc;

    /// <summary>The hand cut-off by the name the site gives it: <c>red button on the station</c>.</summary>
    public string HandCutOffName { get; set; } = T("hand cut-off");

    /// <summary>Keys a foot pedal sends, where a browser has no other set on Settings.</summary>
    public PedalKeys Pedal { get; set; } = PedalKeys.None;

    /// <summary>How many times as fast as real time the pack's clock runs; 1 with real instruments.</summary>
    public double TimeFactor { get; set; } = 1;

    /// <summary>What tells a night's volts and switch times in Ah; null where cell type or capacity is not known.</summary>
    public NightSetup? Night { get; set; }

    /// <summary>Whether the service answers under <c>/history</c>, so that a page may link to files from there.</summary>
    public bool HasHistoryDoor { get; set; }

    /// <summary>Whether the pack is simulated, known before the first scan.</summary>
    public bool Simulated { get; set; }
}
