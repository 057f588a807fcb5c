namespace CellWatch.Core.Bench;

/// <summary>Which first charge.</summary>
public enum ChargeKind
{
    /// <summary>Slow, from the wall.</summary>
    Ac,

    /// <summary>From a station.</summary>
    Dc,
}

/// <summary>What is known when a charge is asked for.</summary>
/// <param name="Kind">Which.</param>
/// <param name="CellTypeChosen">A cell type with limits is chosen.</param>
/// <param name="AllProven">All channels are proven.</param>
/// <param name="ProofSentence">And if not, which are not.</param>
/// <param name="FrontEndsIsolated">Every front end states that it is isolated: true; one says no: false; one does not know: null.</param>
/// <param name="DataAgeS">Oldest electrical channel.</param>
/// <param name="HandCutOff">The hand cut-off in words; empty when not named.</param>
/// <param name="CutOffTriedHoursAgo">When it was tried with the current seen to fall to zero; null when not.</param>
/// <param name="IsolationPassed">Last isolation test.</param>
/// <param name="IsolationSentence">Its figure.</param>
/// <param name="ColdestDegC">Coldest cell.</param>
/// <param name="HottestDegC">Hottest cell.</param>
/// <param name="ChargePercent">Charge level now.</param>
/// <param name="PresenceMinutesAgo">Last "I am here"; null when never.</param>
/// <param name="People">People present.</param>
/// <param name="PrechargeGood">Last pre-charge.</param>
/// <param name="AcProven">The first AC charge is proven.</param>
/// <param name="MeasuredOnly">No channel is simulated or replayed.</param>
public sealed record ChargeFacts(
    ChargeKind Kind, bool CellTypeChosen, bool AllProven, string ProofSentence, bool? FrontEndsIsolated, double DataAgeS, string HandCutOff, double? CutOffTriedHoursAgo,
    bool IsolationPassed, string IsolationSentence, double ColdestDegC, double HottestDegC, double ChargePercent, double? PresenceMinutesAgo, int People,
    bool PrechargeGood, bool AcProven, bool MeasuredOnly);

/// <summary>One precondition.</summary>
public sealed record Precondition(string Name, bool Met, string Sentence);

/// <summary>One step of the ladder.</summary>
public sealed record LadderStep(string Do, double LargestA, string Until);

/// <summary>
/// First charges: preconditions computed, steps, stop rules. A person confirms presence every 30 minutes. The program supervises and advises;
/// hardware over-voltage protection must exist without it. Source: common practice, no source, except where a figure says more.
/// </summary>
public static class ChargeLadder
{
    /// <summary>A missed confirmation after this raises the alarm, min.</summary>
    public const double PresenceMinutes = 30;

    /// <summary>Data older than this are unsafe, s.</summary>
    public const double FreshS = 5;

    /// <summary>The hand cut-off counts as tried for this long, h (own rule: the same day).</summary>
    public const double CutOffTriedHours = 12;

    /// <summary>Rules that stop a charge.</summary>
    public static IReadOnlyList<string> StopRules { get; } =
    [
        T("a channel unproven"), T("a channel silent for 5 s"), T("a cell over its warning"), T("a temperature that the current does not explain"), T("isolation falls"), T("current does not fall while a cell is at its target for 10 s"),
        T("nobody confirmed presence for 30 min"),
    ];

    /// <summary>All preconditions with what is missing.</summary>
    public static IReadOnlyList<Precondition> Preconditions(ChargeFacts f, Pack.CellLimits limits)
    {
        var dc = f.Kind == ChargeKind.Dc;
        double coldest = dc ? 25 : 20, hottest = dc ? 30 : 25;
        var present = f.PresenceMinutesAgo is { } minutes && minutes <= PresenceMinutes;
        var list = new List<Precondition>
        {
            new(T("cell type"), f.CellTypeChosen, f.CellTypeChosen ? "chosen" : T("Choose the cell type first. Without it there are no limits to judge by.")),
            new(T("channels proven"), f.AllProven, f.ProofSentence),
            new(T("front ends isolated"), f.FrontEndsIsolated is true, f.FrontEndsIsolated switch { true => "yes", false => T("A front end is not isolated: not supervised. Do not touch the laptop or its leads."), _ => T("Not known for a front end: not supervised. Do not touch the laptop or its leads.") }),
            new(T("data fresh"), f.DataAgeS <= FreshS, $"{f.DataAgeS:0.0} s"),
            new(T("hand cut-off"), f.HandCutOff.Length > 0 && f.CutOffTriedHoursAgo is { } h && h <= CutOffTriedHours, CutOff(f)),
            new("isolation", f.IsolationPassed, f.IsolationSentence),
            new("pre-charge", f.PrechargeGood, f.PrechargeGood ? "good" : T("No good pre-charge on record.")),
            new("temperature", f.ColdestDegC >= Math.Max(limits.ChargeColdWarnDegC, coldest) && f.HottestDegC <= Math.Min(limits.ChargeHotWarnDegC, hottest + 5), T($"{(double.IsNaN(f.ColdestDegC) ? T("not known") : $"{f.ColdestDegC:0.0}-{f.HottestDegC:0.0} degC")}, {coldest:0}-{hottest:0} advised")),
            new(T("charge level"), f.ChargePercent is >= 25 and <= 45, T($"{(double.IsNaN(f.ChargePercent) ? T("not known") : $"{f.ChargePercent:0} %")}, 30-40 % advised for the first")),
            new(T("person present"), present, present ? T($"confirmed {f.PresenceMinutesAgo:0} min ago") : T("Press 'I am here'.")),
        };
        if (dc)
        {
            list.Add(new(T("second person"), f.People >= 2, f.People >= 2 ? T("two people") : T("Two people: one looks at nothing but the screen.")));
            list.Add(new(T("first AC charge"), f.AcProven, f.AcProven ? "proven" : T("Prove the first AC charge before.")));
        }

        return list;
    }

