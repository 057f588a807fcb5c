using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Register;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Nights;
using CellWatch.Dashboard.Parts;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;
using MudBlazor;

namespace CellWatch.Dashboard.Pages;

/// <summary>Reads the last night from the log when the page opens, and the kept ones from the bench records; it works nothing out itself.</summary>
public sealed partial class NightReviewPage
{
    private readonly CancellationTokenSource _closing = new();
    private List<NightView> _nights = [];
    private string _chosen = "";
    private object? _rules;
    private object? _bleeds;
    private Strips.Carpet? _carpet;
    private string _answer = "";
    private const int FewRows = 8;

    private string _fault = "";
    private bool _all;
    private bool _taken;
    private bool _read;
    private bool _reading;
    private bool _interactive;

    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    [Inject] private IServiceProvider Services { get; set; } = null!;

    [Inject] private PersonAtThePage Person { get; set; } = null!;

    [Inject] private IDialogService Dialogs { get; set; } = null!;

    private IBenchDesk? Desk => (IBenchDesk?)Services.GetService(typeof(IBenchDesk));

    private NightView? Shown => _nights.FirstOrDefault(n => n.Key == _chosen) ?? _nights.FirstOrDefault();

    private string Empty => _fault.Length > 0 ? _fault
        : Picture.State is null ? T("No scan yet: the pack's cells are known with the first one.")
        : !_read ? T("Reading the last nights from the log.")
        : Picture.Options.Night is null ? T("Choose the cell type and its capacity first. Without them no voltage can be told in Ah.")
        : T("No balancing in the last two days, and no night among the records.");

    private string BleedsLabel => Shown is { Reading: { } r } night
        ? T($"Bleed from {Picture.Minute(r.Bleeding.FromUnixMs)} to {Picture.Minute(r.Bleeding.ToUnixMs)}; {Figures.Count(r.Holes.Count, T("hole"), T("holes"))} in the record. {(night.Review?.Cells.FirstOrDefault(c => c.Cause == NightCause.BleedStuckOn) is { } c ? T($"{c.Cell} fell with its command off.") : "")}")
        : "";

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (!firstRender) return;
        _interactive = true;
        await ReadAsync();
        StateHasChanged();
    }

    /// <inheritdoc/>
    protected override Task OnParametersSetAsync() => _read || _reading ? Task.CompletedTask : ReadAsync();

    /// <inheritdoc/>
    public void Dispose()
    {
        _closing.Cancel();
        _closing.Dispose();
    }

    private Task ReadAgainAsync()
    {
        _answer = "";
        return ReadAsync();
    }

    private async Task ReadAsync()
    {
        if (!_interactive || _reading || Picture.State is not { } state) return;
        _reading = true;
        try
        {
            var nights = new List<NightView>();
            if (Services.GetService(typeof(IHistory)) is IHistory history && Picture.Options.Night is { } setup
                && await NightView.FromLogAsync(history, state, setup, Picture.Options.TimeZone, _closing.Token) is { } last) nights.Add(last);
            if (Desk is { Preparing: null } desk) nights.AddRange(desk.Read(p => p.Safety.Nights().OrderByDescending(n => n.Record.At).Take(7).Select(NightView.Of).ToList()).Where(n => nights.All(m => m.Key != n.Key)));
            (_nights, _fault) = (nights, "");
        }
        catch (OperationCanceledException)
        {
            // The page was left.
        }
        catch (Exception e) when (e is IOException or InvalidOperationException)
        {
            _fault = T($"The log could not be read: {e.Message}");
        }
        finally
        {
            _read = true;
            _reading = false;
        }

        Draw();
    }

    private void Choose(string key)
    {
        _chosen = key;
        Draw();
    }

    // Made once a choice: a drawing is sent again only when it is another object.
    private void Draw()
    {
        if (Shown is not { } night || Picture.State is not { } state) return;
        var map = state.Snapshot.Map;
        (_rules, _bleeds, _carpet) = (NightWords.BeforeAfter(night, map, Picture), NightWords.Bleeds(night, map, Picture), NightWords.Carpet(night, map));
    }

    private async Task KeepAsync()
    {
        if (Shown is not { Night: { } record } night || Desk is not { } desk) return;
        if (Person.Name.Length == 0) await NameDialog.AskAsync(Dialogs, Person);
        try
        {
            desk.Enter(Person.Name, (project, stamp) => project.Safety.Night(night.Key, record, Picture.Options.Night!.Rules, stamp));
            (_answer, _taken) = (T($"Kept as {night.Key}: it is among the reports."), true);
        }
        catch (RefusedException refused)
        {
            (_answer, _taken) = (refused.Message, false);
        }
    }

    private static string RulesLabel(NightReviewOutcome review) =>
        T($"Two rulers of all cells in Ah from the median, before and after the night: spread {Figures.Charge(review.SpreadBeforeAh)} before, {Figures.Charge(review.SpreadAfterAh)} after.");

    private static string Link(string cell) => T($"module-sheet/{cell.Split('.')[0]}?cell={cell.Split('.')[^1]}");
}
