namespace CellWatch.Core.FrontEnds;

/// <summary>A board that measures, behind whatever wire: runs until cancelled, leaves what it decodes in its inbox, reports how it is.</summary>
public interface IFrontEnd
{
    /// <summary>Its name in the site file.</summary>
    string Name { get; }

    /// <summary>How it is doing now; safe to call from any thread.</summary>
    FrontEndHealth Health { get; }

    /// <summary>Opens the port, decodes, reconnects with a growing pause; returns when cancelled. Never throws for a fault of the wire.</summary>
    Task RunAsync(CancellationToken cancellation);
}
