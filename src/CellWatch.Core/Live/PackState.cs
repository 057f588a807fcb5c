using System.Collections.Immutable;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Live;

/// <summary>What the string's current says the pack is doing.</summary>
public enum PackMode : byte
{
    /// <summary>The current is not known.</summary>
    Unknown,

    /// <summary>No current worth naming.</summary>
    Rest,

    /// <summary>Charging.</summary>
    Charging,

    /// <summary>Discharging.</summary>
    Discharging,
}

/// <summary>State of a cell, module or pack as a page shows it, the most pressing last.</summary>
public enum StateWord : byte
{
    /// <summary>Proven, fresh, inside limits.</summary>
    Normal,

    /// <summary>Its bleed switch is on: shown, but kept out of the spread.</summary>
    Bleeding,

    /// <summary>No valid proof that this channel is this cell.</summary>
    NotProven,

    /// <summary>Outside a warning.</summary>
    Caution,

    /// <summary>Stuck, impossible step, mirrored by a neighbour, out of band.</summary>
    Doubtful,

    /// <summary>Older than its limit, or its port is gone.</summary>
    NoData,

    /// <summary>Over a limit, or a stop rule.</summary>
    ActNow,
}

/// <summary>The page's first line: one word and one sentence.</summary>
/// <param name="State">The word.</param>
/// <param name="Sentence">The sentence, with figures.</param>
public sealed record Verdict(StateWord State, string Sentence);

/// <summary>Figures over the whole pack, from channels of good quality that are not bleeding; null where they cannot be known.</summary>
public sealed record PackSummary
{
    /// <summary>What the pack is doing.</summary>
    public PackMode Mode { get; init; }

    /// <summary>How long it has been doing that, s.</summary>
    public double ModeForS { get; init; }

    /// <summary>Median of the known cells, V.</summary>
    public double? MedianV { get; init; }

    /// <summary>Cell index of the highest known cell.</summary>
    public int? HighestCell { get; init; }

    /// <summary>Its voltage, V.</summary>
    public double? HighestV { get; init; }

    /// <summary>Cell index of the lowest known cell.</summary>
    public int? LowestCell { get; init; }

    /// <summary>Its voltage, V.</summary>
    public double? LowestV { get; init; }

    /// <summary>Highest minus lowest, V.</summary>
    public double? SpreadV { get; init; }

    /// <summary>Charge of the highest above the lowest, Ah; null where the curve cannot tell, and where the lowest in voltage holds more charge.</summary>
    public double? SpreadAh { get; init; }

    /// <summary>Sum of all cells, V; null unless every cell is known.</summary>
    public double? SumV { get; init; }

    /// <summary>String terminal voltage, V.</summary>
    public double? StringVoltageV { get; init; }

    /// <summary>Current, A, positive charging.</summary>
    public double? PackCurrentA { get; init; }

    /// <summary>Warmest known sensor, degC.</summary>
    public double? HottestDegC { get; init; }

    /// <summary>Temperature index of it.</summary>
    public int? HottestSensor { get; init; }

    /// <summary>Coldest known sensor, degC.</summary>
    public double? ColdestDegC { get; init; }

    /// <summary>Temperature index of it.</summary>
    public int? ColdestSensor { get; init; }

    /// <summary>Cells whose value is good.</summary>
    public int KnownCells { get; init; }

    /// <summary>Known cells that bleed: seen, and left out of median, highest, lowest and spread.</summary>
    public int BleedingCells { get; init; }

    /// <summary>Temperature sensors whose value is good.</summary>
    public int KnownTemperatures { get; init; }

    /// <summary>Cells with a valid proof.</summary>
    public int ProvenCells { get; init; }

    /// <summary>Mean state of charge of the known cells, 0 to 1; null where it cannot be told.</summary>
    public double? Soc { get; init; }

    /// <summary>Oldest of the known cells, s.</summary>
    public double OldestS { get; init; }

    /// <summary>Distance from the median at which a cell is a caution now, V; null where none applies (under current).</summary>
    public double? DeviationWarnV { get; init; }

    /// <summary>What that follows from, for the words set into the hatch: <c>1 % of charge</c>.</summary>
    public string DeviationWarnBecause { get; init; } = "";
}

/// <summary>One row of "stands out": a cell or module a person should look at, and what would decide why.</summary>
/// <param name="State">Its state.</param>
/// <param name="Place">The place: <c>B07.3</c>.</param>
/// <param name="Where">Slot in words.</param>
/// <param name="Figure">The figure: <c>−18 mV, 2.3 Ah</c>.</param>
/// <param name="Finding">What is suspected.</param>
/// <param name="Decides">What would decide it, or what to do.</param>
/// <param name="Cell">Cell index; null for a module or a front end.</param>
/// <param name="Module">Module index; null for a front end.</param>
public sealed record StandOut(StateWord State, string Place, string Where, string Figure, string Finding, string Decides, int? Cell, int? Module);

