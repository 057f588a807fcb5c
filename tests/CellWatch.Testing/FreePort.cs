using System.Net;
using System.Net.Sockets;

namespace CellWatch.Testing;

/// <summary>Ports of this machine that nobody uses just now.</summary>
public static class FreePort
{
    public static int Next()
    {
        using var probe = new TcpListener(IPAddress.Loopback, 0);
        probe.Start();
        return ((IPEndPoint)probe.LocalEndpoint).Port;
    }
}
