using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Estimation;
using CellWatch.Core.Planning;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Host.Api;

/// <summary>Something entered at the bench. <paramref name="By"/> is the name the person types; every record carries it.</summary>
/// <param name="By">Who.</param>
/// <param name="Entry">What.</param>
/// <param name="BasedOn">The revision the person had in view, where a thing is revised.</param>
/// <param name="Simulated">True when a figure in it comes from a model.</param>
public sealed record BenchEntry<T>(string By, T Entry, int BasedOn = 0, bool Simulated = false);

/// <summary>Something kept, with its revision.</summary>
public sealed record BenchDocument<T>(T Value, int Revision, string By, DateTimeOffset At, bool Simulated);

/// <summary>What a judged entry came to, and where it is kept.</summary>
public sealed record JudgedDocument<T>(T Outcome, int Revision, string By, DateTimeOffset At, bool Simulated);

/// <summary>Begins the quarantine log.</summary>
public sealed record ArrivalBody(DateTimeOffset ArrivedAt, DateTimeOffset? ImpactAt);

/// <summary>Moves a module.</summary>
public sealed record MoveBody(int? Slot, string Box, string Reason);

/// <summary>Starts a run.</summary>
public sealed record RunBody(string Module, RunMethod Method, string Rig, bool Attended);

/// <summary>A reason.</summary>
public sealed record ReasonBody(string Reason);

/// <summary>The cut of a run was tried.</summary>
public sealed record CutBody(double CurrentBeforeA, double CurrentAfterA, double ZeroA);

/// <summary>Someone stays, or leaves.</summary>
public sealed record AttendedBody(bool Attended);

/// <summary>A recording as the text of a CSV file.</summary>
public sealed record CsvBody(string Csv, CapacitySettings? Settings);

/// <summary>A rest recording.</summary>
public sealed record RestBody(RestRecording Recording, RestTestSettings? Settings);

/// <summary>Rigs and hours for the queue.</summary>
public sealed record QueueBody(IReadOnlyList<Rig> Rigs, StepHours Hours);

/// <summary>A manual plan, slot after slot; null for the suggested one.</summary>
public sealed record PlanBody(IReadOnlyList<string>? ModuleOfSlot);

/// <summary>Levels and supplies for the pre-balance.</summary>
public sealed record PreBalanceBody(IReadOnlyList<CellLevel> Cells, double? TargetPercent, double SupplyA, double DrainA, int Supplies);

/// <summary>Readings of a connector, lead 0 first.</summary>
public sealed record StackBody(string Module, IReadOnlyList<double> ReadingsV);

/// <summary>Cells and terminals of a module.</summary>
public sealed record SumBody(string Module, IReadOnlyList<double> CellV, double TerminalV);

/// <summary>A rhythm on a module or a cell.</summary>
public sealed record RhythmBody(string Subject, RhythmSamples Samples);

/// <summary>The rhythm on live data.</summary>
public sealed record RhythmDocument(RhythmView? Playing, RhythmResult? Last, bool CanSimulateLoad);

/// <summary>A warm hand on a sensor.</summary>
public sealed record HandBody(string Sensor, IReadOnlyDictionary<string, double> BeforeDegC, IReadOnlyDictionary<string, double> AfterDegC);

/// <summary>Readings of the current sensor.</summary>
public sealed record CurrentBody(double ZeroA, double LoadedA, double ExpectedLoadA, double? ChargingA);

/// <summary>Voltages of the string.</summary>
public sealed record StringVoltageBody(double SumV, double ChannelV, double MeterV);

/// <summary>A connector was opened.</summary>
public sealed record DisconnectedBody(string Module, string Reason);

/// <summary>Readings of an isolation test.</summary>
public sealed record IsolationBody(IsolationReadings Readings, double MeterOhm, double? HumidityPercent, string Connected);

/// <summary>A pre-charge curve; R and C of the bus until a good curve is the reference.</summary>
public sealed record PrechargeBody(PrechargeCurve Curve, double? ResistorOhm, double? CapacitanceF);

/// <summary>What is live when a charge is asked for.</summary>
public sealed record PreconditionsBody(
    ChargeKind Kind, bool? FrontEndsIsolated, double DataAgeS, double? CutOffTriedHoursAgo, double ColdestDegC, double HottestDegC, double ChargePercent,
    double? PresenceMinutesAgo, int People, bool MeasuredOnly);

/// <summary>A night.</summary>
public sealed record NightBody(string Id, NightRecord Night, NightRules? Rules);

/// <summary>Cells put into storage.</summary>
public sealed record StorageBody(IReadOnlyList<StoredCell> Cells, double ElectronicsMilliampere);

/// <summary>Evidence of a gate by name.</summary>
public sealed record EvidenceBody(IReadOnlyDictionary<string, string> Evidence);

/// <summary>Something that takes the ground from under gates.</summary>
public sealed record EventBody(GateEvent What, string Reason);

/// <summary>Where the whole project stands.</summary>
public sealed record BenchSummary(int Modules, int GatesProven, int? NextGate, string NextTitle, bool Supervised, string Supervision, bool Simulated, IReadOnlyList<string> Reopened);

/// <summary>Grades as kept, with what changed since the last.</summary>
public sealed record GradedDocument(BenchDocument<GradeSheet> Sheet, GradeDifference? Difference);

/// <summary>Limits as kept, with the gates they re-opened.</summary>
public sealed record LimitsDocument(GradeLimits Limits, string Fingerprint, IReadOnlyList<LimitSetting> Listed, IReadOnlyList<int> ReopenedGates);

/// <summary>The joint sheet.</summary>
public sealed record JointsDocument(IReadOnlyList<Joint> Joints, IReadOnlyList<JointState> States);

/// <summary>A module with what its label says.</summary>
public sealed record ModuleBenchDocument(ModuleRecord Module, string Label, int Revision, string By, DateTimeOffset At, bool Simulated);

/// <summary>A warm hand, read from the last seconds of live data.</summary>
public sealed record LiveHandBody(string Sensor, double Seconds = 90);

/// <summary>The current sensor, read from live data.</summary>
public sealed record LiveCurrentBody(CurrentStep Step, double? MeterA);

/// <summary>The string's voltage, read from live data.</summary>
public sealed record LiveStringBody(double MeterV);
