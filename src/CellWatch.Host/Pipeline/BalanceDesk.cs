using CellWatch.Core.Engine;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;

namespace CellWatch.Host.Pipeline;

/// <summary>Asks the engine for a plan between two scans, as the one who holds the pack's gate.</summary>
public sealed class BalanceDesk(PackLine line, PackLoop loop, EngineOptions options, ILiveView live) : IBalanceDesk
{
    /// <inheritdoc/>
    public async Task<BalanceAdvice?> PlanAsync(double? referencePercent, double longestH, CancellationToken cancellation = default)
    {
        var schedule = new BleedSchedule();
        await loop.Gate.WaitAsync(cancellation);
        try
        {
            // The state published last is the one the engine stands at while scans are kept away.
            if (live.Latest is not { } state) return null;
            var plan = line.Engine.PlanBalance(state.Snapshot, BleedTimeOuts.Of(line.Map, state.FrontEnds), schedule, referencePercent, longestH);
            return new BalanceAdvice(plan, schedule, line.Map, referencePercent ?? options.BalanceAtPercent, 100 * state.Summary.Soc, state.Snapshot.Time, state.Simulated);
        }
        finally
        {
            loop.Gate.Release();
        }
    }
}