    /// <summary>The steps, for a capacity of the pack.</summary>
    public static IReadOnlyList<LadderStep> Steps(ChargeKind kind, double capacityAh) => kind == ChargeKind.Ac
        ?
        [
            new(T("Press the hand cut-off once and see the current fall to zero"), 0.1 * capacityAh, T("current 0 A")),
            new(T("Charge from 30-40 % to 60 %, attended"), 0.1 * capacityAh, "60 %"),
            new(T("Repeat to 80 %"), 0.1 * capacityAh, "80 %"),
            new(T("To the top"), 0.05 * capacityAh, T("highest cell at its target")),
        ]
        :
        [
            new(T("Press the hand cut-off once and see the current fall to zero"), 0.25 * capacityAh, T("current 0 A")),
            new(T("One minute"), 0.25 * capacityAh, "1 min"),
            new(T("Ten minutes, then stop and look at the joints with a thermal camera"), 0.3 * capacityAh, "10 min"),
            new(T("Step up"), 0.5 * capacityAh, T("first cell at its target, or as planned")),
        ];

    private static string CutOff(ChargeFacts f)
    {
        if (f.HandCutOff.Length == 0) return T("Name the hand cut-off in the site file, in the words on it.");
        return f.CutOffTriedHoursAgo is { } hours && hours <= CutOffTriedHours
            ? T($"{f.HandCutOff}: tried {hours:0.0} h ago, current fell to zero")
            : T($"{f.HandCutOff}: not tried today. Press it once under current and see the current fall to zero.");
    }
}

/// <summary>The course of a charge; arrays of one length.</summary>
/// <param name="TimeS">Seconds since it began.</param>
/// <param name="CurrentA">Current, positive charging.</param>
/// <param name="HighestV">Highest cell, V.</param>
/// <param name="LowestV">Lowest cell, V.</param>
/// <param name="LeastA">Where a point stands for a stretch: its least current, with the greatest in <paramref name="CurrentA"/>; null where a point is an instant.</param>
public sealed record ChargeCurve(double[] TimeS, double[] CurrentA, double[] HighestV, double[] LowestV, double[]? LeastA = null);

/// <summary>How a charge ended, as kept.</summary>
/// <param name="Id">Its name.</param>
/// <param name="Kind">AC or DC.</param>
/// <param name="StartedAt">Start.</param>
/// <param name="EndedAt">End.</param>
/// <param name="Preconditions">As they were when it started.</param>
/// <param name="CutOffTriedAt">When the hand cut-off was tried in it; null when not.</param>
/// <param name="LimitedBy">Cell that was first at its target; empty when none.</param>
/// <param name="LimitedAtV">Its voltage.</param>
/// <param name="LimitedAtA">Current then.</param>
/// <param name="LimitedAtDegC">Its module's temperature.</param>
/// <param name="CurrentObeyed">Whether the current fell when a cell was at its target.</param>
/// <param name="Stops">Stop rules that were met; empty for a good one.</param>
/// <param name="InAh">Charge put in.</param>
/// <param name="WallWh">Energy from the wall; NaN when not measured.</param>
/// <param name="PackWh">Energy into the pack.</param>
/// <param name="RawReference">Stretch of the log.</param>
/// <param name="Curve">Its course, thinned for a drawing; null where none is kept.</param>
/// <param name="Limits">The limits it was judged by; kept with it by the program.</param>
/// <param name="Details">What only a record made from the log holds; null for one entered by hand.</param>
public sealed record ChargeRecord(
    string Id, ChargeKind Kind, DateTimeOffset StartedAt, DateTimeOffset EndedAt, IReadOnlyList<Precondition> Preconditions, DateTimeOffset? CutOffTriedAt,
    string LimitedBy, double LimitedAtV, double LimitedAtA, double LimitedAtDegC, bool CurrentObeyed, IReadOnlyList<string> Stops, double InAh, double WallWh, double PackWh, string RawReference,
    ChargeCurve? Curve = null, Pack.CellLimits? Limits = null, ChargeDetails? Details = null)
{
    /// <summary>Supervised from start to end: every precondition met, cut-off tried in it, no stop.</summary>
    public bool Supervised => Preconditions.All(p => p.Met) && CutOffTriedAt >= StartedAt && Stops.Count == 0 && (Kind == ChargeKind.Ac || CurrentObeyed);
}
