namespace CellWatch.Core.Bench;

/// <summary>Where a figure comes from: the record and its date, frozen with the grade.</summary>
/// <param name="Reference">Kind, key and revision of the record, for example <c>run B07-capacity-1 rev 3</c>.</param>
/// <param name="At">When it was measured.</param>
public sealed record EvidenceLink(string Reference, DateTimeOffset At);

/// <summary>The incoming inspection of a module.</summary>
public sealed record InspectionEvidence(Verdict Verdict, string Words, EvidenceLink Link);

/// <summary>The rest test of a module: its worst group.</summary>
public sealed record RestEvidence(int WorstCell, double LeakMilliampere, double HalfWidthMilliampere, double SmallestFoundMilliampere, bool Steepens, bool Undecided, EvidenceLink Link);

/// <summary>The capacity test: every group, negative end first.</summary>
public sealed record CapacityEvidence(IReadOnlyList<Uncertain> GroupAh, double TemperatureDegC, bool IsFit, EvidenceLink Link);

/// <summary>The pulse test: every group's 10 s and ohmic resistance, negative end first.</summary>
public sealed record ResistanceEvidence(IReadOnlyList<double> TenSecondMilliohm, IReadOnlyList<double> OhmicMilliohm, double TemperatureDegC, double ChargePercent, EvidenceLink Link);

/// <summary>Isolation of the module, terminal to case.</summary>
public sealed record IsolationEvidence(double Megohm, EvidenceLink Link);

/// <summary>All that is known of a module when it is graded. Null means not tested, and that is never taken for good.</summary>
/// <param name="Identity">The module.</param>
/// <param name="OriginGap">What is not known of its course, in words; empty when all is.</param>
/// <param name="Inspection">Inspection.</param>
/// <param name="Rest">Rest test.</param>
/// <param name="Capacity">Capacity test.</param>
/// <param name="Resistance">Pulse test.</param>
/// <param name="Isolation">Isolation.</param>
public sealed record ModuleEvidence(
    string Identity, string OriginGap, InspectionEvidence? Inspection, RestEvidence? Rest, CapacityEvidence? Capacity, ResistanceEvidence? Resistance, IsolationEvidence? Isolation);
