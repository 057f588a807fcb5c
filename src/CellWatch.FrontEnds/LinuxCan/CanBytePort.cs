using CellWatch.FrontEnds.Transport;

namespace CellWatch.FrontEnds.LinuxCan;

/// <summary>
/// Shows a CAN interface as a stream of <c>struct can_frame</c> (16 bytes each), so that the one runner serves it too. A background thread of its own
/// does the blocking reads; when the link is closed it ends with the next frame, or with the program.
/// </summary>
public sealed class CanBytePort(ICanPort port) : IBytePort
{
    /// <inheritdoc/>
    public string Name => port.Name;

    /// <inheritdoc/>
    public async ValueTask<IByteLink> OpenAsync(CancellationToken cancellation)
    {
        var reader = port.Open();
        var pipe = new PipePort(port.Name);
        var link = await pipe.OpenAsync(cancellation);
        new Thread(() => ReadAll(reader, pipe)) { IsBackground = true, Name = $"CAN {port.Name}" }.Start();
        return link;
    }

    private static void ReadAll(ICanReader reader, PipePort pipe)
    {
        var frame = new CanFrame();
        Span<byte> bytes = stackalloc byte[SocketCanFrame.FdSize];
        try
        {
            while (pipe.IsOpen)
                if (reader.TryRead(ref frame)) pipe.Send(bytes[..SocketCanFrame.Write(frame, bytes)]);
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException)
        {
            // The interface went down; the reader of the pipe sees its end.
        }
        finally
        {
            pipe.Unplug();
            reader.Dispose();
        }
    }
}