/// <summary>One cell of "who limits next".</summary>
/// <param name="Cell">Cell index.</param>
/// <param name="VoltageV">Now, V.</param>
/// <param name="RiseMvPerMin">Present rise, mV/min.</param>
/// <param name="ToTargetS">Time to the charge target, s; null when it is not foreseen.</param>
/// <param name="ToTargetLowS">Earliest by the stated band.</param>
/// <param name="ToTargetHighS">Latest by the stated band.</param>
/// <param name="AtFirstArrivalV">Where it is expected when the first cell arrives, V.</param>
public sealed record Limiter(int Cell, double VoltageV, double RiseMvPerMin, double? ToTargetS, double? ToTargetLowS, double? ToTargetHighS, double? AtFirstArrivalV);

/// <summary>Phase of a charge, from data.</summary>
public enum ChargePhase : byte
{
    /// <summary>No charge current.</summary>
    NotCharging,

    /// <summary>Current steady, voltage rising.</summary>
    ConstantCurrent,

    /// <summary>The highest cell is at its target and the current falls.</summary>
    Taper,

    /// <summary>The highest cell is at its target and the current does not fall.</summary>
    TaperMissing,

    /// <summary>Ended at or below the termination current.</summary>
    Ended,

    /// <summary>Ended above the termination current.</summary>
    Interrupted,
}

/// <summary>One line of the list of stop rules.</summary>
/// <param name="Text">In words: <c>108 channels proven, data fresh</c>.</param>
/// <param name="Holds">True: in order; false: broken; null: not yet due or not known.</param>
public sealed record StopRule(string Text, bool? Holds);

/// <summary>Supervision of the present or last charge.</summary>
public sealed record ChargeView
{
    /// <summary>Phase.</summary>
    public ChargePhase Phase { get; init; }

    /// <summary>Charge target for the highest cell, V.</summary>
    public double TargetV { get; init; }

    /// <summary>Distance of the highest known cell to the target, V; negative when over it.</summary>
    public double? HeadroomV { get; init; }

    /// <summary>The cell <see cref="HeadroomV"/> belongs to: the highest of all that are seen, the bleeding ones among them.</summary>
    public int? HeadroomCell { get; init; }

    /// <summary>Time to the target of the cell that gets there first, s.</summary>
    public double? HeadroomS { get; init; }

    /// <summary>Cells that will limit, first first; up to twelve.</summary>
    public ImmutableArray<Limiter> NextToLimit { get; init; } = [];

    /// <summary>Current at which no cell passes the target, A; null when not known.</summary>
    public double? AllowedA { get; init; }

    /// <summary>What the allowed current follows from.</summary>
    public string AllowedBecause { get; init; } = "";

    /// <summary>Voltage a charger that listens could be asked for, V; null with no permit.</summary>
    public double? RequestV { get; init; }

    /// <summary>Current a charger that listens could be asked for, A; 0 with no permit.</summary>
    public double RequestA { get; init; }

    /// <summary>Whether the charge permit is given: all clear, fresh and armed by a person.</summary>
    public bool Permit { get; init; }

    /// <summary>Why there is no permit.</summary>
    public string PermitReason { get; init; } = "";

    /// <summary>Whether this charge may be called supervised.</summary>
    public bool Supervised { get; init; }

    /// <summary>Why it may not.</summary>
    public string NotSupervisedBecause { get; init; } = "";

    /// <summary>Charge began, ms since 1970.</summary>
    public long? BeganUnixMs { get; init; }

    /// <summary>Charge was over, ms since 1970; null while it runs and before the first.</summary>
    public long? EndedUnixMs { get; init; }

    /// <summary>Target first reached, ms since 1970.</summary>
    public long? TargetReachedUnixMs { get; init; }

    /// <summary>The cell that reached it.</summary>
    public int? TargetReachedCell { get; init; }

    /// <summary>Charge current before the taper, A.</summary>
    public double? PlateauA { get; init; }

    /// <summary>Fitted time constant of the taper, s.</summary>
    public double? TaperTimeConstantS { get; init; }

    /// <summary>Whether the time constant is fitted to this charge; else it is what earlier tapers lead to expect.</summary>
    public bool TaperIsFitted { get; init; }

    /// <summary>Termination current, A.</summary>
    public double TerminationA { get; init; }

    /// <summary>Predicted end, ms since 1970.</summary>
    public long? EndUnixMs { get; init; }

    /// <summary>Earliest end by the stated band.</summary>
    public long? EndEarliestUnixMs { get; init; }

    /// <summary>Latest end by the stated band.</summary>
    public long? EndLatestUnixMs { get; init; }

    /// <summary>Charge counted since the beginning, Ah.</summary>
    public double ChargedAh { get; init; }

