using System.Collections.Immutable;
using CellWatch.Core.Charging;
using CellWatch.Core.Checks;
using CellWatch.Core.Commands;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>
/// The pack's own task calls this: checks lower qualities, then the figures, the charge and the rules are worked out.
/// <code>
/// snapshot ─▶ checks ─▶ figures ─▶ estimators ─▶ charge ─▶ rules ─▶ (publish) summary, verdict, states, alarms, advice
/// </code>
/// A pure function of the snapshots and commands it was given: the same ones again give the same transitions, bit for bit. It knows no
/// clock; times come from the snapshots. One thread at a time. <see cref="Step"/> allocates nothing while no alarm changes.
/// </summary>
public sealed class PackEngine
{
    /// <summary>Rest before a night of bleeding is planned, s (own rule; the reading of a night waits as long).</summary>
    private const double RestBeforePlanS = 1800;

    private readonly Facts _facts;
    private readonly Measures _measures;
    private readonly Places _places;
    private readonly AlarmBook _alarms;
    private readonly ChannelChecks _checks;
    private readonly Summariser _summariser;
    private readonly ModeDetector _mode;
    private readonly CellEstimates _estimates;
    private readonly HeatBalance _heat;
    private readonly ChargeSupervisor _charge;
    private readonly ChargeViewMaker _chargeView;
    private readonly CauseFinder _causes;
    private readonly LinkLedger _links;
    private readonly Permit _permit;
    private readonly VerdictLine _verdict;
    private readonly StandingOut _standingOut;

    /// <param name="map">The pack's channels.</param>
    /// <param name="cellType">What its cells are; null while nobody has chosen: then there are no limits and no charge is supervised.</param>
    /// <param name="options">Settings; checked here.</param>
    /// <param name="rules">The rules; null for the standard ones of the cell type.</param>
    /// <exception cref="ArgumentException">A setting or a rule is out of range; the message names it.</exception>
    public PackEngine(ChannelMap map, CellType? cellType, EngineOptions options, RuleTable? rules = null)
    {
        options.Validate();
        Rules = rules ?? StandardRules.For(cellType?.Limits);
        _facts = new Facts(map, cellType, options);
        _places = new Places(map, _facts.Instruments);
        _measures = new Measures(map.Layout, _facts.Instruments.Count, _places.SmokeInputs.Length);
        _alarms = new AlarmBook(Rules, _facts, _measures, _places);
        _checks = new ChannelChecks(_facts);
        _summariser = new Summariser(map);
        _mode = new ModeDetector(options.EffectiveRestCurrentA);
        _estimates = new CellEstimates(_facts);
        _heat = new HeatBalance(_facts, _estimates);
        _charge = new ChargeSupervisor(_facts, _estimates, _checks.Noise);
        _permit = new Permit(_facts, _alarms.Roll);
        _chargeView = new ChargeViewMaker(_facts, _charge, _heat, _permit, _alarms.Roll);
        _verdict = new VerdictLine(_facts);
        _causes = new CauseFinder(_facts, _estimates);
        _links = new LinkLedger(_facts);
        _standingOut = new StandingOut(_facts, _causes);
    }

    /// <summary>The rules in force.</summary>
    public RuleTable Rules { get; }

    /// <summary>Takes one scan. Lowers qualities in the buffer, never raises one.</summary>
    /// <param name="snapshot">The scan; its time must not go back.</param>
    public void Step(SnapshotBuffer snapshot)
    {
        var view = snapshot.View;
        _facts.Begin(view);
        _checks.Step(snapshot, _facts);
        _mode.Step(_facts);
        _summariser.Step(view, _facts, _measures);
        _measures.Set(Quantity.CurrentUnknown, 0, _facts.CurrentUnknownS);
        _checks.Measure(view, _facts, _measures);
        Smoke(view);
        _estimates.Step(view, _facts, _measures);
        _heat.Step(view, _measures);
        _links.Step(_measures);
        _causes.Step(view);
        _charge.Step(view, _measures);
        _alarms.Step();
        _permit.Step(view);
    }

    /// <summary>Makes the immutable state of the last step, to be shared by all sinks.</summary>
    /// <param name="snapshot">The scan last stepped on.</param>
    /// <param name="frontEnds">How the front ends are.</param>
    /// <param name="recording">Whether it is being recorded.</param>
    /// <param name="sending">Whether messages reach the broker.</param>
    public PackState Publish(SnapshotBuffer snapshot, ImmutableArray<FrontEndHealth> frontEnds, RecordingView recording, SendingView sending)
    {
        var frozen = snapshot.Freeze();
        var alarms = _alarms.Views();
        var states = CellStates.Of(frozen, alarms);
        return new PackState
        {
            Snapshot = frozen,
            Summary = Summary(),
            Verdict = _verdict.Of(frozen, alarms, states),
            CellStates = states,
            Alarms = alarms,
            Transitions = _alarms.TakeTransitions(),
            Noise = [.. Enumerable.Range(0, _facts.Instruments.Count).Select(NoiseOf)],
            AlarmFigures = _alarms.Figures(),
            StandsOut = _standingOut.Of(frozen, states),
            ChargeDifferenceAh = _estimates.Bank is null ? [] : [.. _facts.ChargeDifference],
            ResistanceMilliohm = _estimates.Bank is null ? [] : [.. Enumerable.Range(0, frozen.Map.CellCount).Select(c => 1000 * _estimates.Bank.Resistance10sOhm[c])],
            Links = _links.View,
            Charge = _facts.Limits is null ? null : _chargeView.Make(frozen),
            FrontEnds = frontEnds,
            Recording = recording,
            Sending = sending,
            Limits = _facts.Limits,
        };
    }

