using CellWatch.Core.Commands;
using CellWatch.Core.Inputs;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Waking;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Parts;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.Options;
using Microsoft.JSInterop;
using MudBlazor;

namespace CellWatch.Dashboard.Layout;

/// <summary>
/// Frame of all pages and the one place that listens to the pack. A picture follows its news at once, so a page keeps the rhythm of the
/// wire, but never sooner than <see cref="Rest"/> after the last was answered, and it is always of the newest state: a slow browser gets
/// fewer pictures, never a queue.
/// </summary>
public sealed partial class MainLayout
{
    // Shorter than the half second of a pack read at 2 Hz by more than a drawing takes, or the pictures would slide behind the wire.
    private static readonly TimeSpan Rest = TimeSpan.FromMilliseconds(400);

    // The browser calls the page empty after 5 s without a word (heartbeat.js), so a pack without news still sends one each second.
    private static readonly TimeSpan Silence = TimeSpan.FromMilliseconds(600);

    private readonly CancellationTokenSource _closing = new();
    private readonly Bell _news = new(isRung: true);
    private Picture _picture = null!;
    private DotNetObjectReference<MainLayout>? _self;
    private Task? _beating;
    private bool _dark;
    private string? _noticed;

    [Inject] private ILiveView Live { get; set; } = null!;

    [Inject] private IRecentStrip Recent { get; set; } = null!;

    [Inject] private IOptions<DashboardOptions> Options { get; set; } = null!;

    [Inject] private IJSRuntime Js { get; set; } = null!;

    [Inject] private PersonAtThePage Person { get; set; } = null!;

    [Inject] private IDialogService Dialogs { get; set; } = null!;

    [Inject] private ICommandDoor Door { get; set; } = null!;

    [Inject] private PageKeys Keys { get; set; } = null!;

    [Inject] private TimeProvider Time { get; set; } = null!;

    /// <summary>A key pressed in the browser outside any text field.</summary>
    [JSInvokable]
    public Task KeyAsync(string key) => key == "?" ? InvokeAsync(ShowKeysAsync) : Keys.PressAsync(key);

    /// <summary>A press of the pedal, on whatever page: it goes through the one door, kept under the person's name where one was typed.</summary>
    /// <param name="purpose"><c>presence</c> or <c>seen</c>.</param>
    [JSInvokable]
    public async Task<CommandAnswer> PedalAsync(string purpose)
    {
        var by = Person.Name.Length > 0 ? T($"{Person.Name}, by pedal") : T("foot pedal at a page");
        return PressedBy.CommandOf(purpose == "presence" ? InputPurpose.Presence : InputPurpose.Seen, Live.Latest, by) is { } command ? await Door.SubmitAsync(command, _closing.Token) : PressedBy.NothingToSee;
    }

    /// <inheritdoc/>
    protected override void OnInitialized() => _picture = new Picture(Live.Latest, Options.Value);

    /// <inheritdoc/>
    protected override async Task OnAfterRenderAsync(bool firstRender)
    {
        if (!firstRender) return;
        _self = DotNetObjectReference.Create(this);
        Live.Changed += OnChanged;
        try
        {
            _dark = await Js.InvokeAsync<bool>("cellwatch.isDark");
            await Person.LoadAsync();
            await Js.InvokeVoidAsync("cellwatch.layout", _self, Options.Value.Pedal);
        }
        catch (Exception e) when (e is JSDisconnectedException or TaskCanceledException)
        {
            return;
        }

        _beating = BeatAsync(_closing.Token);
        StateHasChanged();
    }

    private void OnChanged() => _news.Ring();

    private async Task BeatAsync(CancellationToken closing)
    {
        try
        {
            PackState? drawn = null;
            while (true)
            {
                await _news.WaitAsync(Silence, closing);
                if (Live.Latest is { } latest && !ReferenceEquals(latest, drawn))
                {
                    drawn = latest;
                    await InvokeAsync(() =>
                    {
                        _picture = new Picture(latest, Options.Value);
                        StateHasChanged();
                    });
                }

                await Js.InvokeVoidAsync("cellwatch.tick", closing, Live.Latest?.Snapshot.Sequence ?? 0, AlarmSound.LevelOf(Live.Latest), Cautions(), Live.Latest?.Summary.Mode == PackMode.Charging);
                await NoticeAsync(Live.Latest, closing);
                await Task.Delay(Rest, Time, closing);
            }
        }
        catch (Exception e) when (e is JSDisconnectedException or OperationCanceledException or ObjectDisposedException)
        {
            // The browser has gone; the circuit ends by itself.
        }
    }

    // One notice for each most pressing alarm nobody has seen; the browser shows it only where a person has allowed that.
    private async Task NoticeAsync(PackState? state, CancellationToken closing)
    {
        var urgent = AlarmSound.LevelOf(state) == 2 ? StandingAlarms.FirstUnseen(state) : null;
        if (urgent?.Id == _noticed) return;
        _noticed = urgent?.Id;
        if (urgent is null) await Js.InvokeVoidAsync("cellwatch.notices.again", closing);
        else await Js.InvokeVoidAsync("cellwatch.notices.show", closing, urgent.Id, _picture.Simulated ? T($"SIMULATED {Words.Of(StateWord.ActNow)}") : Words.Of(StateWord.ActNow), $"{Pages.AlarmWords.Of(urgent).Do} {Pages.AlarmWords.Fact(urgent)}");
    }

    private int Cautions() => Recent.Alarms(0).Count(a => a.State is StateWord.Caution or StateWord.NoData);

    private Task ShowKeysAsync() => Dialogs.ShowAsync<KeysDialog>("");

    private async Task ToggleThemeAsync() => _dark = await Js.InvokeAsync<bool>("cellwatch.toggleTheme");

    /// <inheritdoc/>
    public async ValueTask DisposeAsync()
    {
        Live.Changed -= OnChanged;
        await _closing.CancelAsync();
        if (_beating is not null) await _beating;
        _self?.Dispose();
        _news.Dispose();
        _closing.Dispose();
    }
}
