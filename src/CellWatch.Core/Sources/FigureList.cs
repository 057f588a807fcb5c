using System.Collections.Immutable;

namespace CellWatch.Core.Sources;

/// <summary>A figure a page shows: what it is, when it is not known, and the methods behind it.</summary>
/// <param name="Id">Stable name for links: <c>headroom</c>.</param>
/// <param name="Page">The page it belongs to, as in its address.</param>
/// <param name="Name">As the page heads it.</param>
/// <param name="Says">What it is and how it is worked out.</param>
/// <param name="NotKnown">When it is not known, and what makes it known; empty where it always is.</param>
/// <param name="Methods">Names in <see cref="SourceList"/>; empty for what is measured or typed as it stands.</param>
public sealed record FigureNote(string Id, string Page, string Name, string Says, string NotKnown, ImmutableArray<string> Methods)
{
    /// <summary>The methods with their sources.</summary>
    public IEnumerable<SourceNote> Sources => Methods.Select(m => SourceList.All.First(s => s.Name == m));
}

/// <summary>
/// Every figure of the pages. The help page is made of it and of <see cref="SourceList"/>, so that page and <c>sources</c> name the same methods.
/// </summary>
public static partial class FigureList
{
    /// <summary>All, by page in the order of the rail.</summary>
    public static IReadOnlyList<FigureNote> All { get; } = [.. Pack, .. Module, .. Charging, .. Bench, .. Night, .. Alarms, .. Traces, .. Planning, .. Instruments];

    private static FigureNote Of(string page, string id, string name, string says, string notKnown, params ImmutableArray<string> methods) => new(id, page, name, says, notKnown, methods);

    private static FigureNote[] Pack =>
    [
        Of("whole-pack", "verdict", T("Word and sentence on top"), T("The most pressing state of any cell or alarm, and its fact with figures. Unknown counts as unsafe: while a charge runs, missing data is ACT NOW."), "", "Four outcomes and persistence", "Life of an alarm"),
        Of("whole-pack", "deviation", T("Voltage on the ruler, mV"), T("Each cell's voltage minus the median of all known cells. Cells that bleed or are not believed are shown but kept out of median and spread."),
            T("A cell without fresh data leaves the ruler; its mark lies in the tray underneath."), "Median, MAD, modified z-score"),
        Of("whole-pack", "charge-difference", T("Charge on the ruler, Ah"), T("By how much a cell holds more or less charge than the median cell, from its voltage at the last rest and the curve of its cell type."),
            T("Known after a rest long enough, where the curve is steep enough, and with a capacity in the settings."), "\"Cannot tell here\"", "Reset at rest", "Coulomb counting", "Curve learned from own rests"),
        Of("whole-pack", "resistance", T("Resistance, mΩ"), T("Step of a cell's voltage over the step of current that caused it."), T("Known after a clean step of current."), "Resistance from steps of current"),
        Of("whole-pack", "highest-lowest", T("Highest and lowest"), T("The two extreme known cells, with their distance from the median."), T("Not known while no cell is."), "Range and impossible step"),
        Of("whole-pack", "spread", T("Spread"), T("Highest minus lowest known cell, in mV and, where the curve can tell, in Ah."), T("In Ah: see charge on the ruler."), "Median, MAD, modified z-score"),
        Of("whole-pack", "pack-voltage", T("Pack and sum"), T("The measured voltage of the string beside the sum of all cells: they should agree within what links drop."), T("The sum needs every cell; with cells unseen nothing is compared."), "Link ledger"),
        Of("whole-pack", "current", T("Current"), T("As the sensor says; the word beside it gives the direction and for how long. Positive charges."), T("Not known when the sensor is silent or counts the wrong way."), "Current sensor counts the wrong way"),
        Of("whole-pack", "temperature", T("Temperature"), T("Coldest and hottest sensor that can be believed."), T("Open, shorted and stuck sensors are left out and said."), "Thermistors and platinum sensors", "Stuck channel, repeated frame, copy of a neighbour"),
        Of("whole-pack", "stands-out", T("Stands out"), T("Cells that differ, each with the cause that fits best, what rules out its rivals, and the test that would decide."), T("With too little seen it says undecided and names the test."), "Cause of a deviation", "Four signatures", "Mirror of neighbours"),
        Of("whole-pack", "time-foot", T("Strip at the foot"), T("Spread of the last 30 minutes. Hatched: no data then; a line never bridges it. Marks: alarms raised. Beside it whether everything is being recorded, and for how long there is room."), ""),
    ];

