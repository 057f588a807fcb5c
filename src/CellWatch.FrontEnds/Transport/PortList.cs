using System.IO.Ports;

namespace CellWatch.FrontEnds.Transport;

/// <summary>A serial device that is plugged in now.</summary>
/// <param name="StableName">The name to write into the site file: it stays the same whatever the order of plugging in; where the system has none, the device itself.</param>
/// <param name="Device">The device it is now, say <c>/dev/ttyUSB0</c>.</param>
/// <param name="IsStable">Whether the name belongs to the device and not to the order of plugging in.</param>
public readonly record struct PluggedPort(string StableName, string Device, bool IsStable);

/// <summary>What is plugged in. Pseudo-terminals are not listed; type their path.</summary>
public static class PortList
{
    /// <summary>Lists the serial devices of this machine by stable identity, then those without one.</summary>
    public static IReadOnlyList<PluggedPort> Read() => OperatingSystem.IsLinux()
        ? Read("/dev/serial/by-id", "/dev")
        : [.. SerialPort.GetPortNames().Order(StringComparer.Ordinal).Select(name => new PluggedPort(name, name, false))];

    /// <summary>The same for given folders.</summary>
    internal static IReadOnlyList<PluggedPort> Read(string byId, string devices)
    {
        var stable = Files(byId, "*").Select(path => new PluggedPort(path, PortLock.DeviceOf(path), true)).ToArray();
        var known = stable.Select(p => p.Device).ToHashSet(StringComparer.Ordinal);
        var others = Files(devices, "ttyUSB*").Concat(Files(devices, "ttyACM*")).Where(path => !known.Contains(path));
        return [.. stable, .. others.Select(path => new PluggedPort(path, path, false))];
    }

    private static string[] Files(string folder, string pattern)
    {
        try
        {
            var paths = Directory.GetFiles(folder, pattern);
            Array.Sort(paths, StringComparer.Ordinal);
            return paths;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            return [];
        }
    }
}