    /// <summary>Warmest module and what the current explains: sentence parts for the page.</summary>
    public HeatView? Heat { get; init; }

    /// <summary>The stop rules in words.</summary>
    public ImmutableArray<StopRule> StopRules { get; init; } = [];

    /// <summary>Seconds left before a person must confirm presence; null when none is asked.</summary>
    public double? PresenceLeftS { get; init; }

    /// <summary>The hand cut-off by its name in the site file.</summary>
    public string HandCutOff { get; init; } = "";

    /// <summary>One instruction, as advice.</summary>
    public string Advice { get; init; } = "";
}

/// <summary>Heat of the module that rises fastest against what its current explains.</summary>
/// <param name="Module">Module index.</param>
/// <param name="TemperatureDegC">Its warmest sensor, degC.</param>
/// <param name="RiseKPerMin">Measured rise, K/min.</param>
/// <param name="ExplainedKPerMin">Upper bound that the current explains, K/min.</param>
/// <param name="Next">The next warmest modules with their temperature, for the page.</param>
public sealed record HeatView(int Module, double TemperatureDegC, double RiseKPerMin, double ExplainedKPerMin, ImmutableArray<(int Module, double TemperatureDegC)> Next);

/// <summary>Noise of one instrument's cells.</summary>
/// <param name="Instrument">Its name.</param>
/// <param name="NowMv">Now, mV rms; null while not known.</param>
/// <param name="AtRestMv">At the last rest, mV rms; null while there was none.</param>
public sealed record NoiseView(string Instrument, double? NowMv, double? AtRestMv);

/// <summary>Whether what is measured is being kept.</summary>
/// <param name="IsRecording">Whether snapshots reach the file.</param>
/// <param name="Sentence"><c>recording</c>, or what is wrong in words.</param>
/// <param name="SinceUnixMs">Since when it is not recording.</param>
/// <param name="DaysLeft">Forecast of space, days; null when not known.</param>
public sealed record RecordingView(bool IsRecording, string Sentence, long? SinceUnixMs, double? DaysLeft);

/// <summary>Whether messages reach the broker.</summary>
/// <param name="IsSending">Whether the broker takes them.</param>
/// <param name="Sentence">In words.</param>
public sealed record SendingView(bool IsSending, string Sentence);

/// <summary>The snapshot plus everything worked out from it; immutable once published and shared by all sinks.</summary>
public sealed record PackState
{
    /// <summary>The scan.</summary>
    public required Snapshot Snapshot { get; init; }

    /// <summary>Figures over the whole pack.</summary>
    public required PackSummary Summary { get; init; }

    /// <summary>The first line of a page.</summary>
    public required Verdict Verdict { get; init; }

    /// <summary>State of every cell, by cell index.</summary>
    public required ImmutableArray<StateWord> CellStates { get; init; }

    /// <summary>Alarms that are not normal, the most urgent first.</summary>
    public ImmutableArray<AlarmView> Alarms { get; init; } = [];

    /// <summary>Steps in alarms' lives since the last published state.</summary>
    public ImmutableArray<AlarmTransition> Transitions { get; init; } = [];

    /// <summary>How the alarms themselves are doing: rates, flood, chatter.</summary>
    public AlarmFigures AlarmFigures { get; init; } = new();

    /// <summary>The link ledger; null before its first entry.</summary>
    public LinkView? Links { get; init; }

    /// <summary>Noise by instrument.</summary>
    public ImmutableArray<NoiseView> Noise { get; init; } = [];

    /// <summary>What a person should look at.</summary>
    public ImmutableArray<StandOut> StandsOut { get; init; } = [];

    /// <summary>Supervision of the charge; null where no cell type is chosen.</summary>
    public ChargeView? Charge { get; init; }

    /// <summary>Difference of each cell's charge from the median cell, Ah, by cell index; NaN where it cannot be told; empty before it is known.</summary>
    public ImmutableArray<double> ChargeDifferenceAh { get; init; } = [];

    /// <summary>Resistance of each cell, mOhm, by cell index; NaN where not known; empty before it is known.</summary>
    public ImmutableArray<double> ResistanceMilliohm { get; init; } = [];

    /// <summary>All front ends.</summary>
    public ImmutableArray<FrontEndHealth> FrontEnds { get; init; } = [];

    /// <summary>Recording.</summary>
    public RecordingView Recording { get; init; } = new(false, T("not recording"), null, null);

    /// <summary>Sending.</summary>
    public SendingView Sending { get; init; } = new(false, T("not sending"));

    /// <summary>The limits judged by; null where no cell type is chosen.</summary>
    public CellLimits? Limits { get; init; }

    /// <summary>The pack.</summary>
    public PackLayout Layout => Snapshot.Map.Layout;

    /// <summary>Whether any value comes from a model.</summary>
    public bool Simulated => Snapshot.AnySimulated || FrontEnds.Any(f => f.Simulated);
}
