using System.Collections.Immutable;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Simulation.Boards;
using CellWatch.Simulation.Model;
using CellWatch.Simulation.Stories;
using CellWatch.Simulation.Time;

namespace CellWatch.Simulation.Controls;

/// <summary>
/// What a person can do to a simulated pack. Faults are applied between two steps of the model, leads at once, leaps on a task of their own.
/// Pressing a fault again takes it back. Safe for any number of threads.
/// </summary>
public sealed class SimulationControls : ISimulationStrip, ISimulatedLoad
{
    /// <summary>Resistance of the loosened link, ohm: 1.5 V and 90 W at 60 A, so the joint is hot within half a minute.</summary>
    public const double LooseLinkOhm = 0.025;

    /// <summary>Resistance of the corroded tap, ohm; bleeding 124 mA through it shifts two cells by 62 mV in opposite directions.</summary>
    public const double CorrodedTapOhm = 0.5;

    /// <summary>How many times the noise of the first board's cells rises when a charger runs.</summary>
    public const double ChargerNoiseFactor = 4;

    /// <summary>Load of a module's proof, ohm: about 4.7 A, 110 W, some 4 mV on each of its cells.</summary>
    public const double ModuleLoadOhm = 5;

    /// <summary>Load of a cell's proof, ohm: about 8.5 A and 9 mV.</summary>
    public const double CellLoadOhm = 0.47;

    private const double ChargerNoiseFromA = 5;
    private const int LeapSnapshotEveryS = 10;
    private const double LongestLeapS = 36 * 3600;

    private readonly SimulatedPack _pack;
    private readonly ImmutableArray<BoardRunner> _boards;
    private readonly ScaledTimeProvider _clock;
    private readonly StoryClock _storyClock;
    private readonly Places _places;
    private readonly ImmutableArray<Press> _presses;
    private int _leaping;

    internal SimulationControls(SimulatedPack pack, ImmutableArray<BoardRunner> boards, ScaledTimeProvider clock, StoryClock storyClock)
    {
        (_pack, _boards, _clock, _storyClock) = (pack, boards, clock, storyClock);
        _places = Places.In(pack.Story.Layout);
        _presses = [.. MakePresses()];
    }

    /// <summary>Told of leaps; null: what passes is not recorded.</summary>
    public IStoryLeap? Leap { get; set; }

    /// <summary>Both clocks when the story opened, so that what passes in a leap is stamped like the live scans.</summary>
    public SnapshotTime Opening { get; set; }

    /// <summary>The leap under way; completed when there is none.</summary>
    public Task LeapDone { get; private set; } = Task.CompletedTask;

    /// <inheritdoc/>
    public ImmutableArray<SimulationPress> Presses => [.. _presses.Select(p => new SimulationPress(p.Key, p.Label, p.Description, p.IsOn()))];

    /// <inheritdoc/>
    public string Trigger(string key)
    {
        foreach (var press in _presses)
            if (string.Equals(press.Key, key, StringComparison.Ordinal)) return press.Do();
        return T($"There is no press '{key}'. Known: {string.Join(", ", _presses.Select(p => p.Key))}.");
    }

    /// <summary>Pulls a board's lead or puts it back.</summary>
    /// <param name="board">Number of the board, from 1.</param>
    /// <param name="isOut">Whether it shall be out.</param>
    public string PullLead(int board, bool isOut)
    {
        if (board < 1 || board > _boards.Length) return T($"There are {_boards.Length} boards; there is no board {board}.");
        var runner = _boards[board - 1];
        if (isOut) runner.PullLead();
        else runner.PlugIn();
        return isOut ? T($"The lead of {runner.Plan.Name} is out.") : T($"The lead of {runner.Plan.Name} is back in.");
    }

    /// <summary>Sticks the channel of a cell at what it shows now, or frees it.</summary>
    public string StickChannel(CellId cell, bool isStuck) => _pack.Story.Layout.TryFindCell(cell, out var index)
        ? Stick(index, isStuck)
        : T($"There is no cell {cell}.");

    /// <inheritdoc/>
    public void LoadModule(ModuleId? module)
    {
        var layout = _pack.Story.Layout;
        if (module is { } on && layout.TryFindModule(on, out var index)) Load(layout.FirstCell(index), layout.FirstCell(index + 1) - layout.FirstCell(index), ModuleLoadOhm);
        else Load(0, 0, ModuleLoadOhm);
    }

    /// <inheritdoc/>
    public void LoadCell(CellId? cell)
    {
        if (cell is { } on && _pack.Story.Layout.TryFindCell(on, out var index)) Load(index, 1, CellLoadOhm);
        else Load(0, 0, CellLoadOhm);
    }

