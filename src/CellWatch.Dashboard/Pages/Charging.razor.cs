using CellWatch.Core.Commands;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Parts;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;
using MudBlazor;

namespace CellWatch.Dashboard.Pages;

/// <summary>The page beside a live charge.</summary>
public sealed partial class Charging
{
    private object? _taper;
    private object? _twelve;
    private long _drawnMs;
    private bool? _awake;

    [Inject] private IRecentStrip Recent { get; set; } = null!;

    [Inject] private IJSRuntime Js { get; set; } = null!;

    [Inject] private IDialogService Dialogs { get; set; } = null!;

    [Inject] private PageKeys Keys { get; set; } = null!;

    [Inject] private IServiceProvider Services { get; set; } = null!;

    private string Rate => Words.ClockRateShort(Picture.Options.TimeFactor);

    /// <inheritdoc/>
    protected override void OnInitialized() => Keys.Pressed += KeyAsync;

    /// <inheritdoc/>
    protected override void OnParametersSet()
    {
        if (Picture.State is not { } state) return;
        _twelve = ChargeDrawings.Twelve(state);
        var now = state.Snapshot.Time.WallUnixMs;
        // The taper moves by less than a pixel a second.
        if (_taper is not null && now - _drawnMs is >= 0 and < 1_000) return;
        _drawnMs = now;
        var began = state.Charge?.BeganUnixMs ?? now - 3_600_000;
        var step = Math.Max(5_000, (now - began) / 400);
        _taper = ChargeDrawings.Taper(state, Picture, Recent.Points(began - 120_000, step), Math.Max(Recent.GapAfterMs, 3 * step));
    }

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (!firstRender) return;
        try
        {
            _awake = await Js.InvokeAsync<bool>("cellwatch.awake", true);
        }
        catch (Exception e) when (e is JSDisconnectedException or TaskCanceledException)
        {
            return;
        }

