using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Charging;

/// <summary>Makes the immutable picture of the charge for pages, messages and the log.</summary>
internal sealed class ChargeViewMaker(Facts facts, ChargeSupervisor charge, HeatBalance heat, Permit permit, AlarmRoll alarms)
{
    private const int MostLimiters = 12;

    /// <summary>Doubt of an expected time constant that is not yet measured.</summary>
    private const double ExpectedTaperShare = 0.3;

    private readonly ChargeAdvice _advice = new(facts, charge);

    public ChargeView Make(Snapshot snapshot)
    {
        var limits = facts.Limits!;
        var supervised = NotSupervised();
        var next = charge.IsRunning && charge.Phase == ChargePhase.ConstantCurrent ? Limiters(snapshot) : [];
        var (end, earliest, latest) = End(next);
        var profile = facts.KnownTemperatures > 0 ? facts.Options.TemperatureProfile.For(facts.ColdestDegC, facts.HottestDegC).HighestCellV : double.NaN;
        return new ChargeView
        {
            Phase = charge.Phase,
            TargetV = limits.ChargeTargetV,
            HeadroomV = facts.TopCell < 0 ? null : limits.ChargeTargetV - facts.TopV,
            HeadroomCell = facts.TopCell < 0 ? null : facts.TopCell,
            HeadroomS = next.IsEmpty ? null : next[0].ToTargetS,
            NextToLimit = next,
            AllowedA = facts.AllowedA,
            AllowedBecause = charge.Allowance.Because(),
            RequestV = permit.Given ? facts.Map.CellCount * (double.IsNaN(profile) ? limits.ChargeTargetV : Math.Min(profile, limits.ChargeTargetV)) : null,
            RequestA = permit.Given ? facts.AllowedA ?? 0 : 0,
            Permit = permit.Given,
            PermitReason = permit.Reason(snapshot),
            Supervised = supervised.Length == 0,
            NotSupervisedBecause = supervised,
            BeganUnixMs = charge.BeganUnixMs,
            EndedUnixMs = charge.EndedUnixMs,
            TargetReachedUnixMs = charge.TargetReachedUnixMs,
            TargetReachedCell = charge.TargetReachedCell < 0 ? null : charge.TargetReachedCell,
            PlateauA = double.IsFinite(charge.PlateauA) ? charge.PlateauA : null,
            TaperTimeConstantS = double.IsNaN(charge.Taper.TimeConstantS) ? charge.ExpectedTaperS : charge.Taper.TimeConstantS,
            TaperIsFitted = !double.IsNaN(charge.Taper.TimeConstantS),
            TerminationA = facts.Options.EffectiveTerminationA,
            EndUnixMs = end,
            EndEarliestUnixMs = earliest,
            EndLatestUnixMs = latest,
            ChargedAh = charge.ChargedAh,
            Heat = Heat(),
            StopRules = StopRules(),
            PresenceLeftS = charge.PresenceLeftS,
            HandCutOff = facts.Options.HandCutOff,
            Advice = _advice.Sentence(),
        };
    }

    private ImmutableArray<Limiter> Limiters(Snapshot snapshot)
    {
        var forecast = charge.Forecast;
        if (forecast.First < 0) return [];
        var sinceS = (facts.Time.ElapsedUs - forecast.AsOfUs) * 1e-6;
        var firstS = forecast.ToTargetS[forecast.First];
        var rows = new List<int>();
        for (var cell = 0; cell < facts.Map.CellCount; cell++)
            if (!double.IsNaN(forecast.ToTargetS[cell])) rows.Add(cell);
        return
        [
            .. rows.OrderBy(c => forecast.ToTargetS[c]).ThenBy(c => c).Take(MostLimiters).Select(cell =>
            {
                var seconds = Math.Max(0, forecast.ToTargetS[cell] - sinceS);
                var band = 2 * forecast.SigmaS[cell];
                return new Limiter(
                    cell, snapshot.RawCellVoltageV[cell], 60_000 * forecast.RiseVPerS(cell), seconds, Math.Max(0, seconds - band), seconds + band,
                    forecast.VoltageAfter(cell, firstS));
            }),
        ];
    }

