using CellWatch.Core.Live;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Bench;

/// <summary>Voids the proofs of a module whose sense connector the scans show to be opened, and leaves the reason where the gates show it.</summary>
public sealed partial class ConnectorGuard : IHostedService
{
    private readonly BenchDoor door;
    private readonly ILiveView live;
    private readonly ChannelMap map;
    private readonly ConnectorOpening opening;
    private readonly ILogger<ConnectorGuard> log;

    /// <param name="door">Where proofs are kept.</param>
    /// <param name="live">The scans.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="log">The service log.</param>
    public ConnectorGuard(BenchDoor door, ILiveView live, ChannelMap map, ILogger<ConnectorGuard> log) =>
        (this.door, this.live, this.map, opening, this.log) = (door, live, map, new ConnectorOpening(map), log);

    /// <inheritdoc/>
    public Task StartAsync(CancellationToken cancellationToken)
    {
        live.Changed += OnScan;
        return Task.CompletedTask;
    }

    /// <inheritdoc/>
    public Task StopAsync(CancellationToken cancellationToken)
    {
        live.Changed -= OnScan;
        return Task.CompletedTask;
    }

    private void OnScan()
    {
        if (live.Latest is not { } state || opening.Step(state) is not { } opened) return;
        foreach (var module in opened.Select(m => map.Layout.Modules[m].Id.Text)) _ = Task.Run(() => Void(module, state));
    }

    private void Void(string module, PackState state)
    {
        try
        {
            door.Enter("program", state.Simulated, (p, who) => p.Proofs.Disconnected(
                module, T($"all its cells fell silent at {state.Snapshot.Time.Wall:yyyy-MM-dd HH:mm:ss} UTC while its instrument went on: was it opened? Prove it anew"), who));
            LogVoided(module);
        }
        catch (RefusedException refused)
        {
            LogNotVoided(module, refused.Message);
        }
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "The sense connector of {Module} looks opened: its proofs are void")]
    private partial void LogVoided(string module);

    [LoggerMessage(Level = LogLevel.Error, Message = "The sense connector of {Module} looks opened, but its proofs could not be voided: {Why}")]
    private partial void LogNotVoided(string module, string why);
}
