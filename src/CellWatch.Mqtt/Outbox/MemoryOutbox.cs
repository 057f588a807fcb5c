namespace CellWatch.Mqtt;

/// <summary>An outbox that lives as long as the program; so do its numbers.</summary>
/// <param name="capacity">Most messages that wait, at least 1. At about 1 kB a message 10 000 are some 10 MB (chosen, no source).</param>
/// <param name="nextNumber">Number of the first message.</param>
public sealed class MemoryOutbox(int capacity = MemoryOutbox.DefaultCapacity, long nextNumber = 1) : IOutbox
{
    /// <summary>Capacity unless another is asked for.</summary>
    public const int DefaultCapacity = 10_000;

    private readonly LinkedList<OutboxMessage> _waiting = new();
    private readonly Lock _lock = new();

    /// <inheritdoc/>
    public int Count
    {
        get { lock (_lock) return _waiting.Count; }
    }

    /// <inheritdoc/>
    public long GivenUp { get; private set; }

    /// <inheritdoc/>
    public string Fault => "";

    /// <inheritdoc/>
    public long NextNumber { get; private set; } = nextNumber;

    /// <inheritdoc/>
    public OutboxMessage Add(string topic, ReadOnlySpan<byte> payload, bool retain)
    {
        var message = new OutboxMessage(NextNumber, topic, payload.ToArray(), retain);
        Restore(message);
        return message;
    }

    /// <inheritdoc/>
    public bool TryPeek(out OutboxMessage message)
    {
        lock (_lock)
        {
            message = _waiting.First?.Value!;
            return message is not null;
        }
    }

    /// <inheritdoc/>
    public void Remove(OutboxMessage message)
    {
        lock (_lock)
        {
            for (var node = _waiting.First; node is not null && node.Value.Number <= message.Number; node = node.Next)
            {
                if (node.Value.Number != message.Number) continue;
                _waiting.Remove(node);
                return;
            }
        }
    }

    /// <summary>Puts a message read from a file at the end, with its own number.</summary>
    internal void Restore(OutboxMessage message)
    {
        lock (_lock)
        {
            if (_waiting.Count >= Math.Max(1, capacity))
            {
                _waiting.RemoveFirst();
                GivenUp++;
            }

            _waiting.AddLast(message);
            NextNumber = Math.Max(NextNumber, message.Number + 1);
        }
    }

    /// <summary>Numbers go on from here.</summary>
    internal void StartAt(long number)
    {
        lock (_lock) NextNumber = Math.Max(NextNumber, number);
    }

    /// <summary>All that wait, oldest first.</summary>
    internal OutboxMessage[] Waiting()
    {
        lock (_lock) return [.. _waiting];
    }
}
