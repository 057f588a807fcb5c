using CellWatch.Core.Live;

namespace CellWatch.Host.Pipeline;

/// <summary>Keeps the newest state for pages and the API; latest wins.</summary>
public sealed class LiveView : IPackStateSink, ILiveView
{
    private volatile PackState? _latest;

    /// <inheritdoc/>
    public event Action? Changed;

    /// <inheritdoc/>
    public string Name => "live view";

    /// <inheritdoc/>
    public PackState? Latest => _latest;

    /// <inheritdoc/>
    public void Offer(PackState state)
    {
        _latest = state;
        Changed?.Invoke();
    }
}
