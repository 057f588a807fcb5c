namespace CellWatch.Core.Waking;

/// <summary>
/// Wakes one task that waits for news from any number of others. Rung while nobody waits, the next wait ends at once; rung many times it is
/// rung once. Ringing never waits and never throws, also from a task that outlives the one that listened.
/// </summary>
/// <param name="isRung">Whether the first wait ends at once.</param>
public sealed class Bell(bool isRung = false) : IDisposable
{
    private readonly SemaphoreSlim _rung = new(isRung ? 1 : 0, 1);

    /// <summary>There is news.</summary>
    public void Ring()
    {
        try
        {
            // The look ahead spares the usual case an exception; it may be late, so the exception is still expected.
            if (_rung.CurrentCount == 0) _rung.Release();
        }
        catch (SemaphoreFullException)
        {
            // Rung already.
        }
        catch (ObjectDisposedException)
        {
            // Nobody listens any more.
        }
    }

    /// <summary>Waits for news.</summary>
    public Task WaitAsync(CancellationToken cancellation) => _rung.WaitAsync(cancellation);

    /// <summary>Waits for news, or until the time is over.</summary>
    public Task WaitAsync(TimeSpan atMost, CancellationToken cancellation) => _rung.WaitAsync(atMost, cancellation);

    /// <inheritdoc/>
    public void Dispose() => _rung.Dispose();
}