    /// <summary>The steps in alarms' lives since the last call, for a replay that publishes nothing.</summary>
    public ImmutableArray<AlarmTransition> TakeTransitions() => _alarms.TakeTransitions();

    /// <summary>Applies what a person asked for, between two snapshots.</summary>
    /// <param name="command">The command; who asks is in it.</param>
    /// <param name="now">The instant, on the same clocks as the snapshots.</param>
    public CommandAnswer Apply(PackCommand command, SnapshotTime now)
    {
        if (string.IsNullOrWhiteSpace(command.By)) return new CommandAnswer(false, T("Say who you are first."));
        _facts.Time = now;
        return command switch
        {
            AcknowledgeAlarm c => _alarms.Apply(c.AlarmId, d => d.Acknowledge(c.By)),
            ShelveAlarm c => _alarms.Apply(c.AlarmId, d => d.Shelve(c.Minutes, c.Reason, c.By)),
            UnshelveAlarm c => _alarms.Apply(c.AlarmId, d => d.Unshelve(c.By)),
            ResetAlarm c => Reset(c),
            SetOutOfService c => _alarms.Apply(c.AlarmId, d => d.SetOutOfService(c.OutOfService, c.Reason, c.By)),
            ConfirmPresence => Present(),
            HandCutOffTried => _permit.CutOffTried(),
            ArmPermit c => _permit.Arm(c.Armed),
            MarkEvent => new CommandAnswer(true, T("Marked.")),
            ChangeSettings => new CommandAnswer(true, T("Written into the site file; it holds from the next start of the program.")),
            _ => new CommandAnswer(false, T($"The engine does not know '{command.GetType().Name}'.")),
        };
    }

    private CommandAnswer Reset(ResetAlarm command)
    {
        var answer = _alarms.Apply(command.AlarmId, d => d.Reset(command.By));
        const string Exchanged = "harness-exchanged.";
        if (answer.Accepted && command.AlarmId.StartsWith(Exchanged, StringComparison.Ordinal)
            && _facts.Layout.TryFindModule(new ModuleId(command.AlarmId[Exchanged.Length..]), out var module)) _checks.Exchange.Forget(module);
        return answer;
    }

    private CommandAnswer Present()
    {
        _charge.ConfirmPresence();
        return new CommandAnswer(true, T($"Noted. Next at the latest in {Say.With(_facts.Options.PresenceMinutes, "0", "min")}."));
    }

    /// <summary>What the evidence on record says about one cell, in figures; asked for by the module sheet, not worked out every scan.</summary>
    /// <param name="snapshot">A published scan.</param>
    /// <param name="cell">Cell index.</param>
    public CellFinding FindingOf(Snapshot snapshot, int cell) => _causes.Find(snapshot, cell);

    /// <summary>
    /// Plans a night of bleeding from what is known now: asked for by a person, not worked out every scan. Empty, with the reason, unless the pack has rested
    /// for half an hour: under current and soon after, the cells' own voltages are not yet there.
    /// </summary>
    /// <param name="snapshot">The last published scan.</param>
    /// <param name="timesOutByItself">By cell: whether its front end opens its switches by itself when it hears nothing.</param>
    /// <param name="schedule">When cells may bleed; sets the share of the time a switch is on.</param>
    /// <param name="referencePercent">Level at which the cells are to be in line, %; null for the one this pack is kept at.</param>
    /// <param name="longestH">Longest night, h.</param>
    public BalancePlan PlanBalance(Snapshot snapshot, ImmutableArray<bool> timesOutByItself, BleedSchedule schedule, double? referencePercent = null, double longestH = 10)
    {
        if (_facts.Mode != PackMode.Rest || _facts.ModeForS < RestBeforePlanS)
        {
            var now = _facts.Mode == PackMode.Rest ? T($"The pack has rested for {Say.Span(_facts.ModeForS)}.") : T("The pack is not at rest.");
            return BalancePlanner.Nothing(T($"{now} A night is planned after {Say.Span(RestBeforePlanS)} of rest: until then the cells' voltages still move."));
        }

        var cells = Enumerable.Range(0, snapshot.Map.CellCount).ToList();
        return BalancePlanner.Plan(new BalanceRequest
        {
            Layout = _facts.Layout,
            DifferenceAh = [.. _facts.ChargeDifference],
            SigmaAh = _estimates.Bank is { } bank ? Math.Max(0.05, cells.Select(c => bank.DeltaSigmaAh[c]).Where(double.IsFinite).DefaultIfEmpty(0.05).Max()) : 0.05,
            CellVoltageV = [.. cells.Select(c => snapshot.CellQuality[c] == Quality.Good ? snapshot.RawCellVoltageV[c] : double.NaN)],
            LevelPercent = _facts.SocPercent,
            ReferencePercent = referencePercent ?? _facts.Options.BalanceAtPercent,
            KeptPercent = _facts.Options.BalanceAtPercent,
            LeftAlone = cells.Select(c => (Cell: c, Why: NotCuredByBleeding(_causes.Find(snapshot, c).Cause))).Where(c => c.Why.Length > 0).ToImmutableDictionary(c => c.Cell, c => c.Why),
            BleedOhm = _facts.Options.BleedOhm,
            Duty = schedule.Duty,
            LongestH = longestH,
            FloorV = schedule.FloorV,
            TimesOutByItself = timesOutByItself,
        });
    }