    private static FigureNote[] Module =>
    [
        Of("module-sheet", "module-cells", T("Cells of the module"), T("Voltage, distance from the pack's median, charge and resistance of each cell group, the age of its value and whether its bleed is on. Cell 1 is at the module's negative end."),
            T("No data: older than the limit. Not yet: see charge and resistance on the ruler."), "Range and impossible step", "Noise of a channel"),
        Of("module-sheet", "module-wiring", T("Wiring"), T("Which instrument measures it and how many channels are proven to be the cells they are named after."), T("Only the channel proof tells; static checks cannot."), "Exchanged harnesses", "Mirror of neighbours"),
    ];

    private static FigureNote[] Charging =>
    [
        Of("charging", "headroom", T("Headroom"), T("Distance of the highest known cell to the charge target. The time beside it belongs to the cell that gets there first, which need not be the highest."), T("Not known while no cell is; the time is not foreseen in the first minutes."), "Who will limit and when"),
        Of("charging", "who-limits", T("Who limits next"), T("Cells in the order in which they reach the target: each one's rise per minute against its own distance, bent by the curve."), T("Without charge current nothing is foreseen."), "Who will limit and when"),
        Of("charging", "allowed", T("Current allowed"), T("Current at which no cell passes the target by its own resistance, cut back by temperature. Advice: a person or the charger sets the current."), T("Needs resistances or their starting value."), "Allowed charge current", "Charge against temperature"),
        Of("charging", "taper", T("Current, logarithmic"), T("At the target the current must fall like an exponential: a straight line on this scale. Dashed: as expected; hatched: where it may lie; the bar with ends: when it ends."), T("Before the target the time constant of the last taper is used, or a usual one."), "Taper fit", "Missing taper"),
        Of("charging", "twelve", T("The next twelve"), T("Tick: where a cell is now. Hairline: where it is when the first one arrives. The one whose hairline touches the target is first."), "", "Who will limit and when"),
        Of("charging", "heat", T("Heat"), T("The module that warms most against what its current explains. Ratio above one: more heat than the current makes."), T("Needs a fresh sensor."), "Heat of a cell", "Heat the current cannot explain"),
        Of("charging", "stop-rules", T("Stop rules"), T("What must hold before and during a charge that may be called supervised. ✓ holds, – not yet due or not known, triangle: broken."), "", "First-charge ladder"),
        Of("charging", "presence", T("I AM HERE"), T("Time left until the page asks aloud whether a person is present."), ""),
    ];

    private static FigureNote[] Bench =>
    [
        Of("bench", "fitness", T("Are the data fit to be used?"), T("Whether current, time, temperature and sense leads were in order; a run that is not fit gives no figure."), "", "Sense connection check", "Coulomb counting"),
        Of("bench", "capacity", T("Capacity, Ah"), T("Charge counted out of the group that ended the discharge; the others by what they had left."), T("A gap under current leaves it not known."), "Coulomb counting", "Remaining charge from the tail", "Capacity by total least squares", "Capacity from pulses"),
        Of("bench", "rest-test", T("Leak at rest"), T("Fall of a cell against its siblings over days, as current, with the smallest leak the test could have found."), T("Refused while still relaxing or without a sibling."), "Self-discharge against siblings", "Relaxation is not a leak"),
        Of("bench", "grade", T("Grade"), T("The worst line of the card decides. Chances come from random draws within the stated deviations."), T("A missing line leaves no grade."), "Pulse power", "Grubbs' test with Student's t"),
    ];

