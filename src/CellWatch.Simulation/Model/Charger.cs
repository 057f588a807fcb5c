namespace CellWatch.Simulation.Model;

/// <summary>What a charger is doing.</summary>
public enum ChargerState
{
    /// <summary>Switched off.</summary>
    Off,

    /// <summary>Holding its current, or turning it down to hold the highest cell at the target.</summary>
    Running,

    /// <summary>Ended by itself at the termination current.</summary>
    Ended,

    /// <summary>Stopped by its own protection, or because it was told to stop for good.</summary>
    Stopped,
}

/// <summary>What a charge is asked to do.</summary>
/// <param name="CurrentA">Constant current, A.</param>
/// <param name="TargetV">Voltage the highest cell is held at, V.</param>
/// <param name="TerminationA">Current at which the charge ends, A.</param>
public sealed record ChargeOrder(double CurrentA, double TargetV, double TerminationA);

/// <summary>
/// A charger whose control reads the cells: constant current until the highest cell is at the target, then turned down so that it stays
/// there, ended at the termination current. The control is a plain integrator, <c>dI = g (target - highest) / R dt</c>, cut off at the
/// constant current. Its own protection stops it whatever the control does; that stands for the hardware protection every pack must have.
/// </summary>
public sealed class Charger
{
    /// <summary>Highest cell at which a charger that no longer obeys turns down after all, V: the voltage it is built for.</summary>
    public const double BuiltForV = 4.24;

    /// <summary>Highest cell at which its own protection stops it, V.</summary>
    public const double ProtectionV = 4.30;

    // Integrator: half of the error is taken out in a second at a slow resistance of 1.4 mOhm; chosen by trial, steady error below 0.5 mV.
    private const double GainPerS = 0.5;
    private const double ReferenceOhm = 0.0014;
    private const double RiseAPerS = 6;
    private const double FallAPerS = 30;
    private const double EndHoldS = 10;
    private const double AtTargetV = 0.010;

    private ChargeOrder _order = new(0, 0, 0);
    private double _belowEndS;
    private bool _isTurnedDown;

    /// <summary>What it is doing.</summary>
    public ChargerState State { get; private set; }

    /// <summary>Current it gives, A.</summary>
    public double CurrentA { get; private set; }

    /// <summary>
    /// Whether it has stopped obeying: it keeps the current it has (a charge in its constant part: the current of the order), does not turn down at its
    /// target but only at <see cref="BuiltForV"/>, and does not end.
    /// </summary>
    public bool IgnoresTarget { get; set; }

    /// <summary>Begins a charge.</summary>
    public void Start(ChargeOrder order)
    {
        _order = order;
        _belowEndS = 0;
        _isTurnedDown = false;
        State = ChargerState.Running;
    }

    /// <summary>Switches off; the current falls at once.</summary>
    public void SwitchOff()
    {
        State = ChargerState.Off;
        CurrentA = 0;
    }

    /// <summary>Stops for good in the middle of a charge, as a station does that trips.</summary>
    public void Stop()
    {
        if (State == ChargerState.Running) State = ChargerState.Stopped;
        CurrentA = 0;
    }

    /// <summary>The current for the next step.</summary>
    /// <param name="highestCellV">Highest cell now, V.</param>
    /// <param name="dtS">Length of the step, s, at most 1.</param>
    public double Step(double highestCellV, double dtS)
    {
        if (State != ChargerState.Running) return CurrentA = 0;
        if (highestCellV >= ProtectionV)
        {
            Stop();
            return 0;
        }

        // One that keeps its current in the middle of a taper has nothing that would turn it up again.
        var (targetV, mostA) = IgnoresTarget ? (BuiltForV, _isTurnedDown ? CurrentA : _order.CurrentA) : (_order.TargetV, _order.CurrentA);
        var turnedA = CurrentA + GainPerS * dtS * (targetV - highestCellV) / ReferenceOhm;
        CurrentA = Math.Clamp(Math.Clamp(turnedA, 0, mostA), CurrentA - FallAPerS * dtS, CurrentA + RiseAPerS * dtS);
        if (!IgnoresTarget) _isTurnedDown = highestCellV > _order.TargetV - AtTargetV && CurrentA < _order.CurrentA;
        if (!IgnoresTarget) EndWhenDone(highestCellV, dtS);
        return CurrentA;
    }

    private void EndWhenDone(double highestCellV, double dtS)
    {
        var done = CurrentA <= _order.TerminationA && highestCellV > _order.TargetV - AtTargetV;
        _belowEndS = done ? _belowEndS + dtS : 0;
        if (_belowEndS < EndHoldS) return;
        State = ChargerState.Ended;
        CurrentA = 0;
    }
}
