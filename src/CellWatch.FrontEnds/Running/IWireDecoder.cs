namespace CellWatch.FrontEnds.Running;

/// <summary>
/// Turns the bytes of one wire into readings. Owned by one runner and called from its task only. Everything it learns about the link goes to
/// the <see cref="LinkJournal"/>, everything it measures to the inbox behind it.
/// </summary>
internal interface IWireDecoder
{
    /// <summary>The wire in words.</summary>
    string Wire { get; }

    /// <summary>Reasons for thrown-away input in words, by the number given to the journal.</summary>
    string Words(byte reason);

    /// <summary>How many reasons there are.</summary>
    int ReasonCount { get; }

    /// <summary>Whether the wire says who is speaking, so that an identity can be asked for.</summary>
    bool CarriesIdentity { get; }

    /// <summary>Whether the wire says if the values come from a model.</summary>
    bool SaysOrigin { get; }

    /// <summary>Forgets half lines and counters: the link was lost.</summary>
    void Reset();

    /// <summary>Takes the device into service after opening; most wires just listen.</summary>
    ValueTask StartAsync(Stream stream, CancellationToken cancellation);

    /// <summary>Decodes what arrived. No allocation.</summary>
    void Take(ReadOnlySpan<byte> bytes);

    /// <summary>Leaves the device as it should be before closing; must not throw for a fault of the link.</summary>
    ValueTask StopAsync(Stream stream, CancellationToken cancellation);
}
