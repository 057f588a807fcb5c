using System.Security.Cryptography;
using System.Text;

namespace CellWatch.FrontEnds.Transport;

/// <summary>
/// Keeps a device for one user: the serial library takes no lock, and two readers would split the bytes between them. Guards against a
/// second front end in this process and, by a locked file in the temporary folder, against a second copy of the program.
/// </summary>
internal sealed class PortLock : IDisposable
{
    private static readonly HashSet<string> Held = new(StringComparer.Ordinal);

    private readonly string _device;
    private readonly FileStream? _file;

    private PortLock(string device, FileStream? file)
    {
        _device = device;
        _file = file;
    }

    /// <summary>Takes the lock of the device behind a path (links are followed); null when somebody has it.</summary>
    public static PortLock? TryTake(string path)
    {
        var device = DeviceOf(path);
        lock (Held)
            if (!Held.Add(device)) return null;
        try
        {
            return new PortLock(device, OpenFile(device));
        }
        catch (IOException)
        {
            Release(device);
            return null;
        }
        catch (UnauthorizedAccessException)
        {
            // The file belongs to another user of this machine; the device's own permissions decide then.
            return new PortLock(device, null);
        }
    }

    /// <summary>The device a path leads to: <c>/dev/serial/by-id/...</c> are links.</summary>
    public static string DeviceOf(string path)
    {
        try
        {
            return File.ResolveLinkTarget(path, returnFinalTarget: true)?.FullName ?? Path.GetFullPath(path);
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException or ArgumentException)
        {
            return path;
        }
    }

    public void Dispose()
    {
        _file?.Dispose();
        Release(_device);
    }

    private static FileStream OpenFile(string device)
    {
        var name = Convert.ToHexString(SHA256.HashData(Encoding.UTF8.GetBytes(device)).AsSpan(0, 8));
        return new FileStream(Path.Combine(Path.GetTempPath(), $"cellwatch-port-{name}.lock"), FileMode.OpenOrCreate, FileAccess.ReadWrite, FileShare.None, 1, FileOptions.DeleteOnClose);
    }

    private static void Release(string device)
    {
        lock (Held) Held.Remove(device);
    }
}
