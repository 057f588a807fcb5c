using System.Collections.Concurrent;
using System.Net;
using System.Net.Sockets;

namespace CellWatch.Mqtt.Tests.Doubles;

/// <summary>A TCP relay in front of a broker that can be cut as a killed program or a pulled cable would, stopped, and counts who comes.</summary>
public sealed class CuttableWire : IAsyncDisposable
{
    private readonly TcpListener _listener = new(IPAddress.Loopback, 0);
    private readonly CancellationTokenSource _end = new();
    private readonly ConcurrentBag<Socket> _ends = [];
    private readonly Task _accepting;
    private readonly int _target;
    private volatile TaskCompletionSource _flow = Flowing();
    private int _connections;

    public CuttableWire(int target)
    {
        _target = target;
        _listener.Start();
        Port = ((IPEndPoint)_listener.LocalEndpoint).Port;
        _accepting = AcceptAsync();
    }

    public int Port { get; }

    public int Connections => Volatile.Read(ref _connections);

    /// <summary>Breaks every connection without a farewell.</summary>
    public void Cut()
    {
        // A close with no time to linger is a reset: that is what a killed program leaves. An end that has gone by itself stays gone.
        while (_ends.TryTake(out var end)) end.Close(timeout: 0);
    }

    /// <summary>Holds everything back, both ways; the connections stand.</summary>
    public void Stall() => _flow = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);

    public void Flow() => _flow.TrySetResult();

    public async ValueTask DisposeAsync()
    {
        await _end.CancelAsync();
        _listener.Stop();
        Flow();
        Cut();
        await _accepting;
        _end.Dispose();
        _listener.Dispose();
    }

    private static TaskCompletionSource Flowing()
    {
        var source = new TaskCompletionSource();
        source.SetResult();
        return source;
    }

    private async Task AcceptAsync()
    {
        try
        {
            while (true)
            {
                var near = await _listener.AcceptTcpClientAsync(_end.Token);
                Interlocked.Increment(ref _connections);
                var far = new TcpClient();
                try
                {
                    await far.ConnectAsync(IPAddress.Loopback, _target, _end.Token);
                }
                catch (SocketException)
                {
                    near.Close();
                    continue;
                }

                _ends.Add(near.Client);
                _ends.Add(far.Client);
                _ = CopyAsync(near, far);
                _ = CopyAsync(far, near);
            }
        }
        catch (Exception e) when (e is OperationCanceledException or SocketException or ObjectDisposedException)
        {
            // Taken down.
        }
    }

    private async Task CopyAsync(TcpClient from, TcpClient to)
    {
        var buffer = new byte[16 * 1024];
        try
        {
            while (true)
            {
                var count = await from.GetStream().ReadAsync(buffer);
                if (count == 0) break;
                await _flow.Task;
                await to.GetStream().WriteAsync(buffer.AsMemory(0, count));
            }
        }
        catch (Exception e) when (e is IOException or ObjectDisposedException or InvalidOperationException or SocketException)
        {
            // Cut.
        }
        finally
        {
            from.Close();
            to.Close();
        }
    }
}
