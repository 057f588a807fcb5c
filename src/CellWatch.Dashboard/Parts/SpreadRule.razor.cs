using System.Globalization;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Rule;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;

namespace CellWatch.Dashboard.Parts;

/// <summary>
/// Decides mode, scale and notes of the spread rule and hands each scan to the script as one byte array; the marks are not part of the
/// page's tree. A scan that comes while the browser still works on the last one is left out.
/// </summary>
public sealed partial class SpreadRule
{
    private static readonly (RuleMode Mode, string Name)[] Modes =
    [
        (RuleMode.Voltage, T("Voltage")), (RuleMode.Charge, T("Charge, Ah")), (RuleMode.Temperature, T("Temperature")), (RuleMode.Resistance, T("Resistance")),
    ];

    private ElementReference _host;
    private DotNetObjectReference<SpreadRule>? _self;
    private RuleMode _mode;
    private RuleFrame? _frame;
    private int _step;
    private int? _shown;
    private int? _fixed;
    private int? _was;
    private long _wasSince;
    private double? _fitsSmallerSinceS;
    private bool _table;
    private bool _sending;
    private object? _skeletonOf;
    private RuleMode _skeletonMode;
    private long _sentSequence = -1;
    private string _sentNotes = "";
    private string _summary = "";

    /// <summary>What to show.</summary>
    [Parameter, EditorRequired]
    public PackState State { get; set; } = null!;

    [CascadingParameter] private Picture Picture { get; set; } = null!;

    [Inject] private IJSRuntime Js { get; set; } = null!;

    [Inject] private NavigationManager Navigation { get; set; } = null!;

    [Inject] private PageKeys Keys { get; set; } = null!;

    [Inject] private TimeProvider Time { get; set; } = null!;

    private RuleScale Scale => _frame?.Scale ?? RuleScale.Voltage;

    private string Lead => _mode switch
    {
        RuleMode.Voltage => T($"mV from the median cell. {Doing}"),
        RuleMode.Charge => T("Ah from the median cell."),
        RuleMode.Temperature => T("K from the median sensor."),
        _ => T("mΩ from the median cell."),
    };

    private string Doing
    {
        get
        {
            var mode = Words.Of(State.Summary.Mode);
            var text = State.Summary.Mode == PackMode.Unknown ? "" : char.ToUpperInvariant(mode[0]) + mode[1..];
            if (State.Summary.Soc is { } soc) text += T($"{(text.Length > 0 ? ", " : "")}{Figures.Number(soc * 100, 0)}{Figures.Thin}% charge");
            return text.Length > 0 ? text + "." : "";
        }
    }

    private string MedianWords => _frame?.Median is { } median
        ? _mode switch
        {
            RuleMode.Voltage => T($"median {Figures.CellVoltage(median)}"),
            RuleMode.Temperature => T($"median {Figures.Temperature(median)}"),
            RuleMode.Resistance => T($"median {Figures.With(median, 2, "mΩ")}"),
            _ => "",
        }
        : "";

    /// <summary>Opens the module sheet of a mark; called by the script.</summary>
    [JSInvokable]
    public void OpenMark(int position)
    {
        if (_frame is not { } frame || position < 0 || position >= frame.Deviation.Length) return;
        var channel = frame.ChannelAt(position);
        var module = _mode == RuleMode.Temperature ? State.Layout.ModuleOfTemperature(channel) : State.Layout.ModuleOfCell(channel);
        var cell = _mode == RuleMode.Temperature ? "" : T($"?cell={channel - State.Layout.FirstCell(module) + 1}");
        Navigation.NavigateTo($"module-sheet/{State.Layout.Modules[module].Id}{cell}");
    }

    /// <inheritdoc/>
    protected override void OnInitialized() => Keys.Pressed += KeyAsync;

