using CellWatch.Core.Commands;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Layout;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Parts;
using CellWatch.Dashboard.Strips;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;
using MudBlazor;
using SiteClock = CellWatch.Core.Wording.SiteClock;

namespace CellWatch.Dashboard.Pages;

/// <summary>The list of alarms, the most urgent one opened out.</summary>
public sealed partial class Alarms
{
    [Inject] private IRecentStrip Recent { get; set; } = null!;

    [Inject] private IDialogService Dialogs { get; set; } = null!;

    [Inject] private PageKeys Keys { get; set; } = null!;

    /// <inheritdoc/>
    protected override void OnInitialized() => Keys.Pressed += KeyAsync;

    /// <inheritdoc/>
    public void Dispose() => Keys.Pressed -= KeyAsync;

    private static List<AlarmView> Rest(PackState state, AlarmView? first) =>
        [.. state.Alarms.Where(a => a.GroupedUnder.Length == 0 && a.Id != first?.Id && a.State != AlarmState.Suppressed)];

    private static string PlugAdvice => T("Do not pull the plug. Do not open the service plug under load.");

    // Lost data while charging counts as ACT NOW, whatever the alarm's own word is.
    private static StateWord WordOf(AlarmView alarm) => alarm.Priority == AlarmPriority.High && alarm.IsActive ? StateWord.ActNow : Words.StateOf(alarm);

    private static string Headline(PackState state, AlarmView? first)
    {
        if (first is null) return T("No alarms.") + (state.Verdict.State == StateWord.Normal ? "" : " " + state.Verdict.Sentence);
        var fact = Words.Whole(AlarmWords.Fact(first));
        if (first.IsActive) return fact;
        return first.Grouped > 0 ? T($"No alarm stands now. {first.Grouped + 1} of one cause are gone and not seen: {fact}") : T($"No alarm stands now. One is gone and not seen: {fact}");
    }

    private string LastWords(PackState state)
    {
        var now = state.Snapshot.Time.WallUnixMs;
        return Recent.Alarms(0) is { Count: > 0 } past
            ? T($"Gone again; the last {Figures.Duration((now - past[^1].UnixMs) / 1000.0)} ago")
            : T("None in the last 24 hours.");
    }

    // What was raised in the last day, each alarm once with its last time; the newest first.
    private IEnumerable<(string Id, StateWord State, long UnixMs, string Place, string What, int Times)> Past() => Recent.Alarms(0)
        .GroupBy(a => a.Id, StringComparer.Ordinal)
        .Select(g => (Last: g.Last(), Times: g.Count()))
        .OrderByDescending(a => a.Last.UnixMs)
        .Take(5)
        .Select(a => (a.Last.Id, a.Last.State, a.Last.UnixMs, a.Last.Place, a.Last.What, a.Times));

    private string PlaceOf(PackState state, string id) =>
        state.Alarms.FirstOrDefault(a => a.Id == id)?.Place ?? Recent.Alarms(0).LastOrDefault(a => a.Id == id).Place ?? T("an alarm that is gone");

    private string Handled(AlarmView alarm) => alarm.State switch
    {
        AlarmState.Shelved => T($"shelved{(alarm.ShelvedUntilUnixMs is { } until ? T($" until {Picture.Minute(until)}") : "")}{(alarm.ShelvedReason.Length > 0 ? $" “{alarm.ShelvedReason}”" : "")}"),
        AlarmState.OutOfService => T($"out of service{(alarm.ShelvedReason.Length > 0 ? $" “{alarm.ShelvedReason}”" : "")}"),
        _ when alarm.SeenUnixMs is { } seen => T($"seen {Picture.Clock(seen)}{(alarm.SeenBy.Length > 0 ? T($" by {alarm.SeenBy}") : "")}{(alarm.IsActive ? "" : T(", gone"))}"),
        _ => alarm.IsActive ? T("not seen") : T("gone, not seen"),
    };