    /// <summary>The current is that of the cells' voltage now: over ten seconds it does not change by a hundredth.</summary>
    private void Load(int first, int cells, double ohm) => _pack.Apply((model, _, _, _) =>
    {
        var sumV = 0.0;
        for (var k = first; k < first + cells; k++) sumV += model.CellVoltageV[k];
        model.LoadA.Clear();
        model.LoadA.Slice(first, cells).Fill(sumV / ohm);
    });

    private string Stick(int cell, bool isStuck)
    {
        var name = _pack.Story.Layout.CellAt(cell);
        var now = new double[1];
        _pack.Read(_storyClock.StoryTimeS, [cell], now);
        _pack.Apply((_, _, faults, _) => faults.Stuck = isStuck ? new StuckInput(cell, now[0]) : null);
        return isStuck ? T($"The channel of {name} stands still at {now[0]:0.0000} V.") : T($"The channel of {name} follows its cell again.");
    }

    private IEnumerable<Press> MakePresses()
    {
        var layout = _pack.Story.Layout;
        var last = _boards.Length;
        var lastBoard = _boards[^1].Plan;
        yield return new Press(
            PressKeys.PullLead, T("Pull a lead"), T($"Pulls the lead of {lastBoard.Name}; press again to put it back."),
            () => _boards[^1].IsOut, () => PullLead(last, !_boards[^1].IsOut));
        yield return Toggle(
            PressKeys.StickChannel, T("Stick a channel"), T($"The channel of {layout.CellAt(_places.StuckCell)} repeats one value whatever its cell does."),
            f => f.Stuck is not null, on => Stick(_places.StuckCell, on));
        yield return new Press(
            PressKeys.LoosenLink, T("Loosen a link"),
            T($"The link at the positive end of {layout.Modules[_places.LooseLink].Id} gets 25 mOhm: it drops voltage and grows hot while current flows."),
            () => IsLoose, () => Loosen(!IsLoose));
        yield return new Press(
            PressKeys.IgnoreTaper, T("Charger ignores taper"),
            T("The charger keeps its current where it should turn down at the target. Starts a charge if none is on."),
            () => _pack.Charger.IgnoresTarget, () => IgnoreTaper(!_pack.Charger.IgnoresTarget));
        yield return new Press(
            PressKeys.NextMorning, T("Go to next morning"), T("Lets the story pass quickly, with its record, to ten past six."),
            () => Volatile.Read(ref _leaping) != 0, () => StartLeap(T("The hours pass to the next morning."), IsNextMorning(), 0));
        if (_pack.Story.Scenes.Any(s => s is ChargeScene))
            yield return new Press(
                PressKeys.NextCharge, T("Go to next charge"), T("Lets the story pass quickly, with its record, to the next charge, one minute after its beginning."),
                () => Volatile.Read(ref _leaping) != 0, () => StartLeap(T("The hours pass to the next charge."), IsNextCharge(), 60));
        yield return new Press(
            PressKeys.HandCutOff, T("Press the hand cut-off"), T($"Presses the {_pack.Story.HandCutOff}: the current is cut off until it is pulled out again."),
            () => _pack.HandCutOffPressed, () => CutOff(!_pack.HandCutOffPressed));
        yield return new Press(
            PressKeys.ChargerStops, T("Charger stops"), T("The charger stops in the middle of the charge and does not come back; press again to restart it."),
            () => _pack.Charger.State == ChargerState.Stopped, () => StopCharger(_pack.Charger.State != ChargerState.Stopped));
        if (_places.SwapA >= 0)
            yield return Toggle(
                PressKeys.SwapHarnesses, T("Swap two harnesses"),
                T($"The sense harnesses of {layout.Modules[_places.SwapA].Id} and {layout.Modules[_places.SwapB].Id} change places."),
                f => f.Swapped is not null, Swap);
        yield return Toggle(
            PressKeys.OpenTap, T("Open a tap"), T($"The tap between {layout.CellAt(_places.TapCell)} and {layout.CellAt(_places.TapCell + 1)} comes off."),
            f => f.OpenTap is not null, OpenTheTap);
        yield return Toggle(
            PressKeys.CorrodeTap, T("Corrode a tap"),
            T($"The tap that {layout.CellAt(_places.CorrodedCell)} and {layout.CellAt(_places.CorrodedCell + 1)} share gets 0.5 ohm, and {layout.CellAt(_places.CorrodedCell)} bleeds."),
            f => f.BadTap is not null, Corrode);
        yield return Toggle(
            PressKeys.ChargerNoise, T("Ground loop"), T($"While a charger runs, the noise of the cells on {_boards[0].Plan.Name} is four times what it was."),
            f => f.ChargerNoise is not null, MakeNoise);
        yield return Toggle(
            PressKeys.ReverseCurrent, T("Turn the current sensor round"), T("The current counts the wrong way."), f => f.CurrentReversed,
            Reverse);
        if (layout.Auxiliaries.Any(a => a.Kind == AuxiliaryKind.Smoke))
            yield return Toggle(
                PressKeys.Smoke, T("Smoke"), T("The smoke input sees smoke."), f => f.Smoke,
                on => Set(f => f.Smoke = on, on ? T("The smoke input sees smoke.") : T("The smoke is gone.")));
        yield return new Press(PressKeys.Reset, T("Reset"), T("Takes every fault back and puts every lead in."), () => false, Reset);
    }