    /// <summary>Why a cell with this cause is neither bled nor waited for; empty where bleeding helps.</summary>
    private static string NotCuredByBleeding(SuspectedCause cause) => cause switch
    {
        SuspectedCause.LowCapacity => T("less capacity, so level at one charge only; bleeding does not help"),
        SuspectedCause.LostParallelCell => T("a parallel cell is lost; bleeding does not help"),
        SuspectedCause.SelfDischarge => T("leaks, and would be lower again after every night"),
        SuspectedCause.StuckBleed => T("seems to bleed all the time; settle that first"),
        SuspectedCause.BadLead => T("not believed; its lead comes first"),
        _ => "",
    };

    private NoiseView NoiseOf(int instrument)
    {
        static double? Millivolts(double v) => double.IsFinite(v) ? 1000 * v : null;
        return new NoiseView(_facts.Instruments.WordsOf(instrument), Millivolts(_checks.Noise.NowV(instrument)), Millivolts(_checks.Noise.ReferenceV(instrument)));
    }

    private void Smoke(Snapshot view)
    {
        for (var i = 0; i < _places.SmokeInputs.Length; i++)
        {
            if (view.TryGet(_places.SmokeInputs[i], out var on)) _measures.Set(Quantity.Smoke, i, on);
            else _measures.SetNone(Quantity.Smoke, i, Availability.Stale);
        }
    }

    private PackSummary Summary()
    {
        static double? Known(double v) => double.IsFinite(v) ? v : null;
        static int? Index(int i) => i < 0 ? null : i;
        var f = _facts;
        var (deviationWarnV, because) = DeviationWarn();
        var difference = f.HighestCell < 0 ? double.NaN : f.ChargeDifferenceAh(f.HighestCell) - f.ChargeDifferenceAh(f.LowestCell);
        return new PackSummary
        {
            Mode = f.Mode,
            ModeForS = f.ModeForS,
            MedianV = Known(f.MedianV),
            HighestCell = Index(f.HighestCell),
            HighestV = Known(f.HighestV),
            LowestCell = Index(f.LowestCell),
            LowestV = Known(f.LowestV),
            SpreadV = Known(f.SpreadV),
            // Under current a cell can lie lowest in voltage and not in charge: then the spread in volts is no spread in charge.
            SpreadAh = difference >= 0 ? difference : null,
            SumV = Known(f.SumV),
            StringVoltageV = f.StringKnown ? f.StringV : null,
            PackCurrentA = f.CurrentKnown ? f.CurrentA : null,
            HottestDegC = Known(f.HottestDegC),
            HottestSensor = Index(f.HottestSensor),
            ColdestDegC = Known(f.ColdestDegC),
            ColdestSensor = Index(f.ColdestSensor),
            KnownCells = f.KnownCells,
            BleedingCells = f.BleedingCells,
            KnownTemperatures = f.KnownTemperatures,
            ProvenCells = f.ProvenCells,
            OldestS = f.OldestS,
            Soc = Known(f.SocPercent / 100),
            DeviationWarnV = deviationWarnV,
            DeviationWarnBecause = because,
        };
    }

    /// <summary>At rest the stricter of the limit in millivolts and the limit in charge; under current none applies.</summary>
    private (double? V, string Because) DeviationWarn()
    {
        if (_facts.Limits is not { } limits || _facts.Mode != PackMode.Rest || _facts.HighestCell < 0) return (null, "");
        var byChargeV = _estimates.Bank is { } bank && !bank.CannotTellHere[_facts.HighestCell]
            ? 100 * limits.SpreadWarnCharge * bank.SlopeMvPerPercent(_facts.HighestCell) / 1000
            : double.NaN;
        return byChargeV < limits.SpreadWarnV
            ? (byChargeV, T($"{Say.Percent(limits.SpreadWarnCharge)} of charge"))
            : (limits.SpreadWarnV, T($"{Say.Millivolts(limits.SpreadWarnV)} at rest"));
    }
}
