using CellWatch.Core.Checks;
using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Charging;

/// <summary>
/// Follows a charge: phase, headroom to the charge target, who limits next, whether the current obeys there, who is present. All of it
/// refers to the target of the highest cell; the stops are rules with limits of their own.
/// </summary>
internal sealed class ChargeSupervisor
{
    // A longer step between two scans is a gap, whose charge is not known.
    private const double LongestStepS = 10;

    private readonly Facts _facts;
    private readonly NoiseCheck _noise;
    private readonly SteadyTop _top;
    private readonly CurrentAtTarget _atTarget = new();
    private double _lastCurrentA;
    private bool _wasCharging;
    private long _presenceElapsedUs;

    public ChargeSupervisor(Facts facts, CellEstimates estimates, NoiseCheck noise)
    {
        (_facts, _noise) = (facts, noise);
        _top = new SteadyTop(facts.Map.CellCount);
        Forecast = new LimitForecast(facts, estimates);
        Allowance = new ChargeAllowed(facts, estimates);
        ExpectedTaperS = facts.Options.ExpectedTaperS;
    }

    /// <summary>Who limits and when.</summary>
    public LimitForecast Forecast { get; }

    /// <summary>How much current is allowed, and why.</summary>
    public ChargeAllowed Allowance { get; }

    /// <summary>The taper, once it runs.</summary>
    public TaperFollower Taper { get; } = new();

    /// <summary>Time constant to expect of the next taper, s: what the last one showed, else as set.</summary>
    public double ExpectedTaperS { get; private set; }

    /// <summary>Charge began, ms since 1970; null where there was none.</summary>
    public long? BeganUnixMs { get; private set; }

    /// <summary>When the last charge was over, ms since 1970; null while one runs and before the first.</summary>
    public long? EndedUnixMs { get; private set; }

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

    /// <summary>Whether a charge runs, or may run unseen.</summary>
    public bool IsRunning => _wasCharging;

    /// <summary>Somebody is at the charge.</summary>
    public void ConfirmPresence() => _presenceElapsedUs = _facts.Time.ElapsedUs;

    /// <summary>Seconds until presence must be confirmed; null while no charge runs.</summary>
    public double? PresenceLeftS => _wasCharging ? _facts.Options.PresenceMinutes * 60 - (_facts.Time.ElapsedUs - _presenceElapsedUs) * 1e-6 : null;

    public void Step(Snapshot snapshot, Measures measures)
    {
        if (_facts.MayBeCharging && !_wasCharging) Begin();
        if (!_facts.MayBeCharging && _wasCharging) End();
        _wasCharging = _facts.MayBeCharging;
        Allowance.Step(snapshot, measures, _wasCharging);

        if (!_wasCharging || _facts.Limits is not { } limits)
        {
            measures.SetNone(Quantity.AtTarget, 0, Availability.Absent);
            measures.SetNone(Quantity.PresenceOverdue, 0, Availability.Absent);
            return;
        }

        // Trapezoid, and only between two known currents: a gap is not filled in.
        if (_facts.CurrentKnown && double.IsFinite(_lastCurrentA) && _facts.DtS is > 0 and <= LongestStepS) ChargedAh += ChargeCounter.TrapezoidAh(_lastCurrentA, _facts.CurrentA, _facts.DtS);
        _lastCurrentA = _facts.CurrentA;

        measures.Set(Quantity.PresenceOverdue, 0, Math.Max(0, -(PresenceLeftS ?? 0)));
        if (_facts.TopCell < 0 || !_facts.CurrentKnown)
        {
            measures.SetNone(Quantity.AtTarget, 0, Availability.Stale);
            return;
        }

        Forecast.Step(snapshot.RawCellVoltageV, limits.ChargeTargetV);
        _top.Step(snapshot, _facts.DtS, Forecast, _noise);
        (_facts.SteadyTopCell, _facts.SteadyTopV) = (_top.Cell, _top.V);
        Follow(measures, limits.ChargeTargetV);
    }

    private void Follow(Measures measures, double targetV)
    {
        var atTargetS = _atTarget.Step(_facts.Time.ElapsedUs, _top.V, targetV + _top.MarginV, _facts.CurrentA);
        // A lower bound when cells are unseen: it may raise the alarm, not clear it.
        if (atTargetS > 0 || _facts.UnseenCells == 0) measures.Set(Quantity.AtTarget, 0, atTargetS);
        else measures.SetNone(Quantity.AtTarget, 0, Availability.Stale);

        if (TargetReachedUnixMs is null)
        {
            PlateauA = double.IsNaN(PlateauA) ? _facts.CurrentA : PlateauA + 0.05 * (_facts.CurrentA - PlateauA);
            Phase = ChargePhase.ConstantCurrent;
            if (_top.V < targetV + _top.MarginV - 1e-7) return;
            TargetReachedUnixMs = _facts.Time.WallUnixMs;
            TargetReachedCell = _top.Cell;
            Taper.Begin(_facts.Time.ElapsedUs);
        }

        Phase = atTargetS >= 10 ? ChargePhase.TaperMissing : ChargePhase.Taper;
        Taper.Step(_facts.Time.ElapsedUs, _facts.CurrentA);
    }

    private void Begin()
    {
        (BeganUnixMs, EndedUnixMs) = (_facts.Time.WallUnixMs, null);
        _presenceElapsedUs = _facts.Time.ElapsedUs;
        TargetReachedUnixMs = null;
        TargetReachedCell = -1;
        ChargedAh = 0;
        PlateauA = double.NaN;
        _lastCurrentA = double.NaN;
        _atTarget.Begin();
        Forecast.Begin();
        Phase = ChargePhase.ConstantCurrent;
    }

    private void End()
    {
        EndedUnixMs = _facts.Time.WallUnixMs;
        Phase = TargetReachedUnixMs is not null && _lastCurrentA <= 1.5 * _facts.Options.EffectiveTerminationA ? ChargePhase.Ended : ChargePhase.Interrupted;
        if (Phase == ChargePhase.Ended && double.IsFinite(Taper.TimeConstantS)) ExpectedTaperS = Taper.TimeConstantS;
    }
}
