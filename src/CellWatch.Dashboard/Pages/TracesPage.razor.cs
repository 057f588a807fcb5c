using System.Collections.Immutable;
using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Strips;
using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;

namespace CellWatch.Dashboard.Pages;

/// <summary>Reads a stretch of the log when its address changes, and keeps it until the next: looking back does not move by itself.</summary>
public sealed partial class TracesPage
{
    private static readonly (string Name, long LengthMs)[] Lengths = [("10 min", 600_000), ("1 h", 3_600_000), ("4 h", 14_400_000), ("24 h", 86_400_000), (T("All"), 0)];

    // The log writes about once a second; a slow disk takes a little longer.
    private const double LateMs = 5_000;

    private readonly CancellationTokenSource _closing = new();
    private TraceReading? _reading;
    private StripSheet? _sheet;
    private object? _frame;
    private TraceAddress? _address;
    private string? _asked;
    private string _fault = "";
    private string _preset = "";
    private string _noteAt = "";
    private string _noteText = "";
    private string _noteBy = "";
    private string _noteSaid = "";
    private bool _noteKept;
    private bool _interactive;
    private (string?, string?) _filter;
    private ImmutableArray<string> _linesFaults = [];

    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    /// <summary>Beginning, ISO 8601.</summary>
    [SupplyParameterFromQuery]
    public string? From { get; set; }

    /// <summary>End.</summary>
    [SupplyParameterFromQuery]
    public string? To { get; set; }

    /// <summary>Names of the lines.</summary>
    [SupplyParameterFromQuery]
    public string? Cells { get; set; }

    /// <summary>Module the carpet shows; all without one.</summary>
    [SupplyParameterFromQuery]
    public string? Module { get; set; }

    /// <summary>State the carpet's cells must have had.</summary>
    [SupplyParameterFromQuery]
    public string? State { get; set; }

    [Inject] private IServiceProvider Services { get; set; } = null!;

    [Inject] private NavigationManager Navigation { get; set; } = null!;

    [Inject] private IJSRuntime Js { get; set; } = null!;

    private IRecorder? Recorder => (IRecorder?)Services.GetService(typeof(IRecorder));

    private IHistory? History => (IHistory?)Services.GetService(typeof(IHistory));

    private TraceAddress Address => _address!;

