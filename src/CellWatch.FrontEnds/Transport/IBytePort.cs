namespace CellWatch.FrontEnds.Transport;

/// <summary>A place where a front end can be reached as a stream of bytes: a serial port, a pseudo-terminal, a pipe to an emulated board.</summary>
public interface IBytePort
{
    /// <summary>Its name as a person knows it, say <c>/dev/serial/by-id/...</c>.</summary>
    string Name { get; }

    /// <summary>Opens it anew. A lost link is never mended; it is disposed of and the port opened again.</summary>
    /// <exception cref="PortException">It cannot be opened; the message is a sentence for a person.</exception>
    ValueTask<IByteLink> OpenAsync(CancellationToken cancellation);
}

/// <summary>One open connection. Disposing of it closes it and returns soon, whatever the device does.</summary>
public interface IByteLink : IAsyncDisposable
{
    /// <summary>Both directions. A read that ends with 0 bytes or throws means that the link is lost.</summary>
    Stream Stream { get; }

    /// <summary>Whether the device is still there; some systems do not wake a pending read when it goes.</summary>
    bool IsPresent { get; }
}

/// <summary>Why a port cannot be used.</summary>
public enum PortFault
{
    /// <summary>No such device now.</summary>
    Absent,

    /// <summary>In use by someone else, or no permission (on Linux: group <c>dialout</c>).</summary>
    InUseOrNotAllowed,

    /// <summary>This machine has no such kind of port.</summary>
    NotSupported,

    /// <summary>The device refused a setting or a command.</summary>
    Refused,
}

/// <summary>A port that cannot be opened or used.</summary>
public sealed class PortException : Exception
{
    /// <summary>Needed by convention; prefer the constructor with the fault.</summary>
    public PortException() : this(PortFault.Absent, "The port cannot be used.") { }

    /// <inheritdoc cref="PortException()"/>
    public PortException(string message) : this(PortFault.Absent, message) { }

    /// <inheritdoc cref="PortException()"/>
    public PortException(string message, Exception inner) : this(PortFault.Absent, message, inner) { }

    /// <param name="fault">What kind of fault.</param>
    /// <param name="message">A sentence for a person.</param>
    /// <param name="inner">What the system said.</param>
    public PortException(PortFault fault, string message, Exception? inner = null) : base(message, inner) => Fault = fault;

    /// <summary>What kind of fault.</summary>
    public PortFault Fault { get; }
}