    private bool IsLoose
    {
        get
        {
            var loose = false;
            _pack.Apply((model, _, _, _) => loose = model.LinkOhm[_places.LooseLink] > _pack.Story.Parameters.LinkOhm);
            return loose;
        }
    }

    private Press Toggle(string key, string label, string description, Func<PackFaults, bool> isOn, Func<bool, string> set)
    {
        return new Press(key, label, description, IsOn, () => set(!IsOn()));

        bool IsOn()
        {
            var on = false;
            _pack.Apply((_, _, faults, _) => on = isOn(faults));
            return on;
        }
    }

    private string Set(Action<PackFaults> change, string said)
    {
        _pack.Apply((_, _, faults, _) => change(faults));
        return said;
    }

    private string Loosen(bool on)
    {
        var current = 0.0;
        _pack.Apply((model, _, _, _) =>
        {
            model.LinkOhm[_places.LooseLink] = on ? LooseLinkOhm : _pack.Story.Parameters.LinkOhm;
            current = model.PackCurrentA;
        });
        var module = _pack.Story.Layout.Modules[_places.LooseLink].Id;
        if (!on) return T($"The link at {module} is tight again.");
        return Math.Abs(current) < 1 ? T($"The link at {module} is loose. It shows as soon as current flows.") : T($"The link at {module} is loose.");
    }

    private string IgnoreTaper(bool on)
    {
        var charging = false;
        var belowV = 0.0;
        _pack.Apply((model, player, _, tick) =>
        {
            player.Charger.IgnoresTarget = on;
            charging = !on || !player.HandCutOffPressed && player.StartCharge(tick * SimulatedPack.TickS);
            if (player.Scene is ChargeScene charge) belowV = charge.Order.TargetV - model.HighestCellV;
        });
        if (!on) return T("The charger obeys again.");
        if (!charging) return T("The charger would keep its current at the target, but the hand cut-off is pressed.");
        return belowV > 0.001
            ? T($"The charger keeps its current. It shows ten seconds after the highest cell is at its target, {1000 * belowV:0} mV from now.")
            : T("The charger keeps its current at the target. It shows in ten seconds.");
    }

    private string CutOff(bool on)
    {
        _pack.Apply((_, player, _, _) =>
        {
            player.HandCutOffPressed = on;
            if (!on) player.RestartCharger();
        });
        return on ? T("The hand cut-off is pressed: no current.") : T("The hand cut-off is pulled out again.");
    }

    private string StopCharger(bool on)
    {
        var said = T("No charge is on.");
        _pack.Apply((_, player, _, _) =>
        {
            if (!on) player.RestartCharger();
            else if (player.Charger.State == ChargerState.Running) player.Charger.Stop();
            else return;
            said = on ? T("The charger has stopped.") : T("The charger is back.");
        });
        return said;
    }

    private string Swap(bool on)
    {
        var layout = _pack.Story.Layout;
        var (a, b) = (_places.SwapA, _places.SwapB);
        var swapped = new SwappedHarnesses(
            layout.FirstCell(a), layout.FirstCell(b), layout.Modules[a].Topology.Series,
            layout.FirstTemperature(a), layout.FirstTemperature(b), layout.Modules[a].TemperatureSensors);
        return Set(f => f.Swapped = on ? swapped : null, on
            ? T($"The harnesses of {layout.Modules[a].Id} and {layout.Modules[b].Id} are exchanged. It shows within seconds while the current is steady; else only the channel proof can tell.")
            : T($"The harnesses of {layout.Modules[a].Id} and {layout.Modules[b].Id} are back in their places."));
    }

    private string OpenTheTap(bool on)
    {
        _pack.Apply((_, _, faults, tick) => faults.OpenTap = on ? new OpenTap(_places.TapCell, _places.TapCell + 1, tick) : null);
        return on ? T("The tap has come off.") : T("The tap is on again.");
    }

    private string Corrode(bool on)
    {
        var layout = _pack.Story.Layout;
        var cell = _places.CorrodedCell;
        var first = layout.FirstCell(layout.ModuleOfCell(cell));
        _pack.Apply((_, player, faults, _) =>
        {
            faults.BadTap = on ? new BadTap(first, cell - first + 1, CorrodedTapOhm) : null;
            player.SetExtraBleed(on ? cell : null);
        });
        return on ? T($"The tap has 0.5 ohm, and {layout.CellAt(cell)} bleeds.") : T("The tap is clean again.");
    }

