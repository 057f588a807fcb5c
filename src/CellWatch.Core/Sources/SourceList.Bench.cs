namespace CellWatch.Core.Sources;

public static partial class SourceList
{
    private const string Practice = "Common practice, no source.";

    private static SourceNote[] Bench =>
    [
        new("Quarantine", "Days without warmth before a battery is stripped.", Practice + " 14 days outdoors, hourly on the first day, then twice a day.", "Made logs: cool, warm, a day without a look."),
        new("Incoming inspection", "What rejects a module before it costs bench hours.", Practice + " Copper may dissolve below about 2.0 V (from memory).", "Made inspections."),
        new("Readings by hand", "Asking twice for a reading that surprises.", "Own rule.", "Made readings."),
        new("Rest test", "Leak of each group over days.", "Slope over slope of the curve times capacity; Student's t; drift of the channels as a term of its own (own rule); 48 h and 5 mA are common practice.", "Ten days with a leak of 1.0 mV a day; a recorded 48 h rest."),
        new("Capacity test", "Ampere-hours of a module to its first empty group.", "Trapezoid rule; what the others had left by own method from the tail.", "Three recorded discharges of a string; a recorded run with a bad sense lead; one with a clock that went back."),
        new("Pulse test", "Resistance of each group at stated times.", "Form of the vehicle-battery pulse manuals (from memory); what makes a pulse not comparable is an own rule.", "Made pulses."),
        new("Forecast of a discharge", "When a run will end and by which group.", "Own method: each group's fall of charge level against the charge taken, on the curve.", "A model without slow polarisation, within a twentieth half way."),
        new("Charge record from the log", "Course, charge, limiting cell, obedience and stops of a charge that is over.", "Trapezoid rule; the judges of the live charge (taper: straight line of ln I; 10 s at the target); unknown counts as unsafe (own rule).", "A charge made from a formula: its sums, its time constant of 335 s, a gap, a peak, a current that stays."),
        new("Grades", "Letter of a module and the limit that decided.", "Limits are the user's; the defaults are common practice or own rules, each named in the sheet. No statement of compliance.", "Retired cells of two chemistries in the order of their capacity; made modules."),
        new("Which module limits the pack", "Chance of each module to be the weakest.", "Random draws, seeded: SplitMix64 (from memory), polar method of Marsaglia.", "Two groups one deviation apart against the normal distribution."),
        new("Price of the weakest", "What each swap gains; the sag at peak current.", "Arithmetic of cells in series; Ohm's law.", "A worked staircase."),
        new("Pre-balance", "Hours of charging single groups before the string is closed.", "Arithmetic of charge; what stops a job is an own rule.", "Worked jobs."),
        new("Health check", "Fade of each cell over seasons.", "Difference of like tests with its uncertainty; bounds are own rules.", "Made histories."),
        new("Storage", "Days until the weakest cell is low.", "Charge over current.", "5 mA for 90 days are 10.8 Ah."),
        new("Fault triage", "What a fault is closed by.", Practice, "Made faults."),
        new("Stretches of the record", "Charges, rests and drives found in the record.", "Own rule: thresholds of current and time.", "Made records."),
    ];

    private static SourceNote[] Fitting =>
    [
        new("Fitting plan", "Which module into which slot.", "Assignment by the Hungarian method (textbook, from memory) for every limiting capacity; centre of gravity and its permitted box by a Lagrangian dual, whose value is the proven bound; Polyak's step and the lemma of Farkas (textbooks) for the box; weights are the user's.", "Small sets tried out whole, with and without a box."),
        new("Centre of gravity, trim and list", "Where the mass sits.", "Moments; textbook naval architecture at small angles. Informs, is no stability booklet.", "Worked axle loads; a swap of 0.5 kg over 2 m."),
        new("Polarity chain", "How modules turn, and where 60 V is passed.", "Geometry; 60 V DC as ISO 6469 and UN R100 (from memory).", "Worked chains."),
        new("Joint sheet", "Which joint is made again.", "A joint more than half above the lowest like it: acceptance practice of electrical testing (secondary reading).", "Worked joints."),
    ];

    private static SourceNote[] Proofs =>
    [
        new("Channel proof by a rhythm", "Which cell or module a load really sits on.", "Least squares of the rhythm with drift (textbook); five deviations because all channels are tried at once.", "100 seeded trials at 1 mV in 1 mV of noise, 100 without a load."),
        new("Order of the sense leads", "Naming exchanged leads before plugging in.", Practice + " A search over all exchanges of two.", "Every exchange of two leads."),
        new("Sum of cells against the terminals", "Whether a module's taps and terminals agree.", "Errors of the instruments added; shares are common practice.", "Worked sums."),
        new("Current sensor proof", "Sign, scale and zero.", Practice, "Made readings; changes of current at random."),
        new("Warm hand", "Which temperature sensor is which.", Practice, "Made readings."),
        new("Pre-charge against a good curve", "Leak on the bus, lost capacitance, welded contactor.", "First-order circuit; the window of -40 to +50 % is an own rule.", "Made curves."),
        new("Isolation judged and located", "Whether a gate passes, and where one leak sits.", "UN R100 revision 2, annex points 1.2.3 (public texts); dividing by the highest voltage and locating below 1 MOhm are own rules.", "A worked example of the trade."),
        new("Gates and proofs", "What must be proven before what.", Practice + " What an opened connector voids is an own rule.", "Made projects."),
        new("Check character", "Labels that cannot be mistyped.", "ISO 7064, MOD 37,36 (from memory).", "The published example of the global release identifier; every single wrong character."),
        new("Proofs read live", "Figures of a proof from the last seconds of scans.", "Means; noise from neighbouring scans (von Neumann); 4.5 deviations as for a rhythm; what makes a stretch unfit is an own rule.", "Made scans: holes, stale ones, a rise within the noise and one beyond it, a drift."),
        new("Whether a picture came whole", "Refusing a photograph that broke off on its way.", "PNG specification, chunks and checksums; ITU-T T.81 annex B, segments and end mark; RIFF length. Exif 2.3 for the way up.", "Small pictures of other programs, cut at every byte, each byte changed."),
        new("Names that look alike", "Refusing B8 beside BB.", Practice, "Pairs that look alike, and eighteen that do not."),
    ];
}
