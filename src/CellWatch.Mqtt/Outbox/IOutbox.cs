namespace CellWatch.Mqtt;

/// <summary>One message that must not be lost.</summary>
/// <param name="Number">Counts up from 1 and is never given twice; with a file-backed outbox not even after a restart.</param>
/// <param name="Topic">Its topic.</param>
/// <param name="Payload">Its payload, owned by the message.</param>
/// <param name="Retain">Whether the broker keeps it for a late reader.</param>
public sealed record OutboxMessage(long Number, string Topic, ReadOnlyMemory<byte> Payload, bool Retain);

/// <summary>
/// Store and forward for what must arrive once and in order: alarms and runs, not live values. Bounded: when it is full the oldest
/// message is given up and counted. A message leaves only by <see cref="Remove"/>, after the broker has acknowledged it.
/// Safe for one task that adds and one that sends.
/// </summary>
public interface IOutbox
{
    /// <summary>Messages that wait.</summary>
    int Count { get; }

    /// <summary>Messages given up because the outbox was full, since it was opened.</summary>
    long GivenUp { get; }

    /// <summary>What is wrong with the store in a sentence; empty when all is well.</summary>
    string Fault { get; }

    /// <summary>Number the next message will get; for the one task that adds.</summary>
    long NextNumber { get; }

    /// <summary>Adds a message at the end; its payload is copied.</summary>
    OutboxMessage Add(string topic, ReadOnlySpan<byte> payload, bool retain);

    /// <summary>The oldest message; false when nothing waits.</summary>
    bool TryPeek(out OutboxMessage message);

    /// <summary>Takes a message out once it has been delivered; does nothing when it was given up meanwhile.</summary>
    void Remove(OutboxMessage message);
}
