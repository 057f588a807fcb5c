using System.Collections.Concurrent;
using System.Diagnostics;
using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;

namespace CellWatch.EndToEnd.Tests.Support;

/// <summary>The service as a process of its own, as a builder runs it.</summary>
public sealed class ServiceProcess : IAsyncDisposable
{
    private readonly Process _process;
    private readonly ConcurrentQueue<string> _output = new();
    private readonly HttpClient _http;

    private ServiceProcess(Process process, int port)
    {
        _process = process;
        Port = port;
        _http = new HttpClient { BaseAddress = new Uri(string.Create(CultureInfo.InvariantCulture, $"http://localhost:{port}")), Timeout = TimeSpan.FromSeconds(60) };
        _process.OutputDataReceived += (_, line) => Keep(line.Data);
        _process.ErrorDataReceived += (_, line) => Keep(line.Data);
        _process.BeginOutputReadLine();
        _process.BeginErrorReadLine();
    }

    public int Port { get; }

    public HttpClient Http => _http;

    public string Output => string.Join('\n', _output);

    public static int FreePort() => Testing.FreePort.Next();

    /// <summary>Starts a command that serves pages on a port.</summary>
    public static ServiceProcess Start(int port, params string[] arguments) => new(Launch(arguments), port);

    /// <summary>The pages with scripted scenes, without boards and engine.</summary>
    public static ServiceProcess StartPreview(int port, string scene) => new(Launch(["--scene", scene, "--urls", $"http://localhost:{port}"], program: Repository.Preview), port);

    /// <summary>The same in a folder of its own.</summary>
    public static ServiceProcess StartIn(string folder, int port, params string[] arguments) => new(Launch(arguments, folder), port);

    /// <summary>Asks for a page until the program answers.</summary>
    public async Task<string> GetWhenUpAsync(string path, double withinS = 30)
    {
        var limit = Stopwatch.StartNew();
        while (true)
        {
            try
            {
                return await _http.GetStringAsync(path);
            }
            catch (HttpRequestException) when (limit.Elapsed.TotalSeconds < withinS && !_process.HasExited)
            {
                await Task.Delay(100);
            }
        }
    }

    /// <summary>Runs a command to its end.</summary>
    public static async Task<(int ExitCode, string Output, string Error)> RunAsync(string? input, params string[] arguments)
    {
        using var process = Launch(arguments);
        var output = process.StandardOutput.ReadToEndAsync();
        var error = process.StandardError.ReadToEndAsync();
        if (input is not null) await process.StandardInput.WriteAsync(input);
        process.StandardInput.Close();
        using var limit = new CancellationTokenSource(TimeSpan.FromMinutes(2));
        await process.WaitForExitAsync(limit.Token);
        return (process.ExitCode, await output, await error);
    }

    /// <summary>Runs a command until something is so, and ends it as a power cut would.</summary>
    /// <returns>Whether it was still running then.</returns>
    public static async Task<bool> RunAndKillAsync(Func<bool> when, params string[] arguments)
    {
        using var process = Launch(arguments);
        var ended = Task.WhenAll(process.StandardOutput.ReadToEndAsync(), process.StandardError.ReadToEndAsync());
        while (!process.HasExited && !when()) await Task.Delay(2);
        var running = !process.HasExited;
        process.Kill();
        await process.WaitForExitAsync();
        await ended;
        return running;
    }

    /// <summary>Asks for the state until it is as wanted.</summary>
    public async Task<JsonNode> WaitForStateAsync(Func<JsonNode, bool> wanted, string what, double withinS = 30)
    {
        var limit = Stopwatch.StartNew();
        JsonNode? last = null;
        while (limit.Elapsed.TotalSeconds < withinS)
        {
            try
            {
                last = JsonNode.Parse(await _http.GetStringAsync("/state"));
                if (last is not null && wanted(last)) return last;
            }
            catch (Exception fault) when (fault is HttpRequestException or TaskCanceledException or JsonException)
            {
                // Not up yet.
            }

            Assert.False(_process.HasExited, $"The service ended while waiting for {what}:\n{Output}");
            await Task.Delay(100);
        }

        throw new TimeoutException($"Not within {withinS} s: {what}. Last verdict: {last?["verdict"]?.ToJsonString()}\n{Output}");
    }

    /// <summary>Ends it as a power cut would.</summary>
    public async Task KillAsync()
    {
        _process.Kill();
        await _process.WaitForExitAsync();
    }

    public async ValueTask DisposeAsync()
    {
        if (!_process.HasExited)
        {
            _process.Kill(entireProcessTree: true);
            await _process.WaitForExitAsync();
        }

        _process.Dispose();
        _http.Dispose();
    }

    private static Process Launch(string[] arguments, string folder = "", string? program = null)
    {
        var start = new ProcessStartInfo("dotnet")
        {
            RedirectStandardOutput = true,
            RedirectStandardError = true,
            RedirectStandardInput = true,
            UseShellExecute = false,
            WorkingDirectory = folder,
        };
        start.ArgumentList.Add(program ?? Repository.Service);
        foreach (var argument in arguments) start.ArgumentList.Add(argument);
        return Process.Start(start)!;
    }

    private void Keep(string? line)
    {
        if (line is not null) _output.Enqueue(line);
    }
}
