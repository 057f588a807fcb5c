using System.Globalization;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.Parts;

/// <summary>Asks for a plan when it opens, when the level is changed, when rest begins or ends, and every five minutes of the pack's time.</summary>
public sealed partial class NextNight
{
    private const int FewRows = 8;
    private const double LongestH = 10;
    private const long AskEveryMs = 300_000;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private readonly CancellationTokenSource _closing = new();
    private BalanceAdvice? _advice;
    private double? _atPercent;
    private string _typed = "";
    private string _refused = "";
    private long _askedUnixMs;
    private PackMode _askedIn;
    private bool _all;
    private bool _asking;
    private bool _interactive;

    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    [Inject] private IServiceProvider Services { get; set; } = null!;

    private IBalanceDesk? Desk => (IBalanceDesk?)Services.GetService(typeof(IBalanceDesk));

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (!firstRender) return;
        _interactive = true;
        await AskAsync();
        StateHasChanged();
    }

    /// <inheritdoc/>
    protected override Task OnParametersSetAsync() =>
        Picture.State is { } state && (state.Summary.Mode != _askedIn || Math.Abs(state.Snapshot.Time.WallUnixMs - _askedUnixMs) >= AskEveryMs) ? AskAsync() : Task.CompletedTask;

    /// <inheritdoc/>
    public void Dispose()
    {
        _closing.Cancel();
        _closing.Dispose();
    }

    private async Task AskAsync()
    {
        if (!_interactive || _asking || Desk is not { } desk || Picture.State is not { } state) return;
        (_asking, _askedUnixMs, _askedIn) = (true, state.Snapshot.Time.WallUnixMs, state.Summary.Mode);
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(_closing.Token);
        patience.CancelAfter(Patience);
        try
        {
            if (await desk.PlanAsync(_atPercent, LongestH, patience.Token) is { } advice)
                (_advice, _typed, _refused) = (advice, Figures.Number(advice.ReferencePercent, 0), "");
        }
        catch (OperationCanceledException)
        {
            if (!_closing.IsCancellationRequested) _refused = "The pack's task is busy: the plan is asked for again in a moment.";
        }
        finally
        {
            _asking = false;
        }
    }

    private async Task ChooseAsync(ChangeEventArgs typed)
    {
        _typed = typed.Value?.ToString()?.Trim() ?? "";
        if (_typed.Length > 0 && !(double.TryParse(_typed, NumberStyles.Float, CultureInfo.InvariantCulture, out var percent) && percent is >= 20 and <= 100))
        {
            _refused = $"'{_typed}' is no level to plan for: 20 to 100 %.";
            return;
        }

        _atPercent = _typed.Length > 0 ? double.Parse(_typed, CultureInfo.InvariantCulture) : null;
        await AskAsync();
    }

    private static string Turns(BleedSchedule schedule) =>
        $"Every {Figures.Duration(schedule.PeriodS)}: odd cells of each module for {Minutes(schedule.TurnS)}, even cells for {Minutes(schedule.TurnS)}, then all off for {Minutes(schedule.MeasureS)} to settle and be measured.";

    private static string Minutes(double s) => Figures.With(s / 60, s % 60 == 0 ? 0 : 1, "min");

    private static string Link(string cell) => $"module-sheet/{cell.Split('.')[0]}?cell={cell.Split('.')[^1]}";
}
