using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Text.Json.Nodes;

namespace CellWatch.EndToEnd.Tests.Support;

/// <summary>Debian's mosquitto_sub as an independent reader of what is published on loopback.</summary>
public sealed class MosquittoReader : IDisposable
{
    private readonly Process _process;
    private readonly ConcurrentQueue<(string Topic, string Payload)> _heard = new();

    /// <param name="port">The broker's port.</param>
    /// <param name="filter">What to subscribe to.</param>
    public MosquittoReader(int port, string filter)
    {
        var start = new ProcessStartInfo("mosquitto_sub", ["-V", "5", "-h", "localhost", "-p", port.ToString(CultureInfo.InvariantCulture), "-t", filter, "-F", "%t %p"])
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            UseShellExecute = false,
        };
        _process = Process.Start(start)!;
        _process.OutputDataReceived += (_, line) =>
        {
            if (line.Data is { } text && text.IndexOf(' ', StringComparison.Ordinal) is > 0 and var space) _heard.Enqueue((text[..space], text[(space + 1)..]));
        };
        _process.ErrorDataReceived += (_, _) => { };
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    /// <summary>Waits for a message on a topic that is as wanted.</summary>
    public async Task<JsonNode> WaitForAsync(string topic, Func<JsonNode, bool> wanted, string what, double withinS = 30)
    {
        var limit = Stopwatch.StartNew();
        var last = "";
        while (limit.Elapsed.TotalSeconds < withinS)
        {
            while (_heard.TryDequeue(out var message))
            {
                if (!string.Equals(message.Topic, topic, StringComparison.Ordinal)) continue;
                last = message.Payload;
                if (last.Length > 0 && JsonNode.Parse(last) is { } payload && wanted(payload)) return payload;
            }

            Assert.False(_process.HasExited, $"mosquitto_sub ended while waiting for {what}");
            await Task.Delay(50);
        }

        throw new TimeoutException($"Not within {withinS} s on {topic}: {what}. Last: {last}");
    }

    public void Dispose()
    {
        Writers.End(_process);
        _process.Dispose();
    }
}
