using CellWatch.Core.Inputs;
using CellWatch.Dashboard.Live;
using Microsoft.AspNetCore.Components;
using Microsoft.JSInterop;

namespace CellWatch.Dashboard.Parts;

/// <summary>Learns the keys of a pedal by pressing it, and says whether this browser shows notices.</summary>
public sealed partial class ThisBrowser : IDisposable
{
    private static readonly (InputPurpose Purpose, string Label, string Says)[] Rows =
    [
        (InputPurpose.Presence, T("I am here"), T("Pressed on any page of this browser. A foot pedal is a keyboard with one key.")),
        (InputPurpose.Seen, T("Seen"), T("Marks the most pressing alarm that nobody has seen.")),
    ];

    private PedalKeys _keys = PedalKeys.None;
    private bool _own;
    private InputPurpose? _learning;
    private string _notices = "";
    private string _answer = "";
    private bool _taken;
    private DotNetObjectReference<ThisBrowser>? _self;

    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    [Inject] private IJSRuntime Js { get; set; } = null!;

    private string NoticeWords => _notices switch
    {
        "on" => T("allowed"),
        "off" => T("not asked for"),
        "refused" => T("refused by the browser: allow them for this address in the browser's own settings, then open this page anew"),
        "absent" => T("not possible here: the browser has none, or the address is neither https nor localhost"),
        _ => T("not known yet"),
    };

    /// <summary>Told by the script after a press.</summary>
    [JSInvokable]
    public Task NoticesAsync(string state)
    {
        _notices = state;
        return InvokeAsync(StateHasChanged);
    }

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (!firstRender) return;
        try
        {
            _self = DotNetObjectReference.Create(this);
            await Js.InvokeVoidAsync("cellwatch.notices.listen", _self);
            _notices = await Js.InvokeAsync<string?>("cellwatch.notices.state") ?? "";
            await ReadKeysAsync();
        }
        catch (Exception e) when (e is JSDisconnectedException or TaskCanceledException)
        {
            return;
        }

        StateHasChanged();
    }

    /// <inheritdoc/>
    public void Dispose() => _self?.Dispose();

    private string KeyOf(InputPurpose purpose) => purpose == InputPurpose.Presence ? _keys.Presence : _keys.Seen;

    private static string Said(string key) => key.Length == 0 ? T("none") : key;

    private async Task ReadKeysAsync()
    {
        var kept = await Js.InvokeAsync<Kept?>("cellwatch.pedal.keys");
        (_keys, _own) = kept is null ? (Picture.Options.Pedal, false) : (new PedalKeys(kept.Presence ?? "", kept.Seen ?? ""), kept.Own);
    }

    private async Task LearnAsync(InputPurpose purpose)
    {
        (_learning, _answer) = (purpose, "");
        StateHasChanged();
        var code = await Js.InvokeAsync<string?>("cellwatch.pedal.learn") ?? "";
        if (_learning == purpose) _learning = null;
        if (code.Length == 0) Say(false, T("No key came within 15 s, or Escape was pressed: nothing is changed."));
        else if (KeyCodes.WhyNot(code) is { } why) Say(false, T($"Not kept: {why}."));
        else if (code == KeyOf(purpose == InputPurpose.Presence ? InputPurpose.Seen : InputPurpose.Presence)) Say(false, T($"Not kept: '{code}' stands for the other press already."));
        else await KeepAsync(purpose, code);
    }

    private async Task KeepAsync(InputPurpose purpose, string code)
    {
        _keys = purpose == InputPurpose.Presence ? _keys with { Presence = code } : _keys with { Seen = code };
        _own = true;
        await Js.InvokeVoidAsync("cellwatch.pedal.keep", _keys.Presence, _keys.Seen);
        Say(true, code.Length > 0 ? T($"{code} is kept in this browser and in force now.") : T("No key in this browser now."));
    }

    private async Task ForgetAsync()
    {
        (_keys, _own) = (Picture.Options.Pedal, false);
        await Js.InvokeVoidAsync("cellwatch.pedal.forget", _keys.Presence, _keys.Seen);
        Say(true, T("The keys of the site file are in force."));
    }

    private void Say(bool taken, string answer) => (_taken, _answer) = (taken, answer);

    private sealed record Kept(string? Presence, string? Seen, bool Own);
}
