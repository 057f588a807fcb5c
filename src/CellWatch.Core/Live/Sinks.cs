namespace CellWatch.Core.Live;

/// <summary>Takes published states. Must return at once: a sink that needs time keeps its own queue. May throw; it is caught, counted and shown.</summary>
public interface IPackStateSink
{
    /// <summary>Its name, for its health.</summary>
    string Name { get; }

    /// <summary>Takes one state.</summary>
    void Offer(PackState state);
}

/// <summary>The newest state, for pages: latest wins.</summary>
public interface ILiveView
{
    /// <summary>The newest state; null before the first scan.</summary>
    PackState? Latest { get; }

    /// <summary>Raised after each new state on the pack's own task: a handler only notes that there is news.</summary>
    event Action? Changed;
}
