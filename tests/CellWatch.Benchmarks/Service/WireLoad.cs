using System.Diagnostics;
using System.Globalization;
using System.Text;
using System.Text.Json;
using CellWatch.Testing;
using MQTTnet;

namespace CellWatch.Benchmarks.Service;

/// <summary>
/// Three boards of six modules, 4 temperatures each, as plain lines through pseudo-terminals of socat, every value new in every round;
/// and a client of the service's broker that takes the time each round needs to come out.
/// </summary>
internal sealed class WireLoad : IAsyncDisposable
{
    private readonly WirePattern _pattern;
    private readonly CancellationTokenSource _stop = new();
    private readonly long[] _sentAt;
    private readonly List<long> _sentUnixMs = [];
    private readonly List<double> _latencyMs = [];
    private readonly List<Process> _terminals = [];
    private readonly int _mqttPort;
    private IMqttClient? _client;
    private Task _writing = Task.CompletedTask;

    private WireLoad(string folder, WirePattern pattern)
    {
        _pattern = pattern;
        _sentAt = new long[pattern.Rounds];
        WebPort = FreePort.Next();
        _mqttPort = FreePort.Next();
        SiteFile = Path.Combine(folder, "site.json");
        File.WriteAllText(SiteFile, pattern.Site(folder, _mqttPort, WebPort));
    }

    public int WebPort { get; }

    public string SiteFile { get; }

    /// <summary>Makes the terminals and begins to write.</summary>
    public static WireLoad Start(string folder, WirePattern pattern)
    {
        var load = new WireLoad(folder, pattern);
        for (var board = 0; board < WirePattern.Boards; board++)
            load._terminals.Add(ServiceFigures.Start("socat", $"pty,raw,echo=0,link={folder}/service{board}", $"pty,raw,echo=0,link={folder}/board{board}"));
        while (!Enumerable.Range(0, WirePattern.Boards).All(b => File.Exists($"{folder}/service{b}") && File.Exists($"{folder}/board{b}"))) Thread.Sleep(20);
        load._writing = Task.Run(() => load.WriteAsync(folder));
        return load;
    }

    /// <summary>When the last byte of the newest round that looks so had left before an instant; ms since 1970 on this machine's clock, null for never.</summary>
    /// <param name="round">The round as it is known again.</param>
    /// <param name="beforeUnixMs">The instant.</param>
    public long? SentUnixMs(int round, long beforeUnixMs)
    {
        lock (_sentUnixMs)
        {
            var next = _sentUnixMs.BinarySearch(beforeUnixMs);
            var last = next >= 0 ? next : ~next - 1;
            for (var k = last; k >= 0 && k > last - _pattern.Rounds; k--)
                if (k % _pattern.Rounds == round) return _sentUnixMs[k];
            return null;
        }
    }

    /// <summary>Begins to take times.</summary>
    public async Task ListenAsync()
    {
        _client = new MqttClientFactory().CreateMqttClient();
        _client.ApplicationMessageReceivedAsync += message =>
        {
            var now = Stopwatch.GetTimestamp();
            using var payload = JsonDocument.Parse(message.ApplicationMessage.Payload);
            var first = payload.RootElement.GetProperty("cellVoltageV")[0];
            if (first.ValueKind == JsonValueKind.Number)
            {
                var sent = Volatile.Read(ref _sentAt[(int)Math.Round((first.GetDouble() - 3.5) * 10_000)]);
                if (sent != 0) _latencyMs.Add(Stopwatch.GetElapsedTime(sent, now).TotalMilliseconds);
            }

            return Task.CompletedTask;
        };
        var options = new MqttClientOptionsBuilder().WithTcpServer("127.0.0.1", _mqttPort).WithProtocolVersion(MQTTnet.Formatter.MqttProtocolVersion.V500).Build();
        await _client.ConnectAsync(options);
        await _client.SubscribeAsync("figures/module/+/cells");
        _latencyMs.Clear();
    }

    /// <summary>What was found, in words.</summary>
    public string Latency()
    {
        if (_latencyMs.Count == 0) return "no message came";
        _latencyMs.Sort();
        double Part(double p) => _latencyMs[(int)(p * (_latencyMs.Count - 1))];
        return string.Create(CultureInfo.InvariantCulture,
            $"last byte of a round to MQTT message, {_latencyMs.Count} messages: median {Part(0.5):F1} ms, p95 {Part(0.95):F1} ms, p99 {Part(0.99):F1} ms, longest {_latencyMs[^1]:F1} ms");
    }

    public async ValueTask DisposeAsync()
    {
        await _stop.CancelAsync();
        await _writing;
        _client?.Dispose();
        foreach (var terminal in _terminals)
        {
            if (!terminal.HasExited) terminal.Kill();
            terminal.Dispose();
        }

        _stop.Dispose();
    }

    private async Task WriteAsync(string folder)
    {
        var random = new Random(1);
        var boards = Enumerable.Range(0, WirePattern.Boards).Select(b => new FileStream($"{folder}/board{b}", FileMode.Open, FileAccess.Write, FileShare.ReadWrite, 0)).ToList();
        using var timer = new PeriodicTimer(TimeSpan.FromSeconds(1 / _pattern.Hz));
        try
        {
            for (var round = 0L; await timer.WaitForNextTickAsync(_stop.Token); round++)
            {
                var lines = Enumerable.Range(0, boards.Count).Select(b => Encoding.ASCII.GetBytes(_pattern.Line(b, round, random))).ToList();
                for (var b = 0; b < boards.Count; b++) await boards[b].WriteAsync(lines[b]);
                Volatile.Write(ref _sentAt[round % _pattern.Rounds], Stopwatch.GetTimestamp());
                lock (_sentUnixMs) _sentUnixMs.Add(DateTimeOffset.UtcNow.ToUnixTimeMilliseconds());
            }
        }
        catch (OperationCanceledException)
        {
            // Measured enough.
        }

        foreach (var board in boards) await board.DisposeAsync();
    }
}
