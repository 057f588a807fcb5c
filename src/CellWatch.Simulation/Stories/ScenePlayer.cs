using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Stories;

/// <summary>Plays a story's scenes on a model: says the current of each step and which bleeds are told to be on. One thread at a time.</summary>
internal sealed class ScenePlayer
{
    private const double LeastOffsetAh = 0.3;
    private readonly Story _story;
    private readonly PackModel _model;
    private readonly bool[] _bleedOrdered;
    private readonly double[] _bleedUntilAh;
    private int _scene = -1;
    private double _sceneBeganS;
    private double _sceneEndsS;
    private int? _extraBleed;

    public ScenePlayer(Story story, PackModel model)
    {
        (_story, _model) = (story, model);
        _bleedOrdered = new bool[story.Layout.CellCount];
        _bleedUntilAh = new double[story.Layout.CellCount];
        Enter(0, -story.PastS);
    }

    public Charger Charger { get; } = new();

    /// <summary>What happens now.</summary>
    public Scene Scene => _story.Scenes[_scene];

    /// <summary>Which bleeds are told to be on; a stuck switch does not ask.</summary>
    public ReadOnlySpan<bool> BleedOrdered => _bleedOrdered;

    /// <summary>Whether the contactor is closed: it opens at rest, and stays open once the hand cut-off was pressed.</summary>
    public bool ContactorClosed => !HandCutOffPressed && (Scene is ChargeScene or DriveScene or DischargeScene);

    /// <summary>Time of the story at which the scene ends at the latest, s.</summary>
    public double SceneEndsS => _sceneEndsS;

    /// <summary>Whether nothing but slow things happen now, so that a long step loses nothing.</summary>
    public bool IsQuiet => Scene is RestScene or BalanceScene;

    /// <summary>Whether somebody pressed the hand cut-off: no current until it is pulled out again.</summary>
    public bool HandCutOffPressed { get; set; }

    /// <summary>Tells one cell's bleed to be on beside the scene's, or takes that back.</summary>
    public void SetExtraBleed(int? cell)
    {
        if (_extraBleed is { } before) _bleedOrdered[before] = false;
        _extraBleed = cell;
    }

    /// <summary>The current for the step that begins at <paramref name="timeS"/>, A; sets the bleed switches.</summary>
    public double Step(double timeS, double dtS)
    {
        if (timeS >= _sceneEndsS || EndedByItself()) Enter(_scene + 1, timeS);
        if (Scene is BalanceScene) OpenFinishedBleeds();
        if (_extraBleed is { } extra) _bleedOrdered[extra] = true;
        ApplyBleeds(timeS);
        if (HandCutOffPressed)
        {
            Charger.Stop();
            return 0;
        }

        return Scene switch
        {
            ChargeScene => Charger.Step(_model.HighestCellV, dtS),
            DriveScene => DriveProfile.CurrentA(timeS - _sceneBeganS),
            DischargeScene discharge => -Math.Min(discharge.CurrentA, (timeS - _sceneBeganS) * 20),
            _ => 0,
        };
    }

    /// <summary>Goes on to the next charge of the story at once, unless one is on.</summary>
    /// <returns>Whether a charge is on now.</returns>
    public bool StartCharge(double timeS)
    {
        if (Scene is ChargeScene && Charger.State == ChargerState.Running) return true;
        for (var i = 0; i < _story.Scenes.Length; i++)
        {
            var scene = (_scene + i) % _story.Scenes.Length;
            if (_story.Scenes[scene] is not ChargeScene) continue;
            Enter(scene, timeS);
            return true;
        }

        return false;
    }

    /// <summary>Puts a charger that stopped back to work, if its charge is still the scene.</summary>
    public void RestartCharger()
    {
        if (Scene is ChargeScene charge && Charger.State == ChargerState.Stopped) Charger.Start(charge.Order);
    }

    // A charge stopped by its own protection or by hand stays where it is until the scene's time is over; nobody restarts it.
    private bool EndedByItself() => Scene switch
    {
        ChargeScene => Charger.State == ChargerState.Ended,
        DischargeScene discharge => _model.LowestCellV <= discharge.EndV,
        _ => false,
    };

    private void Enter(int scene, double timeS)
    {
        _scene = scene < _story.Scenes.Length ? scene : _story.LoopFrom;
        _sceneBeganS = timeS;
        _sceneEndsS = timeS + Math.Min(Scene.ForS, Scene.UntilClockH is { } hour ? _story.SecondsUntilClock(timeS, hour) : double.MaxValue);
        _bleedOrdered.AsSpan().Clear();
        Charger.SwitchOff();
        if (Scene is ChargeScene charge) Charger.Start(charge.Order);
        if (Scene is BalanceScene balance) OrderBleeds(balance);
    }

    private void OrderBleeds(BalanceScene balance)
    {
        var charge = _model.Charge;
        var sorted = charge.ToArray();
        Array.Sort(sorted);
        var median = (sorted[(sorted.Length - 1) / 2] + sorted[sorted.Length / 2]) / 2;
        for (var k = 0; k < charge.Length; k++)
        {
            var aboveAh = (charge[k] - median) * _model.CapacityAh[k];
            var planAh = balance.PlanAh.Count > 0 ? balance.PlanAh[k] : aboveAh > LeastOffsetAh ? aboveAh : 0;
            _bleedOrdered[k] = planAh > 0;
            _bleedUntilAh[k] = _model.BledAh[k] + planAh;
        }
    }

    private void OpenFinishedBleeds()
    {
        var bledAh = _model.BledAh;
        for (var k = 0; k < bledAh.Length; k++)
            if (bledAh[k] >= _bleedUntilAh[k] && k != _extraBleed) _bleedOrdered[k] = false;
    }

    private void ApplyBleeds(double timeS)
    {
        _bleedOrdered.CopyTo(_model.BleedOn);
        if (timeS < _story.BleedStuckFromS) return;
        foreach (var k in _story.BleedStuckOn) _model.BleedOn[k] = true;
    }
}
