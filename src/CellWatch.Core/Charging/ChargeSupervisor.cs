using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;

namespace CellWatch.Core.Charging;

/// <summary>
/// Follows a charge: phase, headroom to the charge target, whether the current obeys there, who is present. All of it refers to the
/// target of the highest cell; the stops are rules with limits of their own.
/// </summary>
internal sealed class ChargeSupervisor(Facts facts)
{
    private readonly CurrentAtTarget _atTarget = new();
    private double _lastCurrentA;
    private bool _wasCharging;
    private long _beganElapsedUs;
    private long _presenceElapsedUs;

    /// <summary>Charge began, ms since 1970; null where there was none.</summary>
    public long? BeganUnixMs { get; private set; }

    /// <summary>Target first reached in this charge.</summary>
    public long? TargetReachedUnixMs { get; private set; }

    /// <summary>By which cell; -1 while by none.</summary>
    public int TargetReachedCell { get; private set; } = -1;

    /// <summary>Charge counted in this charge, Ah.</summary>
    public double ChargedAh { get; private set; }

    /// <summary>Current before the target was reached, A; NaN while there was none.</summary>
    public double PlateauA { get; private set; } = double.NaN;

    /// <summary>Phase of the charge.</summary>
    public ChargePhase Phase { get; private set; }

    /// <summary>Somebody is at the charge.</summary>
    public void ConfirmPresence() => _presenceElapsedUs = facts.Time.ElapsedUs;

    /// <summary>Seconds until presence must be confirmed; null while no charge runs.</summary>
    public double? PresenceLeftS => _wasCharging ? facts.Options.PresenceMinutes * 60 - (facts.Time.ElapsedUs - _presenceElapsedUs) * 1e-6 : null;

    public void Step(Measures measures)
    {
        if (facts.MayBeCharging && !_wasCharging) Begin();
        if (!facts.MayBeCharging && _wasCharging) End();
        _wasCharging = facts.MayBeCharging;

        if (!_wasCharging || facts.Limits is not { } limits)
        {
            facts.AllowedA = null;
            measures.SetNone(Quantity.AtTarget, 0, Availability.Absent);
            measures.SetNone(Quantity.PresenceOverdue, 0, Availability.Absent);
            return;
        }

        // Trapezoid, and only between two known currents: a gap is not filled in.
        if (facts.CurrentKnown && double.IsFinite(_lastCurrentA) && facts.DtS is > 0 and < 10) ChargedAh += (facts.CurrentA + _lastCurrentA) / 2 * facts.DtS / 3600;
        _lastCurrentA = facts.CurrentA;

        measures.Set(Quantity.PresenceOverdue, 0, Math.Max(0, -(PresenceLeftS ?? 0)));
        if (facts.TopCell < 0 || !facts.CurrentKnown)
        {
            measures.SetNone(Quantity.AtTarget, 0, Availability.Stale);
            return;
        }

        facts.AllowedA = Math.Max(0, facts.CurrentA + (limits.ChargeTargetV - facts.TopV) / facts.Options.ResistanceOhm);
        var atTargetS = _atTarget.Step(facts.Time.ElapsedUs, facts.TopV, limits.ChargeTargetV, facts.CurrentA);
        // A lower bound when cells are unseen: it may raise the alarm, not clear it.
        if (atTargetS > 0 || facts.UnseenCells == 0) measures.Set(Quantity.AtTarget, 0, atTargetS);
        else measures.SetNone(Quantity.AtTarget, 0, Availability.Stale);

        if (facts.TopV >= limits.ChargeTargetV && TargetReachedUnixMs is null)
        {
            TargetReachedUnixMs = facts.Time.WallUnixMs;
            TargetReachedCell = facts.TopCell;
        }

        if (TargetReachedUnixMs is null) PlateauA = double.IsNaN(PlateauA) ? facts.CurrentA : PlateauA + 0.05 * (facts.CurrentA - PlateauA);
        Phase = TargetReachedUnixMs is null ? ChargePhase.ConstantCurrent : atTargetS >= 10 ? ChargePhase.TaperMissing : ChargePhase.Taper;
    }

    private void Begin()
    {
        BeganUnixMs = facts.Time.WallUnixMs;
        _beganElapsedUs = facts.Time.ElapsedUs;
        _presenceElapsedUs = _beganElapsedUs;
        TargetReachedUnixMs = null;
        TargetReachedCell = -1;
        ChargedAh = 0;
        PlateauA = double.NaN;
        _lastCurrentA = double.NaN;
        _atTarget.Begin();
        Phase = ChargePhase.ConstantCurrent;
    }

    private void End() =>
        Phase = TargetReachedUnixMs is not null && _lastCurrentA <= 1.5 * facts.Options.EffectiveTerminationA ? ChargePhase.Ended : ChargePhase.Interrupted;
}