    private string Reverse(bool on)
    {
        var currentA = 0.0;
        _pack.Apply((model, _, faults, _) => (faults.CurrentReversed, currentA) = (on, model.PackCurrentA));
        if (!on) return T("The current sensor counts the right way.");
        return Math.Abs(currentA) >= 10
            ? T("The current sensor counts the wrong way. It shows at once: the sign changes and no cell moves.")
            : T("The current sensor counts the wrong way. With no current to change its sign it takes twenty changes of current until that shows.");
    }

    private string MakeNoise(bool on)
    {
        var plan = _boards[0].Plan;
        var layout = _pack.Story.Layout;
        var first = layout.FirstCell(plan.FirstModule);
        var noise = new ChargerNoise(first, layout.FirstCell(plan.FirstModule + plan.Modules) - first, ChargerNoiseFactor, ChargerNoiseFromA);
        var currentA = 0.0;
        _pack.Apply((model, _, faults, _) => (faults.ChargerNoise, currentA) = (on ? noise : null, model.PackCurrentA));
        if (!on) return T("The ground loop is gone.");
        return currentA > ChargerNoiseFromA
            ? T($"The charger makes noise in the cells of {plan.Name}. It shows within seconds.")
            : T($"A charger makes noise in the cells of {plan.Name}. It shows half a minute into the next charge.");
    }

    private string Reset()
    {
        foreach (var board in _boards) board.PlugIn();
        _pack.Apply((model, player, faults, _) =>
        {
            faults.Clear();
            model.LoadA.Clear();
            model.LinkOhm.Fill(_pack.Story.Parameters.LinkOhm);
            player.Charger.IgnoresTarget = false;
            player.HandCutOffPressed = false;
            player.SetExtraBleed(null);
            player.RestartCharger();
        });
        return T("Every fault is taken back.");
    }

    private Func<Scene, double, bool> IsNextMorning()
    {
        var now = _storyClock.StoryTimeS;
        var morning = now + _pack.Story.SecondsUntilClock(now, _pack.Story.MorningClockH);
        return (_, timeS) => timeS >= morning;
    }

    private static Func<Scene, double, bool> IsNextCharge()
    {
        var wasElsewhere = false;
        return (scene, _) =>
        {
            wasElsewhere |= scene is not ChargeScene;
            return wasElsewhere && scene is ChargeScene;
        };
    }

    private string StartLeap(string said, Func<Scene, double, bool> isThere, double andThenS)
    {
        if (Interlocked.Exchange(ref _leaping, 1) != 0) return T("The story is leaping already.");
        LeapDone = Task.Run(() => LeapNow(isThere, andThenS));
        return said;
    }

    private void LeapNow(Func<Scene, double, bool> isThere, double andThenS)
    {
        try
        {
            Leap?.Begin();
            try
            {
                var take = Leap is { } leap ? leap.Take : (Action<SnapshotBuffer>)(_ => { });
                var most = _storyClock.StoryTimeS + LongestLeapS;
                _pack.PlayUntil(isThere, most, Opening, LeapSnapshotEveryS, take, IsSeen);
                if (andThenS > 0)
                {
                    var end = _pack.TimeS + andThenS;
                    _pack.PlayUntil((_, timeS) => timeS >= end, end, Opening, LeapSnapshotEveryS, take, IsSeen);
                }

                var by = _pack.TimeS - _storyClock.StoryTimeS;
                if (by > 0) _clock.Advance(TimeSpan.FromSeconds(by));
                foreach (var board in _boards) board.ScanNow();
            }
            finally
            {
                Leap?.End();
            }
        }
        finally
        {
            Volatile.Write(ref _leaping, 0);
        }
    }

    private bool IsSeen(int channel)
    {
        foreach (var board in _boards)
            if (board.IsOut && board.Measures(channel)) return false;
        return true;
    }

    private sealed record Press(string Key, string Label, string Description, Func<bool> IsOn, Func<string> Do);

    /// <summary>Where the faults of the strip sit in a layout: in the launch at cells that stand out in no other way.</summary>
    private sealed record Places(int StuckCell, int LooseLink, int SwapA, int SwapB, int TapCell, int CorrodedCell)
    {
        public static Places In(PackLayout layout)
        {
            var isLarge = layout.TryFindModule(new ModuleId("B12"), out _);
            return isLarge
                ? new Places(
                    PetrelPack.Cell(layout, "B05.2"), Module("B10"), Module("B03"), Module("B05"), PetrelPack.Cell(layout, "B12.2"), PetrelPack.Cell(layout, "B08.2"))
                : new Places(1, 0, -1, -1, 3, 1);

            int Module(string id) => layout.TryFindModule(new ModuleId(id), out var module) ? module : 0;
        }
    }
}
