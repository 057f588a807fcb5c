using CellWatch.Core.Engine;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;

namespace CellWatch.Host.Pipeline;

/// <summary>Asks the engine between two scans, as the one who holds the pack's gate.</summary>
public sealed class AdviceDesk(PackLine line, PackLoop loop, EngineOptions options, ILiveView live) : IAdviceDesk
{
    /// <inheritdoc/>
    public Task<BalanceAdvice?> PlanAsync(double? referencePercent, double longestH, CancellationToken cancellation = default)
    {
        var schedule = new BleedSchedule();
        return AskAsync(
            state => new BalanceAdvice(
                line.Engine.PlanBalance(state.Snapshot, BleedTimeOuts.Of(line.Map, state.FrontEnds), schedule, referencePercent, longestH),
                schedule, line.Map, referencePercent ?? options.BalanceAtPercent, 100 * state.Summary.Soc, state.Snapshot.Time, state.Simulated),
            cancellation);
    }

    /// <inheritdoc/>
    public Task<CausesAdvice?> CausesAsync(CancellationToken cancellation = default) =>
        AskAsync(state => CausesAdvice.Of(Enumerable.Range(0, line.Map.CellCount).Select(cell => line.Engine.FindingOf(state.Snapshot, cell))), cancellation);

    private async Task<T?> AskAsync<T>(Func<PackState, T> ask, CancellationToken cancellation)
        where T : class
    {
        await loop.Gate.WaitAsync(cancellation);
        try
        {
            // The state published last is the one the engine stands at while scans are kept away.
            return live.Latest is { } state ? ask(state) : null;
        }
        finally
        {
            loop.Gate.Release();
        }
    }
}
