namespace CellWatch.Core.Register;

/// <summary>
/// Something a person entered cannot be taken: the message says what is wrong and what to do, in a sentence fit to be shown as it is.
/// Nothing was stored when it is thrown.
/// </summary>
public sealed class RefusedException : Exception
{
    /// <param name="message">The sentence.</param>
    public RefusedException(string message) : base(message)
    {
    }

    /// <param name="message">The sentence.</param>
    /// <param name="inner">What led to it.</param>
    public RefusedException(string message, Exception inner) : base(message, inner)
    {
    }

    /// <summary>Refuses with a generic sentence; say more where you can.</summary>
    public RefusedException() : this(T("This entry cannot be taken."))
    {
    }

    /// <summary>True when someone else stored a revision in between: look at theirs, then repeat.</summary>
    public bool IsConflict { get; init; }

    /// <summary>The field of the entry at fault, by its name there; null where it is the whole.</summary>
    public string? Field { get; init; }

    /// <summary>Throws <paramref name="sentence"/> where a fact does not hold.</summary>
    public static void Unless(bool fact, string sentence)
    {
        if (!fact) throw new RefusedException(sentence);
    }
}
