namespace CellWatch.FrontEnds.LinuxCan;

/// <summary>A CAN interface of the operating system.</summary>
public interface ICanPort
{
    /// <summary>Its name, say <c>can0</c>.</summary>
    string Name { get; }

    /// <summary>Opens it for reading.</summary>
    /// <exception cref="Transport.PortException">It is not there; the message is a sentence for a person.</exception>
    ICanReader Open();
}

/// <summary>Frames from an open interface.</summary>
public interface ICanReader : IDisposable
{
    /// <summary>Waits for the next frame on the calling thread; false for one that cannot be read. Not cancellable: keep it on a thread of its own.</summary>
    bool TryRead(ref CanFrame frame);
}