    private (long? End, long? Earliest, long? Latest) End(ImmutableArray<Limiter> next)
    {
        if (!charge.IsRunning || !facts.CurrentKnown) return default;
        var endA = facts.Options.EffectiveTerminationA;
        long At(double s) => facts.Time.WallUnixMs + (long)(1000 * s);
        if (charge.Phase is ChargePhase.Taper && charge.Taper.TryEnd(facts.CurrentA, endA, out var seconds, out var early, out var late)) return (At(seconds), At(early), At(late));
        if (!(facts.CurrentA > endA) || charge.Phase == ChargePhase.TaperMissing) return default;
        var taperS = charge.ExpectedTaperS * Math.Log(facts.CurrentA / endA);
        if (charge.Phase is ChargePhase.Taper) return (At(taperS), At(taperS * (1 - ExpectedTaperShare)), At(taperS * (1 + ExpectedTaperShare)));
        if (next.IsEmpty) return default;
        return (At(next[0].ToTargetS!.Value + taperS), At(next[0].ToTargetLowS!.Value + taperS * (1 - ExpectedTaperShare)), At(next[0].ToTargetHighS!.Value + taperS * (1 + ExpectedTaperShare)));
    }

    private HeatView? Heat()
    {
        var worst = -1;
        double Excess(int m) => heat.RiseKPerMin(m) - heat.ExplainedKPerMin(m);
        for (var module = 0; module < facts.Layout.Modules.Length; module++)
            if (!double.IsNaN(heat.RiseKPerMin(module)) && (worst < 0 || Excess(module) > Excess(worst))) worst = module;
        if (worst < 0) return null;
        var next = Enumerable.Range(0, facts.Layout.Modules.Length).Where(m => m != worst && !double.IsNaN(heat.HottestDegC(m)))
            .OrderByDescending(heat.HottestDegC).Take(3).Select(m => (m, heat.HottestDegC(m)));
        return new HeatView(worst, heat.HottestDegC(worst), heat.RiseKPerMin(worst), heat.ExplainedKPerMin(worst), [.. next]);
    }

    private string NotSupervised()
    {
        var unproven = facts.Map.CellCount - facts.ProvenCells;
        if (unproven > 0) return T($"Not supervised: {Say.Count(unproven, T("channel"), T("channels"))} not proven.");
        if (facts.UnseenCells > 0) return T($"Not supervised: {Say.Count(facts.UnseenCells, T("cell"), T("cells"))} not known.");
        return facts.CurrentKnown ? "" : T("Not supervised: the current is not known.");
    }

    private ImmutableArray<StopRule> StopRules()
    {
        var all = facts.Map.CellCount;
        bool? Clear(params string[] rules) => !rules.Any(alarms.IsPresentAnywhere);
        return
        [
            new(all == 1 ? T("the channel proven") : T($"{all} channels proven"), facts.ProvenCells == all),
            new(T("data fresh"), facts.UnseenCells == 0 && facts.CurrentKnown && facts.OldestS <= facts.Limits!.DataAgeStopS),
            new(T($"no cell over {Say.Volts(facts.Limits!.HighWarnV)}"), facts.KnownCells == 0 ? null : Clear("cell-high-warn", "cell-high", "cell-high-absolute")),
            new(T("heat explained by current"), facts.KnownTemperatures == 0 ? null : Clear("heat-unexplained", "heat-unexplained-warn", "heat-at-rest", "smoke")),
            new(T("temperatures inside limits"), facts.KnownTemperatures == 0 ? null : Clear("charge-cold", "charge-hot", "hot", "temperature-spread")),
            new(T("every channel believed"), Clear("not-believed", "sum-mismatch", "current-reversed")),
            new(permit.CutOffTriedUnixMs is { } tried ? T($"hand cut-off tried {Say.Span((facts.Time.WallUnixMs - tried) / 1000.0)} ago") : T("hand cut-off not tried yet"), permit.CutOffTriedUnixMs is null ? null : true),
            new(T("somebody is present"), charge.PresenceLeftS is { } left ? left > 0 : null),
            new(charge.Phase is ChargePhase.Taper or ChargePhase.TaperMissing ? T("current obeys at the target") : T("current judged at the target"), charge.Phase switch
            {
                ChargePhase.Taper => true,
                ChargePhase.TaperMissing => false,
                _ => null,
            }),
        ];
    }
}