        StateHasChanged();
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        Keys.Pressed -= KeyAsync;
        try
        {
            if (_awake == true) await Js.InvokeVoidAsync("cellwatch.awake", false);
        }
        catch (Exception e) when (e is JSDisconnectedException or TaskCanceledException)
        {
            // The browser has gone, and with it the wish to stay awake.
        }
    }

    private static bool IsCharging(ChargeView charge) => charge.Phase is ChargePhase.ConstantCurrent or ChargePhase.Taper or ChargePhase.TaperMissing;

    private string Say(PackState state, ChargeView charge) =>
        state.Verdict.State >= StateWord.NoData || charge.Advice.Length == 0 ? state.Verdict.Sentence
        : charge is { BeganUnixMs: { } began, EndedUnixMs: { } ended } ? LastCharge(state, charge, began, ended)
        : charge.Advice;

    private string LastCharge(PackState state, ChargeView charge, long began, long ended)
    {
        var first = charge.TargetReachedCell is { } cell ? T($", {state.Layout.CellAt(cell)} first at {Figures.CellVoltage(charge.TargetV)}") : "";
        var end = charge.Phase == ChargePhase.Interrupted ? T(", stopped before its end") : "";
        return T($"No charge current. Last charge {Day(state, began)}{Picture.Minute(began)} to {Picture.Minute(ended)}: {Figures.Charge(charge.ChargedAh)}{first}{end}.");
    }

    // A time of day alone is today's.
    private string Day(PackState state, long unixMs)
    {
        DateTime DayOf(long ms) => TimeZoneInfo.ConvertTime(DateTimeOffset.FromUnixTimeMilliseconds(ms), Picture.Options.TimeZone).Date;
        return (DayOf(state.Snapshot.Time.WallUnixMs) - DayOf(unixMs)).Days switch
        {
            0 => "",
            1 => T("yesterday") + " ",
            var days => T($"{days} days ago") + " ",
        };
    }

    private static string HighestAtRest(PackState state, ChargeView charge) => charge is { HeadroomV: { } left, HeadroomCell: { } cell }
        ? T($"Highest now: {state.Layout.CellAt(cell)}, {Figures.With(left * 1000, 0, "mV")} below the charge target of {Figures.CellVoltage(charge.TargetV)}.")
        : "";

    private string CutOff(ChargeView charge) => charge.HandCutOff.Length > 0 ? charge.HandCutOff : Picture.Options.HandCutOffName;

    private static string HeadroomHead(PackState state, ChargeView charge) => charge is { HeadroomV: not null, HeadroomCell: { } highest }
        ? T($"Headroom of {state.Layout.CellAt(highest)} to {Figures.CellVoltage(charge.TargetV)}")
        : T("Headroom to the charge target");

    // The time belongs to the cell that gets there first, which need not be the highest: both are named.
    private static string First(PackState state, ChargeView charge) =>
        charge.NextToLimit.IsEmpty || charge.NextToLimit[0].Cell == charge.HeadroomCell ? T("There") : T($"{state.Layout.CellAt(charge.NextToLimit[0].Cell)} first,");

    private static string HeadroomFigure(ChargeView charge) => charge.HeadroomV is { } v ? Figures.Number(v * 1000, 0) : T("not known");

    private static string HeadroomWords(ChargeView charge) => charge.Phase switch
    {
        ChargePhase.Taper => T("at the target; the current obeys"),
        ChargePhase.TaperMissing => T("at the target, and the current does not fall"),
        _ when charge.HeadroomV is null => T("no cell is known"),
        _ => T("time not foreseen yet"),
    };

    private static string CurrentSentence(PackState state, ChargeView charge)
    {
        var text = state.Summary.PackCurrentA is { } a ? $"{Figures.Current(a)} {Words.Of(state.Summary.Mode)}" : T("Current not known");
        text += charge.AllowedA is { } allowed && IsCharging(charge) ? T($", {Figures.With(allowed, 0, "A")} allowed.") : ".";
        if (!charge.Supervised && charge.NotSupervisedBecause.Length > 0) text += " " + Sentence(charge.NotSupervisedBecause);
        return $"{text} {PermitWords(charge)}";
    }

    // Four rows; the highest cell is always among them, because it is the one people expect to be first.
    private static List<Limiter> Rows(PackState state, ChargeView charge)
    {
        var rows = charge.NextToLimit.Take(4).ToList();
        var highest = charge.NextToLimit.FirstOrDefault(l => l.Cell == charge.HeadroomCell);
        if (highest is not null && !rows.Contains(highest)) rows[^1] = highest;
        return rows;
    }

    private static string HeatWords(PackState state, HeatView heat)
    {
        if (heat.RiseKPerMin < 0.005) return T("Steady or cooling.");
        var text = T($"Rising {Figures.With(heat.RiseKPerMin, 2, "K/min")}; current explains {Figures.Number(heat.ExplainedKPerMin, 2)}");
        // Below a hundredth of a kelvin a minute a ratio says nothing.
        if (heat.ExplainedKPerMin < 0.01 || heat.RiseKPerMin < 0.02) return text + ".";
        var ratio = heat.RiseKPerMin / heat.ExplainedKPerMin;
        // Whether that is too much is judged by the rules, with their delays; the page only repeats their verdict.
        var tooMuch = state.Alarms.Any(a => a.IsActive && a.Rule.StartsWith("heat-unexplained", StringComparison.Ordinal));
        return T($"{text}, ratio {Figures.Number(ratio, 1)}{(tooMuch ? T(": more than the current explains") : "")}.");
    }

    private static string PermitWords(ChargeView charge) => charge.Permit
        ? T("Charge permit given.")
        : charge.PermitReason.Length > 0 ? Sentence(T($"No charge permit: {charge.PermitReason}")) : T("No charge permit.");

    private static string Sentence(string text) => text.EndsWith('.') ? text : text + ".";

    private string TaperLabel(ChargeView charge) => charge.EndUnixMs is { } end
        ? T($"Current on a logarithmic scale. Expected end about {Picture.Minute(end)}, at {Figures.Current(charge.TerminationA)}.")
        : T("Current on a logarithmic scale; the end is not foreseen yet.");

    private static string TwelveLabel(PackState state, ChargeView charge) =>
        charge.NextToLimit.IsEmpty
            ? T($"The highest cells: {string.Join("; ", ChargeDrawings.Highest(state).Take(12).Select(c => T($"{state.Layout.CellAt(c)} {Figures.Number((charge.TargetV - state.Snapshot.RawCellVoltageV[c]) * 1000, 0)} mV below the target")))}.")
            : T($"The cells nearest in time to the target: {string.Join("; ", charge.NextToLimit.Take(12).Select(l => T($"{state.Layout.CellAt(l.Cell)} {Figures.Number((charge.TargetV - l.VoltageV) * 1000, 0)} mV below")))}.");

    private RenderFragment Presses(PackState state, ChargeView charge) => builder =>
    {
        builder.OpenElement(0, "button");
        builder.AddAttribute(1, "type", "button");
        builder.AddAttribute(2, "class", "press person");
        builder.AddAttribute(3, "onclick", EventCallback.Factory.Create(this, HereAsync));
        builder.AddContent(4, T("I AM HERE"));
        builder.OpenElement(5, "small");
        builder.AddContent(6, charge.PresenceLeftS is { } left ? T($"{Figures.Countdown(left)} left{(Rate.Length > 0 ? ", " + Rate : "")}, then it asks") : T("h on a keyboard"));
        builder.CloseElement();
        builder.CloseElement();
        builder.OpenElement(7, "button");
        builder.AddAttribute(8, "type", "button");
        builder.AddAttribute(9, "class", "press");
        builder.AddAttribute(10, "onclick", EventCallback.Factory.Create(this, () => MarkAsync(state)));
        builder.AddContent(11, T("MARK EVENT"));
        builder.CloseElement();
    };

    private Task HereAsync() => SubmitAsync(new ConfirmPresence(Person.By));

    private async Task MarkAsync(PackState state)
    {
        var at = Picture.Clock(state.Snapshot.Time.WallUnixMs);
        var dialog = await Dialogs.ShowAsync<EventDialog>("", new DialogParameters<EventDialog> { { d => d.At, at } });
        if (await dialog.Result is { Canceled: false, Data: string text }) await SubmitAsync(new MarkEvent($"{at} {text}", Person.By));
    }

    private Task KeyAsync(string key) => key switch
    {
        "h" => InvokeAsync(HereAsync),
        "e" when Picture.State is { } state => InvokeAsync(() => MarkAsync(state)),
        _ => Task.CompletedTask,
    };
}
