namespace CellWatch.Core.Sources;

public static partial class SourceList
{
    private static SourceNote[] Checks =>
    [
        new("Range and impossible step", "Telling a wiring fault from a cell.", "Plausible range is common practice; the largest step from Ohm's law with four times the resistance, own rule.", "Steps with and without current."),
        new("Stuck channel, repeated frame, copy of a neighbour", "Values that do not move with current, or equal another's.", "Own rules: 120 s and 50 A; noise as a sign of life in twenty scans; twenty equal changes.", "Scripted channels; the simulated launch."),
        new("Mirror of neighbours", "A lead shared by two cells.", "Ohm's law: both move apart by the same amount.", "124 mA through 0.5 ohm, 62 mV."),
        new("Current sensor counts the wrong way", "Refusing a current.", "Own rules: the sign changes, the size stays and no cell answers in 1.5 s; or twenty changes that voltages contradict.", "Simulated launch: a sensor turned round in a charge; a good day without a finding."),
        new("Exchanged harnesses", "Two modules whose readings change places.", "Own rule: each takes the other's pattern of deviations, at a steady current.", "Simulated launch: exchanged and put back; a good day without a finding."),
        new("Noise of a channel", "Ground loops; margins.", "Mean squared successive difference (von Neumann 1941, from memory).", "Simulated noise of 1 and 4 mV."),
    ];

    private static SourceNote[] Imbalance =>
    [
        new("Cause of a deviation", "Naming why a cell stands out, or what would decide.", "The four signatures over rests, charges and discharges; bounds between causes are own rules.", "500 seeded packs with one or two faults each."),
        new("Joint or cell", "Telling a joint inside a cell's loop from the cell's own resistance.", "Temperature and charge move all cells alike, a joint adds the same ohms, a loose one jumps (common practice); least squares of the two models, bounds are own rules.", "Simulated joints, steady and loose, and cells of high ohmic resistance, over days of unlike temperature and of one."),
        new("Link ledger", "Resistance of all links, offset of the meters.", "Straight line of sum minus pack voltage on current, Student's t.", "Simulated drives at 0.85 and 1.10 mOhm."),
        new("Plan of a night of bleeding", "Charge and hours for each cell.", "Balancing arithmetic at one reference level (common practice).", "Twelve cells of a worked example."),
        new("Review of a night", "Planned, counted and seen charge; why a cell does not come in.", "Charge balance against the median cell, Student's t; bounds between causes are own rules.", "Seven simulated nights with four causes; holes."),
    ];

    private static SourceNote[] Charging =>
    [
        new("Who will limit and when", "The next cells at the charge target.", "Line of each cell's level on charge counted, drawn towards its stated capacity by their doubts (own method).", "100 seeded charges, three minutes ahead."),
        new("Missing taper", "A charge that does not obey.", "Own rule: half a percent in ten seconds at the target; steps and noise have a minute. From the taper times of measured cells.", "Tapers of 335 and 1000 s, coarse steps, a current that stops falling."),
        new("Heat the current cannot explain", "Loose joints, exothermic cells.", "Adiabatic bound I^2 R / (m c); factors 2 and 4 and 1 K/min at rest are common practice.", "Simulated modules with and without an extra source."),
        new("First-charge ladder", "Steps of current of a first charge.", "Common practice, no source.", "Bench tests."),
        new("Noise left out of the highest cell", "Which cell a charge is judged by.", "Own rule: a mean over a few seconds while a charge runs.", "100 seeded charges with 1 mV of noise."),
    ];

    private static SourceNote[] Alarms =>
    [
        new("Starting limits", "Warnings and stops until the cell maker's sheet replaces them.", "Common practice, except where a line of the rule table says more.", "The table of the reference, figure by figure."),
        new("Rest, charge or discharge", "Which limits apply.", "Own rule: current against a two-hundredth of the capacity, with hysteresis.", "Scripted currents."),
        new("Permit", "Whether an automatic charge may run.", "Own rule: everything known, proven, good, and armed by a person; it only ever withholds.", "Scripted states."),
        new("Life of an alarm", "States, shelving, suppression, rates.", "Terms of IEC 62682 and ANSI/ISA-18.2 through OPC 10000-9 and a public guide; the standards were not opened.", "Worked sequences of the reference; rule cases."),
        new("Four outcomes and persistence", "Delays that missing data never reset.", "Own rule, as rule tables of flight software are described in public.", "Worked sequences of the reference; rule cases."),
    ];
}
