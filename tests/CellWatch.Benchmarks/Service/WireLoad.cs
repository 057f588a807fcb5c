using System.Diagnostics;
using System.Globalization;
using System.Text;
using System.Text.Json;
using CellWatch.Testing;
using MQTTnet;

namespace CellWatch.Benchmarks.Service;

/// <summary>
/// Three boards of six modules of 12S1P, 4 temperatures each, as plain lines at 10 Hz through pseudo-terminals of socat, every value
/// new in every round; and a client of the service's broker that takes the time each round needs to come out.
/// </summary>
internal sealed class WireLoad : IAsyncDisposable
{
    private const int Boards = 3;
    private const int ModulesPerBoard = 6;
    private const int Cells = 12;
    private const int Temperatures = 4;
    private const int Rounds = 5000; // Cell 1 of each module carries the round in 0.1 mV: known again after 500 s only.

    private readonly CancellationTokenSource _stop = new();
    private readonly long[] _sentAt = new long[Rounds];
    private readonly List<double> _latencyMs = [];
    private readonly List<Process> _terminals = [];
    private readonly int _mqttPort;
    private IMqttClient? _client;
    private Task _writing = Task.CompletedTask;

    private WireLoad(string folder)
    {
        WebPort = FreePort.Next();
        _mqttPort = FreePort.Next();
        SiteFile = Path.Combine(folder, "site.json");
        File.WriteAllText(SiteFile, Site(folder));
    }

    public int WebPort { get; }

    public string SiteFile { get; }

    /// <summary>Makes the terminals and begins to write.</summary>
    public static WireLoad Start(string folder)
    {
        var load = new WireLoad(folder);
        for (var board = 0; board < Boards; board++)
            load._terminals.Add(ServiceFigures.Start("socat", $"pty,raw,echo=0,link={folder}/service{board}", $"pty,raw,echo=0,link={folder}/board{board}"));
        while (!Enumerable.Range(0, Boards).All(b => File.Exists($"{folder}/service{b}") && File.Exists($"{folder}/board{b}"))) Thread.Sleep(20);
        load._writing = Task.Run(() => load.WriteAsync(folder));
        return load;
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
        var boards = Enumerable.Range(0, Boards).Select(b => new FileStream($"{folder}/board{b}", FileMode.Open, FileAccess.Write, FileShare.ReadWrite, 0)).ToList();
        using var timer = new PeriodicTimer(TimeSpan.FromMilliseconds(100));
        try
        {
            for (var round = 0; await timer.WaitForNextTickAsync(_stop.Token); round = (round + 1) % Rounds)
            {
                var lines = boards.Select(_ => Encoding.ASCII.GetBytes(Line(round, random))).ToList();
                for (var b = 0; b < boards.Count; b++) await boards[b].WriteAsync(lines[b]);
                Volatile.Write(ref _sentAt[round], Stopwatch.GetTimestamp());
            }
        }
        catch (OperationCanceledException)
        {
            // Measured enough.
        }

        foreach (var board in boards) await board.DisposeAsync();
    }

    private static string Line(int round, Random random)
    {
        var fields = new List<string>();
        for (var module = 0; module < ModulesPerBoard; module++)
        {
            fields.Add((35_000 + round).ToString(CultureInfo.InvariantCulture));
            for (var cell = 1; cell < Cells; cell++) fields.Add(random.Next(36_950, 37_050).ToString(CultureInfo.InvariantCulture));
            for (var t = 0; t < Temperatures; t++) fields.Add((20 + (random.Next(100) / 100.0)).ToString("F2", CultureInfo.InvariantCulture));
        }

        return string.Join(',', fields) + "\r\n";
    }

    private string Site(string folder)
    {
        string Module(int m) => $$"""{ "id": "{{Id(m)}}", "topology": "12S1P", "temperatures": 4 }""";
        string Runs() => string.Join(", ", Enumerable.Range(0, ModulesPerBoard).SelectMany(m => new[]
        {
            $$"""{ "position": {{(m * (Cells + Temperatures)) + 1}}, "quantity": "cells", "module": {{m + 1}}, "count": {{Cells}}, "scale": 0.0001 }""",
            $$"""{ "position": {{(m * (Cells + Temperatures)) + Cells + 1}}, "quantity": "temperatures", "module": {{m + 1}}, "count": {{Temperatures}} }""",
        }));
        string Board(int b) => $$"""
            { "name": "board{{b}}", "wire": "plainLines", "port": "{{folder}}/service{{b}}",
              "modules": [{{string.Join(", ", Enumerable.Range(b * ModulesPerBoard, ModulesPerBoard).Select(m => $"\"{Id(m)}\""))}}], "plainLines": { "runs": [ {{Runs()}} ] } }
            """;
        return $$"""
            { "site": "figures", "cellType": "nmc-4.20", "snapshotHz": 10,
              "modules": [ {{string.Join(", ", Enumerable.Range(0, Boards * ModulesPerBoard).Select(Module))}} ],
              "frontEnds": [ {{string.Join(", ", Enumerable.Range(0, Boards).Select(Board))}} ],
              "mqtt": { "port": {{_mqttPort}} }, "web": { "port": {{WebPort}} } }
            """;
    }

    private static string Id(int module) => string.Create(CultureInfo.InvariantCulture, $"B{module + 1:00}");
}