    /// <inheritdoc/>
    protected override void OnParametersSet() => Take();

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (_sending || _frame is not { } frame) return;
        _sending = true;
        try
        {
            if (!ReferenceEquals(_skeletonOf, State.Layout) || _skeletonMode != _mode)
            {
                _self ??= DotNetObjectReference.Create(this);
                await Js.InvokeVoidAsync("cellwatch.rule.set", _host, _self, Skeleton(frame));
                (_skeletonOf, _skeletonMode, _sentSequence, _sentNotes) = (State.Layout, _mode, -1, "");
            }

            var notes = RuleNotes.From(State, frame, MedianWords, Picture);
            var key = notes.Key();
            if (_sentSequence == State.Snapshot.Sequence && key == _sentNotes && _shown == _step) return;
            _sentSequence = State.Snapshot.Sequence;
            await Js.InvokeVoidAsync("cellwatch.rule.frame", _host, frame.ToBytes(_step), key == _sentNotes ? null : notes);
            _sentNotes = key;
            _shown = _step;
        }
        catch (Exception e) when (e is JSDisconnectedException or TaskCanceledException)
        {
            // The browser has gone.
        }
        finally
        {
            _sending = false;
        }
    }

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        Keys.Pressed -= KeyAsync;
        try
        {
            if (_self is not null) await Js.InvokeVoidAsync("cellwatch.rule.drop", _host);
        }
        catch (Exception e) when (e is JSDisconnectedException or TaskCanceledException or JSException)
        {
            // Gone with its page.
        }

        _self?.Dispose();
    }

    private void Take()
    {
        if (RuleFrame.WhyNot(State, _mode) is not null) _mode = RuleMode.Voltage;
        _frame = RuleFrame.From(State, _mode);
        if (_frame is not { } frame) return;
        int? present = _shown is null ? null : _step;
        var next = _fixed ?? frame.Scale.Next(present, frame.KnownDistances(), ref _fitsSmallerSinceS, State.Snapshot.Time.ElapsedS);
        if (present is { } before && next != before)
        {
            _was = before;
            _wasSince = Time.GetTimestamp();
        }
        else if (_was is not null && Time.GetElapsedTime(_wasSince) > TimeSpan.FromSeconds(5))
        {
            _was = null;
        }

        _step = next;
        _summary = Summary(frame);
    }

    private string Summary(RuleFrame frame)
    {
        var lost = frame.States.Count(s => s == StateWord.NoData);
        var what = _mode == RuleMode.Temperature ? T("sensors") : T("cells");
        var text = T($"{frame.Deviation.Length} {what} as ticks{(MedianWords.Length > 0 ? ", " + MedianWords : "")}, ruler {StepWords(_step)}.");
        if (frame.Highest is { } h) text += T($" Highest {frame.NameAt(h)} {Say(frame, h)}.");
        if (frame.Lowest is { } l) text += T($" Lowest {frame.NameAt(l)} {Say(frame, l)}.");
        if (lost > 0) text += T($" {lost} without data.");
        return text + T(" Arrow keys move from cell to cell, Enter opens the module, t shows the table.");
    }

    private static string Say(RuleFrame frame, int position) =>
        Figures.With(frame.Deviation[position], frame.Scale.Decimals, frame.Scale.Unit, signed: true);

    private object Skeleton(RuleFrame frame)
    {
        var (toQuantity, quantityDecimals, quantityUnit) = _mode switch
        {
            RuleMode.Voltage => (0.001, 3, "V"),
            RuleMode.Temperature => (1.0, 1, "°C"),
            RuleMode.Resistance => (1.0, 2, "mΩ"),
            _ => (1.0, 2, "Ah"),
        };
        return new
        {
            steps = frame.Scale.Steps,
            unit = frame.Scale.Unit,
            perCount = frame.Scale.PerCount,
            decimals = frame.Scale.Decimals,
            toQuantity,
            quantityDecimals,
            quantityUnit,
            sensors = _mode == RuleMode.Temperature,
            columns = frame.Columns.Select(c => new { id = c.Id, box = c.Box, slot = c.Slot, count = c.Count, weight = State.Layout.Modules[c.Module].Topology.Series }).ToArray(),
        };
    }

    private string StepWords(int step)
    {
        var reach = Scale.Steps[step];
        var decimals = reach % 1 == 0 ? 0 : reach * 10 % 1 == 0 ? 1 : 2;
        return "±" + Figures.With(reach, decimals, Scale.Unit);
    }

    private void Choose(ChangeEventArgs chosen) => Fix(int.TryParse(chosen.Value?.ToString(), CultureInfo.InvariantCulture, out var step) ? step : null);

    private void Fix(int? step)
    {
        _fixed = step;
        _fitsSmallerSinceS = null;
        Take();
    }

    private void SwitchTo(RuleMode mode)
    {
        (_mode, _fixed, _was, _shown, _fitsSmallerSinceS) = (mode, null, null, null, null);
        Take();
    }

    private void ToggleTable() => _table = !_table;

    private Task KeyAsync(string key)
    {
        RuleMode? mode = key switch { "v" => RuleMode.Voltage, "a" => RuleMode.Charge, "c" => RuleMode.Temperature, "r" => RuleMode.Resistance, _ => null };
        return InvokeAsync(() =>
        {
            if (mode is { } m && RuleFrame.WhyNot(State, m) is null) SwitchTo(m);
            else if (key == "t") ToggleTable();
            else return;
            StateHasChanged();
        });
    }
}
