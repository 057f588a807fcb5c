using System.Collections.Immutable;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Charging;

/// <summary>Makes the immutable picture of the charge for pages, messages and the log.</summary>
internal sealed class ChargeViewMaker(Facts facts, ChargeSupervisor charge, Permit permit, AlarmBook alarms)
{
    public ChargeView Make(Snapshot snapshot)
    {
        var limits = facts.Limits!;
        var supervised = NotSupervised();
        var reason = permit.Reason(snapshot);
        return new ChargeView
        {
            Phase = charge.Phase,
            TargetV = limits.ChargeTargetV,
            HeadroomV = facts.TopCell < 0 ? null : limits.ChargeTargetV - facts.TopV,
            Permit = permit.Given,
            PermitReason = reason,
            Supervised = supervised.Length == 0,
            NotSupervisedBecause = supervised,
            BeganUnixMs = charge.BeganUnixMs,
            TargetReachedUnixMs = charge.TargetReachedUnixMs,
            TargetReachedCell = charge.TargetReachedCell < 0 ? null : charge.TargetReachedCell,
            PlateauA = double.IsFinite(charge.PlateauA) ? charge.PlateauA : null,
            TerminationA = facts.Options.EffectiveTerminationA,
            ChargedAh = charge.ChargedAh,
            StopRules = StopRules(),
            PresenceLeftS = charge.PresenceLeftS,
            HandCutOff = facts.Options.HandCutOff,
            Advice = Advice(),
        };
    }

    private string NotSupervised()
    {
        var unproven = facts.Map.CellCount - facts.ProvenCells;
        if (unproven > 0) return $"Not supervised: {Say.Count(unproven, "channel")} not proven.";
        if (facts.UnseenCells > 0) return $"Not supervised: {Say.Count(facts.UnseenCells, "cell")} not known.";
        return facts.CurrentKnown ? "" : "Not supervised: the current is not known.";
    }

    private ImmutableArray<StopRule> StopRules()
    {
        var all = facts.Map.CellCount;
        bool? Clear(params string[] rules) => !rules.Any(r => alarms.IsPresentAnywhere(r));
        return
        [
            new($"{all} channels proven", facts.ProvenCells == all),
            new("data fresh", facts.UnseenCells == 0 && facts.CurrentKnown && facts.OldestS <= facts.Limits!.DataAgeStopS),
            new($"no cell over {Say.Volts(facts.Limits!.HighWarnV)}", facts.KnownCells == 0 ? null : Clear("cell-high-warn", "cell-high", "cell-high-absolute")),
            new("heat explained by the current", facts.KnownTemperatures == 0 ? null : Clear("heat-unexplained", "heat-unexplained-warn", "heat-at-rest")),
            new("temperatures inside their limits", facts.KnownTemperatures == 0 ? null : Clear("charge-cold", "charge-hot", "hot", "temperature-spread")),
            new(permit.CutOffTriedUnixMs is { } tried ? $"hand cut-off tried {Say.Span((facts.Time.WallUnixMs - tried) / 1000.0)} ago" : "hand cut-off not tried yet", permit.CutOffTriedUnixMs is null ? null : true),
            new("current obeys at the target", charge.Phase switch
            {
                ChargePhase.Taper => true,
                ChargePhase.TaperMissing => false,
                _ => null,
            }),
        ];
    }

    private string Advice()
    {
        switch (charge.Phase)
        {
            case ChargePhase.ConstantCurrent when facts.MayBeCharging && facts.TopCell >= 0:
                return $"Keep {Say.Amperes(facts.CurrentA)}. {facts.Map.NameOf(facts.TopCell)} is highest, {Say.Millivolts(facts.Limits!.ChargeTargetV - facts.TopV)} below {Say.Volts(facts.Limits.ChargeTargetV)}.";
            case ChargePhase.Taper:
                return $"The target is reached and the current falls. It ends at {Say.Amperes(facts.Options.EffectiveTerminationA)}.";
            case ChargePhase.TaperMissing:
                return $"STOP THE CHARGE NOW: {facts.Options.HandCutOff}. Do not pull the plug. Do not open the service plug under load.";
            case ChargePhase.Ended: return $"The charge has ended. {Say.AmpereHours(charge.ChargedAh)} charged.";
            case ChargePhase.Interrupted: return $"The charge stopped before its end. {Say.AmpereHours(charge.ChargedAh)} charged.";
            default: return "No charge current.";
        }
    }
}
