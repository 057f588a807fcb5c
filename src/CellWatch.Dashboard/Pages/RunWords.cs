using System.Text.Json;
using CellWatch.Core.History;
using CellWatch.Core.History.Runs;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>A run of the record in words.</summary>
public static class RunWords
{
    /// <summary>Its kind as the pages write it.</summary>
    public static string Of(RunKind kind) => kind switch
    {
        RunKind.Rest => T("rest"),
        RunKind.Capacity => T("capacity test"),
        RunKind.Pulse => T("pulse test"),
        RunKind.Charge => T("charge"),
        RunKind.Balance => T("balancing"),
        RunKind.Drive => T("drive"),
        _ => T("storage"),
    };

    /// <summary>Who said what it is: the program by the current, or a person by name with the title given.</summary>
    public static string By(RunRecord run) => run.OpenedBy == RunRecognition.By ? T("recognised") : $"{run.Title} ({run.OpenedBy})";

    /// <summary>Its length in words.</summary>
    public static string Length(RunRecord run, long nowUnixMs) =>
        run.ToUnixMs is { } to ? Figures.Duration((to - run.FromUnixMs) / 1000.0) : T($"{Figures.Duration((nowUnixMs - run.FromUnixMs) / 1000.0)} so far");

    /// <summary>Its end with the date where it is another than the beginning's.</summary>
    public static string To(RunRecord run, Picture picture) => run.ToUnixMs is not { } to ? T("still running")
        : Figures.Date(to, picture.Options.TimeZone) == Figures.Date(run.FromUnixMs, picture.Options.TimeZone) ? picture.Minute(to)
        : $"{Figures.Date(to, picture.Options.TimeZone)} {picture.Minute(to)}";

    /// <summary>What was counted in it, as the program kept it at its end. What cannot be read is said, never guessed.</summary>
    public static string Counted(RunRecord run)
    {
        if (run.ToUnixMs is null) return T("counted at its end");
        if (Kept(run.Settings) is not { } kept) return T("nothing was counted");
        var said = new List<string>();
        if (kept.InAh is { } inAh && (inAh >= 0.05 || run.Kind == RunKind.Charge)) said.Add(T($"{Figures.Charge(inAh)} in"));
        if (kept.OutAh is { } outAh && (outAh >= 0.05 || run.Kind == RunKind.Drive)) said.Add(T($"{Figures.Charge(outAh)} out"));
        if (said.Count == 0 && kept.InAh is not null) said.Add(T("no charge moved"));
        if (kept.Gaps is > 0 and var gaps) said.Add(T($"not counted in {Figures.Count(gaps, T("gap"), T("gaps"))} of {Figures.Duration(kept.GapS)}"));
        if (kept.EndedBy == "programEnd") said.Add(T("ended with the program"));
        if (kept.EndedBy == "dataEnd") said.Add(T("ended where the data end"));
        return said.Count == 0 ? T("nothing was counted") : string.Join(", ", said);
    }

    private static (double? InAh, double? OutAh, int Gaps, double GapS, string EndedBy)? Kept(string settings)
    {
        if (settings.Length == 0) return null;
        try
        {
            using var json = JsonDocument.Parse(settings);
            if (json.RootElement is not { ValueKind: JsonValueKind.Object } root) return null;
            double? Of(string name) => root.TryGetProperty(name, out var v) && v.ValueKind == JsonValueKind.Number ? v.GetDouble() : null;
            return (Of("chargeInAh"), Of("chargeOutAh"), (int)(Of("gaps") ?? 0), Of("gapS") ?? 0, root.TryGetProperty("endedBy", out var by) && by.ValueKind == JsonValueKind.String ? by.GetString()! : "");
        }
        catch (JsonException)
        {
            return null;
        }
    }
}
