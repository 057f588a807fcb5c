using CellWatch.Core.Live;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Live;

/// <summary>
/// What all parts of a page show at one instant: the same state for each of them, cascaded by the layout in the rhythm of the scans, about twice a second.
/// </summary>
/// <param name="State">The state; null before the first scan.</param>
/// <param name="Options">The site.</param>
public sealed record Picture(PackState? State, DashboardOptions Options)
{
    /// <summary>Time of the data, ms since 1970, on the pack's clock; null before the first scan.</summary>
    public long? WallUnixMs => State?.Snapshot.Time.WallUnixMs;

    /// <summary>Whether any value comes from a model.</summary>
    public bool Simulated => State?.Simulated ?? Options.Simulated;

    /// <summary>Time of day on the pack's clock in the site's zone.</summary>
    public string Clock(long unixMs) => Figures.Clock(unixMs, Options.TimeZone);

    /// <summary>The same without seconds.</summary>
    public string Minute(long unixMs) => Figures.ClockMinute(unixMs, Options.TimeZone);

    /// <summary>Said beside a countdown or forecast when the pack's clock is not the wall's; empty otherwise.</summary>
    public string OnThePacksClock => Words.ClockRate(Options.TimeFactor);

    /// <summary>Slot in words without the word slot: <c>fore, 4</c>.</summary>
    public string Place(int module)
    {
        var m = State!.Layout.Modules[module];
        return m.Box.Length == 0 ? T($"slot {m.Slot}") : $"{m.Box}, {m.Slot}";
    }
}
