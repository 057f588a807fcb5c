namespace CellWatch.Log;

/// <summary>Another service writes this file; the message says which and what to do.</summary>
public sealed class LogInUseException : Exception
{
    /// <summary>No reason given.</summary>
    public LogInUseException()
    {
    }

    /// <param name="message">Which service, and what to do.</param>
    public LogInUseException(string message)
        : base(message)
    {
    }

    /// <param name="message">Which service, and what to do.</param>
    /// <param name="innerException">What was thrown.</param>
    public LogInUseException(string message, Exception innerException)
        : base(message, innerException)
    {
    }
}
