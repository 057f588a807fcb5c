using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.Inputs;

/// <summary>A place of this machine a switch can be wired to.</summary>
public interface IContactLine
{
    /// <summary>The place in words: <c>GPIO 17</c>, <c>CTS of /dev/ttyUSB0</c>.</summary>
    string Place { get; }

    /// <summary>Opens it.</summary>
    /// <exception cref="PortException">It cannot be opened; the message says why and what to do.</exception>
    IOpenContact Open();
}

/// <summary>A contact that is open for reading.</summary>
public interface IOpenContact : IDisposable
{
    /// <summary>Whether the switch is closed now. A broken wire reads as open.</summary>
    /// <exception cref="PortException">It cannot be read any more.</exception>
    bool IsClosed();
}
