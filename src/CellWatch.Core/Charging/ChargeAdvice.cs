using CellWatch.Core.Engine;
using CellWatch.Core.Live;

namespace CellWatch.Core.Charging;

/// <summary>One instruction for the person at the charge, worded as advice and by who sets the current.</summary>
internal sealed class ChargeAdvice(Facts facts, ChargeSupervisor charge)
{
    public string Sentence() => charge.Phase switch
    {
        ChargePhase.NotCharging => T("No charge current."),
        ChargePhase.Ended => T($"The charge has ended. {Say.AmpereHours(charge.ChargedAh)} charged."),
        ChargePhase.Interrupted => T($"The charge stopped before its end. {Say.AmpereHours(charge.ChargedAh)} charged."),
        _ when !facts.CurrentKnown => T($"The current is not known. Be ready at {facts.Options.HandCutOff}."),
        ChargePhase.TaperMissing => T($"STOP THE CHARGE NOW: {facts.Options.HandCutOff}. Do not pull the plug. Do not open the service plug under load."),
        ChargePhase.Taper => Taper(),
        _ => ConstantCurrent(),
    };

    private string ConstantCurrent()
    {
        var target = facts.Limits!.ChargeTargetV;
        if (facts.AllowedA is { } allowed && allowed < 0.97 * facts.CurrentA) return $"{facts.Turn(allowed)} {charge.Allowance.Because()}.";
        var forecast = charge.Forecast;
        if (forecast.First < 0)
            return facts.TopCell < 0
                ? T("No cell is known.")
                : T($"Keep {Say.Amperes(facts.CurrentA)}. {facts.Map.NameOf(facts.TopCell)} is highest, {Say.Millivolts(target - facts.TopV)} below {Say.Volts(target)}.");

        var seconds = Math.Max(0, forecast.ToTargetS[forecast.First] - (facts.Time.ElapsedUs - forecast.AsOfUs) * 1e-6);
        var first = facts.Map.NameOf(forecast.First);
        var other = facts.TopCell >= 0 && facts.TopCell != forecast.First && facts.TopV - forecast.VoltageAfter(forecast.First, 0) > 0.001
            ? T($" It is not the highest now: that is {facts.Map.NameOf(facts.TopCell)}.")
            : "";
        return T($"Keep {Say.Amperes(facts.CurrentA)}. {first} will be first at {Say.Volts(target)} in {Say.Until(seconds)}; then {Then(forecast.First)}.{other}");
    }

    private string Then(int cell) => facts.Options.CurrentSetBy switch
    {
        CurrentSetBy.Person => T($"turn down to {Say.Amperes(charge.Allowance.StepDownA(cell, facts.CurrentA))}"),
        CurrentSetBy.ChargeController => T("the charge controller should bring the current down"),
        _ => T($"end the charge with {facts.Options.HandCutOff}, because nobody can turn this current down"),
    };

    private string Taper()
    {
        var endA = facts.Options.EffectiveTerminationA;
        var end = charge.Taper.TryEnd(facts.CurrentA, endA, out var seconds, out _, out _) ? T($" in {Say.Until(seconds)}") : "";
        return facts.Options.CurrentSetBy == CurrentSetBy.Person
            ? T($"At the target: keep turning down as the cells ask, now {Say.Amperes(Math.Max(0, facts.AllowedA ?? 0))} at most. It ends at {Say.Amperes(endA)}{end}.")
            : T($"The target is reached and the current falls. It ends at {Say.Amperes(endA)}{end}.");
    }
}