    private static FigureNote[] Night =>
    [
        Of("night-review", "removed", T("Due, counted, seen, left"), T("Due: charge above the median in the evening of cells told to bleed (planned: as the plan said). Counted: voltage over bleed resistance times the time commanded on. Seen: what the two rests say. Left: above the median now."),
            T("Withheld when not at rest or when the temperatures differ by more than 3 K."), "Review of a night", "Balancing arithmetic"),
        Of("night-review", "more-nights", T("More nights"), T("Nights like this one until a cell is level. No help: less capacity, bleeding cannot bring it in."), T("Undecided: no count before the named test."), "Plan of a night of bleeding"),
        Of("night-review", "night-cause", T("Cause and evidence"), T("Offset, low capacity, leak, stuck or dead bleed: each with the figure that excludes its rivals or the test that would decide."), T("With few nights a leak and a low capacity are undecided."), "Review of a night", "Four signatures"),
        Of("night-review", "carpet", T("All cells through the night"), T("Each row a cell, each column a time; the colour is the distance from the median on the printed scale. Hatched: no data."), ""),
    ];

    private static FigureNote[] Alarms =>
    [
        Of("alarms", "alarm-life", T("Seen, shelved, gone"), T("Not seen, seen, gone but not closed, held until reset, shelved for at most eight hours with a reason. ACT NOW cannot be shelved."), "", "Life of an alarm"),
        Of("alarms", "alarm-rates", T("Counts"), T("Raised in ten minutes and in a day by priority. More than ten in ten minutes is a flood and is shown by cause."), "", "Life of an alarm", "Four outcomes and persistence"),
    ];

    private static FigureNote[] Traces =>
    [
        Of("traces", "lines", T("Lines and crowd"), T("Each pixel column holds least and greatest of its time, so that a short dip survives; grey: all cells. A gap is a gap: no line crosses it."), ""),
        Of("traces", "first-to-move", T("First to move"), T("The order in which cells left what they did before, by their own scatter."), T("Not said where nothing moved by more than noise."), "Median, MAD, modified z-score", "Noise of a channel"),
    ];

    private static FigureNote[] Planning =>
    [
        Of("fitting-plan", "usable", T("Usable charge and the price of the weakest"), T("A string gives what its weakest group gives. Each step names the group that limits next and what its exchange brings."), T("Needs a capacity of every group."), "Pack arithmetic"),
        Of("fitting-plan", "balance", T("Mass and balance"), T("Sum of masses and their moments about the datum."), T("Needs a mass of every module."), "Pack arithmetic"),
        Of("proofs", "gates", T("Gates"), T("What must be shown before the next step, with the measured evidence, who and when. A gate whose ground is taken away is re-opened with the reason."), "", "First-charge ladder"),
        Of("proofs", "isolation", T("Isolation"), T("Leak to the body from two readings and one with a known resistor. It informs; a licensed person judges."), "", "Isolation by a known resistor", "Pre-charge"),
        Of("reports", "uncertainty", T("±"), T("One standard deviation unless the report says otherwise. The eight signs after limits are the fingerprint of all settings that applied: the same signs, the same limits."), ""),
    ];

    private static FigureNote[] Instruments =>
    [
        Of("instruments", "link", T("Age, frames/s, bad/min, lost"), T("Age of the newest frame; frames that came; frames thrown away with a reason (checksum, length, meaning); frames the board counted and we never saw."), T("Lost: not counted where the wire carries no count."), "Range and impossible step"),
        Of("instruments", "switches", T("Switches"), T("Switches wired to this machine for I am here and Seen. A press is the change open, closed, open, and counts when the switch is let go; one that is held for more than 5 s, flutters or cannot be read counts for nothing and is said here."), T("No safety device: a hand cut-off must act without this program.")),
        Of("instruments", "channel-map", T("Channel map"), T("One mark a cell: a plain tick is proven and seen, a dotted one not proven, a square with ? doubtful, a hatched square not seen."), "", "Exchanged harnesses", "Stuck channel, repeated frame, copy of a neighbour"),
        Of("settings", "limits", T("Limits and ranges"), T("Starting values of the cell type, and what a setting may be at all. The cell maker's data sheet overrides every limit."), ""),
    ];
}
