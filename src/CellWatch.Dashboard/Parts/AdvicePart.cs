using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.Parts;

/// <summary>
/// A part that asks the pack for advice: when it opens, when rest begins or ends, and every five minutes of the pack's time; never in every picture.
/// </summary>
public abstract class AdvicePart<TAdvice> : ComponentBase, IDisposable
    where TAdvice : class
{
    private const long AskEveryMs = 300_000;
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private readonly CancellationTokenSource _closing = new();
    private long _askedUnixMs;
    private PackMode _askedIn;
    private bool _asking;
    private bool _interactive;

    /// <summary>What all parts show now.</summary>
    [CascadingParameter]
    public Picture Picture { get; set; } = null!;

    [Inject] private IServiceProvider Services { get; set; } = null!;

    /// <summary>Who is asked; null where there is nobody.</summary>
    protected IAdviceDesk? Desk => (IAdviceDesk?)Services.GetService(typeof(IAdviceDesk));

    /// <summary>The last answer; null before the first.</summary>
    protected TAdvice? Advice { get; private set; }

    /// <summary>Whether the last question was not answered in time.</summary>
    protected bool WasBusy { get; private set; }

    /// <summary>Asks.</summary>
    protected abstract Task<TAdvice?> QuestionAsync(IAdviceDesk desk, CancellationToken cancellation);

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

    /// <summary>Asks now, unless it is asking already.</summary>
    protected async Task AskAsync()
    {
        if (!_interactive || _asking || Desk is not { } desk || Picture.State is not { } state) return;
        (_asking, _askedUnixMs, _askedIn) = (true, state.Snapshot.Time.WallUnixMs, state.Summary.Mode);
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(_closing.Token);
        patience.CancelAfter(Patience);
        try
        {
            (Advice, WasBusy) = (await QuestionAsync(desk, patience.Token) ?? Advice, false);
        }
        catch (OperationCanceledException)
        {
            WasBusy = !_closing.IsCancellationRequested;
        }
        finally
        {
            _asking = false;
        }
    }

    /// <inheritdoc/>
    public void Dispose()
    {
        _closing.Cancel();
        _closing.Dispose();
        GC.SuppressFinalize(this);
    }
}