    private object Day(PackState state)
    {
        var (now, zone) = (state.Snapshot.Time.WallUnixMs, Picture.Options.TimeZone);
        double Hour(long unixMs) => Figures.At(unixMs, zone).TimeOfDay.TotalHours;
        return new
        {
            now = Hour(now),
            nowWords = T($"now {Picture.Minute(state.Snapshot.Time.WallUnixMs)}"),
            marks = Recent.Alarms(SiteClock.Midnight(now, zone)).TakeLast(60).Select(a => new { h = Hour(a.UnixMs), state = (int)a.State }).ToArray(),
        };
    }

    private string DayLabel(PackState state)
    {
        var today = Recent.Alarms(SiteClock.Midnight(state.Snapshot.Time.WallUnixMs, Picture.Options.TimeZone));
        return T($"{Figures.Count(today.Count, T("alarm"), T("alarms"))} today{(today.Count > 0 ? ": " + string.Join(", ", today.TakeLast(12).Select(a => $"{Picture.Minute(a.UnixMs)} {a.Place}")) : "")}.");
    }

    private static string TracesAround(PackState state, AlarmView alarm)
    {
        var map = state.Snapshot.Map;
        IEnumerable<int> cells = alarm.Cell is { } cell ? [cell]
            : alarm.Module is { } module ? Enumerable.Range(state.Layout.FirstCell(module), state.Layout.FirstCell(module + 1) - state.Layout.FirstCell(module)) : [];
        return TraceAddress.Around(alarm.SinceUnixMs, 600_000, 300_000, cells.Select(map.NameOf));
    }

    private async Task SeenAsync(PackState state, AlarmView alarm)
    {
        // What fell silent at once is one thing to a person: one press sees all of it, as it stands on the page.
        foreach (var same in state.Alarms.Where(a => a.GroupedUnder == alarm.Id && a.Group == "no-data" && a.LikelyCause == alarm.LikelyCause && IsUnseen(a)))
            await SubmitAsync(new AcknowledgeAlarm(same.Id, Person.By));
        await SubmitAsync(new AcknowledgeAlarm(alarm.Id, Person.By));
    }

    private static bool IsUnseen(AlarmView alarm) => alarm.State is AlarmState.Unacknowledged or AlarmState.ReturnedUnacknowledged or AlarmState.LatchedUnacknowledged;

    // One is said whole; of more the places, as many as a person takes in at a glance; of many their count says as much.
    private static string GroupedWords(PackState state, AlarmView first)
    {
        var grouped = state.Alarms.Where(a => a.GroupedUnder == first.Id).ToList();
        if (grouped is [var one]) return Words.Whole(AlarmWords.Fact(one)).TrimEnd('.');
        var places = grouped.Select(a => a.Rule == "no-current" ? T("the current") : Words.Whole(a.Place)).Distinct(StringComparer.Ordinal).ToList();
        return places.Count <= 6 ? string.Join(", ", places) : "";
    }

    private async Task ShelveAsync(PackState state, AlarmView alarm)
    {
        var parameters = new DialogParameters<ShelveDialog>
        {
            { d => d.Alarm, alarm }, { d => d.NowUnixMs, state.Snapshot.Time.WallUnixMs }, { d => d.Zone, Picture.Options.TimeZone }, { d => d.Name, Person.Name },
        };
        var dialog = await Dialogs.ShowAsync<ShelveDialog>("", parameters);
        if (await dialog.Result is not { Canceled: false, Data: ShelveDialog.Choice choice }) return;
        if (Person.Name != choice.Name) await Person.SetAsync(choice.Name);
        await SubmitAsync(new ShelveAlarm(alarm.Id, choice.Minutes, choice.Reason, choice.Name));
    }

    private Task KeyAsync(string key)
    {
        if (Picture.State is not { } state || StandingAlarms.First(state) is not { } first) return Task.CompletedTask;
        return key switch
        {
            " " when first.State == AlarmState.Unacknowledged => InvokeAsync(() => SeenAsync(state, first)),
            "s" when first.Priority != AlarmPriority.High => InvokeAsync(() => ShelveAsync(state, first)),
            _ => Task.CompletedTask,
        };
    }
}