    /// <inheritdoc/>
    protected override Task OnParametersSetAsync() => LoadAsync();

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (!firstRender) return;
        _interactive = true;
        await Task.WhenAll(LoadAsync(), PrepareAsync());
        StateHasChanged();
    }

    private async Task PrepareAsync()
    {
        try
        {
            await Js.InvokeVoidAsync("cellwatch.strips.prepare", _closing.Token, (string)Assets[Parts.StripChart.Library]);
        }
        catch (Exception e) when (e is JSDisconnectedException or OperationCanceledException)
        {
            // The page was left.
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _closing.Cancel();
        _closing.Dispose();
    }

    // A page is rendered twice a second by what is live; the log is asked only when the address is another.
    private async Task LoadAsync()
    {
        if (!_interactive || History is not { } history || Picture.State is not { } state) return;
        var asked = $"{From}|{To}|{Cells}";
        var map = state.Snapshot.Map;
        if (asked == _asked)
        {
            Refilter(map);
            return;
        }

        _asked = asked;
        _address = TraceAddress.Read(From, To, Cells, (new TimeRange(state.Snapshot.Time.WallUnixMs - 3_600_000, state.Snapshot.Time.WallUnixMs), Usual(state)), map);
        if (From is null) _preset = "1 h";
        try
        {
            var reading = await TraceReading.LoadAsync(history, map, _address, LateMs * Math.Max(1, Picture.Options.TimeFactor), _closing.Token);
            if (asked != _asked) return;
            (_filter, _linesFaults) = ((null, null), _address.Faults);
            (_reading, _sheet, _frame, _fault) = (reading, StripSheet.Of(reading), TraceWords.Frame(reading, Picture), "");
            Refilter(map);
        }
        catch (OperationCanceledException)
        {
            // The page was left.
        }
        catch (Exception e) when (e is IOException or InvalidOperationException)
        {
            _reading = null;
            _fault = T($"The log could not be read: {e.Message}");
        }
    }

    // Other cells of what was read: the log is not asked again.
    private void Refilter(ChannelMap map)
    {
        if (_reading is not { } reading || _filter == (Module, State)) return;
        _filter = (Module, State);
        var faults = new List<string>();
        _address = Address with { Filter = TraceFilter.Read(Module, State, map, faults) };
        _address = Address with { Faults = [.. _linesFaults, .. faults] };
        _reading = reading with { Address = Address };
    }

    private void Filter(TraceFilter filter) => Navigation.NavigateTo((Address with { Filter = filter }).ToUri());

    /// <summary>Cells that stand out now, else the highest and the lowest.</summary>
    private static IEnumerable<string> Usual(PackState state)
    {
        var cells = state.StandsOut.Where(s => s.Cell is not null).Select(s => s.Cell!.Value).ToList();
        foreach (var cell in new[] { state.Summary.HighestCell, state.Summary.LowestCell })
            if (cell is { } c && !cells.Contains(c)) cells.Add(c);
        return cells.Take(3).Select(state.Snapshot.Map.NameOf);
    }

    private TimeRange Shifted(double share)
    {
        var by = (long)(share * Address.Range.LengthMs);
        return new TimeRange(Address.Range.FromUnixMs + by, Address.Range.ToUnixMs + by);
    }

    private TimeRange Scaled(double factor)
    {
        var half = (long)(factor * Address.Range.LengthMs / 2);
        var centre = Address.Range.FromUnixMs + Address.Range.LengthMs / 2;
        return new TimeRange(centre - half, centre + half);
    }

    private void GoLast(string name, long lengthMs)
    {
        var now = Picture.WallUnixMs ?? Address.Range.ToUnixMs;
        var from = lengthMs > 0 ? now - lengthMs : _reading?.Recorded?.FromUnixMs ?? Address.Range.FromUnixMs;
        Go(new TimeRange(from, now));
        _preset = name;
    }

    /// <summary>A run with a little before and after it; one that is open ends now.</summary>
    private void GoRun(string name, RunRecord run)
    {
        var to = run.ToUnixMs ?? Picture.WallUnixMs ?? Address.Range.ToUnixMs;
        var margin = Math.Max(30_000, (to - run.FromUnixMs) / 40);
        Go(new TimeRange(run.FromUnixMs - margin, to + margin));
        _preset = name;
    }

    private async Task AddNoteAsync()
    {
        if (_reading is not { } reading || Recorder is not { } recorder) return;
        _noteKept = false;
        if (string.IsNullOrWhiteSpace(_noteText)) _noteSaid = T("Not kept: the note is empty.");
        else if (string.IsNullOrWhiteSpace(_noteBy)) _noteSaid = T("Not kept: type your name first. A note is kept with who wrote it.");
        else if (TraceWords.Instant(_noteAt, reading.Address.Range, Picture.Options.TimeZone) is not { } at)
            _noteSaid = T($"Not kept: '{_noteAt}' is no time in the range shown. Write it as 14:31 or 14:31:08.");
        else
        {
            try
            {
                await recorder.AddNoteAsync(_noteText.Trim(), new SnapshotTime(0, at), _noteBy.Trim()).WaitAsync(TimeSpan.FromSeconds(10), _closing.Token);
                (_noteKept, _noteSaid, _noteText, _asked) = (true, T($"Kept at {Picture.Clock(at)}."), "", null);
                await LoadAsync();
            }
            catch (Exception e) when (e is TimeoutException or IOException)
            {
                _noteSaid = T($"Not on disk yet: {recorder.Recording.Sentence} The note waits in memory and is written when the log can be.");
            }
        }
    }

    private void Go(TimeRange range)
    {
        _preset = "";
        var short_ = TraceAddress.ShortestMs - range.LengthMs;
        if (short_ > 0) range = new TimeRange(range.FromUnixMs - short_ / 2, range.ToUnixMs + short_ - short_ / 2);
        if (range.LengthMs > TraceAddress.LongestMs) return;
        Navigation.NavigateTo((Address with { Range = range }).ToUri());
    }

    private void Pick(ChangeEventArgs typed)
    {
        var uri = (Address with { Picked = [] }).ToUri();
        Navigation.NavigateTo(uri + Uri.EscapeDataString(typed.Value?.ToString() ?? ""));
    }

    private string Site => Picture.Options.SiteName.Length > 0 ? Picture.Options.SiteName : Picture.State?.Layout.SiteName ?? "pack";

    private string FileName(TraceReading reading, string ending) =>
        $"{Site}{(Picture.Simulated ? "-SIMULATED" : "")}-{DateTimeOffset.FromUnixTimeMilliseconds(reading.Address.Range.FromUnixMs):yyyyMMdd'T'HHmmss'Z'}.{ending}";

    private async Task SaveCellsAsync()
    {
        if (_reading is not { } reading) return;
        await Js.InvokeVoidAsync("cellwatch.save", FileName(reading, "cells.csv"), "text/csv", TraceCsv.WriteCells(reading, Site, Picture.Options.Version, Picture.Simulated));
    }

    private async Task SaveAsync()
    {
        if (_reading is not { } reading) return;
        await Js.InvokeVoidAsync("cellwatch.save", FileName(reading, "csv"), "text/csv", TraceCsv.Write(reading, Site, Picture.Options.Version, Picture.Simulated));
    }
}
