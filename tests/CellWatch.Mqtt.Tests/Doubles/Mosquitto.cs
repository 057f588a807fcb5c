using System.Diagnostics;
using System.Net;
using System.Net.Sockets;
using Xunit;

namespace CellWatch.Mqtt.Tests.Doubles;

/// <summary>A fact that skips, with the reason, where Debian's mosquitto programs are not installed.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class MosquittoFactAttribute : FactAttribute
{
    public MosquittoFactAttribute()
    {
        if (Mosquitto.BrokerPath is null) Skip = "the broker mosquitto is not installed (apt install mosquitto)";
        else if (Mosquitto.ReaderPath is null) Skip = "mosquitto_sub is not installed (apt install mosquitto-clients)";
    }
}

/// <summary>Debian's mosquitto broker, written by others, on a free port of this machine, with a folder of its own.</summary>
public sealed class Mosquitto : IAsyncDisposable
{
    private readonly string _folder = Directory.CreateTempSubdirectory("cellwatch-mosquitto").FullName;
    private readonly string _settings;
    private Process? _process;

    public Mosquitto(bool keepsWhatItHas = true, string extraSettings = "")
    {
        Port = CellWatch.Testing.FreePort.Next();
        // Every change is saved at once, so that a killed broker has what it acknowledged.
        var persistence = keepsWhatItHas ? $"persistence true\npersistence_location {_folder}/\nautosave_on_changes true\nautosave_interval 1\n" : "persistence false\n";
        _settings = Path.Combine(_folder, "mosquitto.conf");
        var access = extraSettings.Length == 0 ? "allow_anonymous true\n" : extraSettings;
        // Started by root it would become a user who may not write into the folder.
        File.WriteAllText(_settings, $"user {Environment.UserName}\nlistener {Port} 127.0.0.1\nlog_dest stderr\n{persistence}{access}");
    }

    public static string? BrokerPath { get; } = Find("mosquitto");

    public static string? ReaderPath { get; } = Find("mosquitto_sub");

    public int Port { get; }

    public string Folder => _folder;

    public async Task StartAsync()
    {
        var running = new TaskCompletionSource(TaskCreationOptions.RunContinuationsAsynchronously);
        var process = new Process { StartInfo = new ProcessStartInfo(BrokerPath!, ["-c", _settings]) { RedirectStandardError = true, UseShellExecute = false } };
        process.ErrorDataReceived += (_, e) =>
        {
            if (e.Data?.Contains(" running", StringComparison.Ordinal) == true) running.TrySetResult();
        };
        process.Start();
        process.BeginErrorReadLine();
        _process = process;
        await running.Task.WaitAsync(TimeSpan.FromSeconds(10));
    }

    /// <summary>kill -9.</summary>
    public async Task KillAsync()
    {
        if (_process is not { } process) return;
        _process = null;
        process.Kill();
        await process.WaitForExitAsync();
        process.Dispose();
    }

    /// <summary>A stop in good order: the broker saves what it has.</summary>
    public async Task StopAsync()
    {
        if (_process is not { } process) return;
        _process = null;
        using (var signal = Process.Start("kill", ["-TERM", $"{process.Id}"])) await signal.WaitForExitAsync();
        await process.WaitForExitAsync();
        process.Dispose();
    }

    public async ValueTask DisposeAsync()
    {
        await KillAsync();
        Directory.Delete(_folder, recursive: true);
    }

    /// <summary>Runs mosquitto_sub until a number of messages have come; gives back its lines <c>topic payload</c>.</summary>
    public static async Task<string[]> ReadAsync(int port, string filter, int count, params string[] more)
    {
        using var process = StartReader(port, filter, count, more);
        var text = await process.StandardOutput.ReadToEndAsync();
        await process.WaitForExitAsync();
        return text.Split('\n', StringSplitOptions.RemoveEmptyEntries);
    }

    private static Process StartReader(int port, string filter, int count, string[] more) => Process.Start(new ProcessStartInfo(ReaderPath!,
        ["-h", "127.0.0.1", "-p", $"{port}", "-t", filter, "-v", "-q", "1", "-C", $"{count}", "-W", "15", "-i", $"independent-{Guid.NewGuid():N}", .. more])
    { RedirectStandardOutput = true, UseShellExecute = false })!;

    private static string? Find(string program) =>
        new[] { "/usr/sbin", "/usr/bin", "/usr/local/sbin", "/usr/local/bin", "/opt/homebrew/sbin", "/opt/homebrew/bin" }
            .Select(folder => Path.Combine(folder, program)).FirstOrDefault(File.Exists);
}
