namespace CellWatch.FrontEnds.SignalDatabase;

/// <summary>A signal database that cannot be used; the message says which file, which line, what is wrong and what to do.</summary>
public sealed class DatabaseException : Exception
{
    /// <summary>Needed by convention; prefer the constructor that names the place.</summary>
    public DatabaseException() : this("The signal database cannot be used.") { }

    /// <inheritdoc cref="DatabaseException()"/>
    public DatabaseException(string message) : base(message) { }

    /// <inheritdoc cref="DatabaseException()"/>
    public DatabaseException(string message, Exception inner) : base(message, inner) { }

    internal DatabaseException(string file, int line, string problem)
        : base(string.Create(System.Globalization.CultureInfo.InvariantCulture, $"{file} line {line}: {problem}"))
    {
        File = file;
        Line = line;
    }

    /// <summary>The file as it was named.</summary>
    public string File { get; } = "";

    /// <summary>Line from 1; 0 where none applies.</summary>
    public int Line { get; }
}

/// <summary>Something odd in a database that does not stop its use.</summary>
/// <param name="Line">Line from 1.</param>
/// <param name="Text">What is odd, in a sentence.</param>
public readonly record struct DatabaseWarning(int Line, string Text);
