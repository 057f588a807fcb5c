namespace CellWatch.Core.Proofs;

/// <summary>What kind of evidence a gate asks for.</summary>
public enum EvidenceKind
{
    /// <summary>A figure with a unit, measured by a person.</summary>
    Figure,

    /// <summary>A fact confirmed with yes.</summary>
    Yes,

    /// <summary>The name of a second person, not the one who signs.</summary>
    SecondPerson,

    /// <summary>Found out by the program from its own records; nobody types it.</summary>
    FromRecords,
}

/// <summary>One piece of evidence a gate asks for.</summary>
/// <param name="Name">Its name in an entry, unit included.</param>
/// <param name="Kind">What it is.</param>
/// <param name="Ask">What to measure or confirm.</param>
/// <param name="Rule">When it passes, in words.</param>
/// <param name="Low">Lowest figure that passes.</param>
/// <param name="High">Highest figure that passes.</param>
public sealed record EvidenceNeed(string Name, EvidenceKind Kind, string Ask, string Rule, double Low = double.NegativeInfinity, double High = double.PositiveInfinity)
{
    private static readonly (string Suffix, string Unit)[] Units = [("Percent", "%"), ("Hours", "h"), ("Mv", "mV"), ("V", "V")];

    /// <summary>Unit of a figure, as its name says; empty else.</summary>
    public string Unit => Kind == EvidenceKind.Figure ? Array.Find(Units, u => Name.EndsWith(u.Suffix, StringComparison.Ordinal)).Unit ?? "" : "";

    /// <summary>Its name in words, without the unit: <c>lowest cell</c>.</summary>
    public string ShortAsk => Name switch
    {
        "sumAgainstPackPercent" => T("sum against pack"),
        "expectedV" => T("expected"),
        "measuredV" => T("measured"),
        "restHours" => T("rest"),
        "chargePercent" => T("charge"),
        "spreadMv" => T("spread"),
        "lowestCellV" => T("lowest cell"),
        _ => Spelled,
    };

    // servicePlugOut as "service plug out".
    private string Spelled
    {
        get
        {
            var bare = Kind == EvidenceKind.Figure && Array.Find(Units, u => Name.EndsWith(u.Suffix, StringComparison.Ordinal)).Suffix is { } suffix ? Name[..^suffix.Length] : Name;
            return string.Concat(bare.Select(c => char.IsAsciiLetterUpper(c) ? $" {char.ToLowerInvariant(c)}" : $"{c}"));
        }
    }
}

/// <summary>Something that happens and takes the ground from under gates.</summary>
public enum GateEvent
{
    /// <summary>A sense connector was opened.</summary>
    ConnectorOpened,

    /// <summary>A power joint or link was opened.</summary>
    JointOpened,

    /// <summary>A module was exchanged.</summary>
    ModuleExchanged,

    /// <summary>A limit was changed.</summary>
    LimitChanged,

    /// <summary>A contactor, pre-charge resistor or bus part was exchanged.</summary>
    ContactorChanged,
}

/// <summary>One of the twenty gates.</summary>
/// <param name="Number">1 to 20.</param>
/// <param name="Title">Short name.</param>
/// <param name="Caution">What can hurt, said first.</param>
/// <param name="StandsOn">Gates that must be proven before.</param>
/// <param name="Needs">The evidence.</param>
/// <param name="ReopenedBy">Events that re-open it.</param>
public sealed record GateDefinition(
    int Number, string Title, string Caution, IReadOnlyList<int> StandsOn, IReadOnlyList<EvidenceNeed> Needs, IReadOnlyList<GateEvent> ReopenedBy);

/// <summary>The twenty milestones from a damaged vehicle to one year after first use. Source: common practice, no source; figures as stated.</summary>
public static class GateTable
{
    /// <summary>The gate at which the joined string passes 60 V.</summary>
    public const int ThirdModuleJoined = 9;

    /// <summary>All gates, in order.</summary>
    public static IReadOnlyList<GateDefinition> All { get; } =
    [
        new(1, T("vehicle safe"), T("A crashed battery can burn weeks later. Outdoors, 15 m from buildings; warmth, hiss or a sweet smell: away, call the fire service."), [],
            [Records("quarantine", T("the quarantine log shows the days and readings the settings ask for, none warm")), Yes("noLeakNoSmell", T("No leak, no smell, no sound")), Yes("servicePlugOut", T("Service plug out and locked, absence of voltage proven"))], []),
        new(2, T("modules out, identities given"), T("Full string voltage until it is in pieces of at most two modules. Break it in the middle first; cap every terminal."), [1],
            [Records("register", T("every module of the pack is in the register with mass and original place")), Figure("sumAgainstPackPercent", T("Sum of the module voltages against the pack, difference in %"), T("at most 0.5 %"), 0, 0.5)], [GateEvent.ModuleExchanged]),
        new(3, T("inspection done"), T("Swollen or leaking: stop, outdoors."), [2], [Records("inspections", T("every module of the pack has a passed inspection"))], [GateEvent.ModuleExchanged]),
        new(4, T("rest test done"), T("Unattended cells: where a fire harms nobody, no charger connected."), [3], [Records("restTests", T("every module of the pack has a rest test with a verdict"))], [GateEvent.ModuleExchanged]),
        new(5, T("capacities known"), T("2.4 kWh pushed both ways: attended, hot load."), [3], [Records("capacityTests", T("every module of the pack has a fit capacity test"))], [GateEvent.ModuleExchanged]),
        new(6, T("resistances known"), T("60 to 200 A through the joints: bolted connections only."), [3], [Records("pulseTests", T("every module of the pack has a comparable pulse test"))], [GateEvent.ModuleExchanged]),
        new(7, T("graded and matched"), T("A good average must not hide a safety failure."), [3, 4, 5, 6], [Records("grades", T("every module of the pack has a grade under the limits now in force, none R"))], [GateEvent.ModuleExchanged, GateEvent.LimitChanged]),
        new(8, T("plan frozen"), T("From the third joined module on the voltage can kill."), [7], [Records("plan", T("the fitting plan is frozen and breaks no constraint"))], [GateEvent.ModuleExchanged]),
        new(9, T("third module joined: over 60 V"), T("FROM HERE ON THE STRING CAN KILL. Sense plugs out before a link is opened or fitted, in last. Two people, gloves, covers on."), [8],
            [
                Figure("expectedV", T("Sum of the joined modules' voltages"), T("above 0"), 1, 1000), Figure("measuredV", T("Voltage at the ends of the joined string"), T("within 0.5 % of the expected"), 1, 1000),
                Yes("coversOn", T("Covers on all joined terminals")), new("secondPerson", EvidenceKind.SecondPerson, T("Second person present"), T("a name other than yours")),
                Records("modulesProven", T("every module's cell channels are proven by hand-safe means, below 60 V")),
            ], [GateEvent.ConnectorOpened, GateEvent.JointOpened, GateEvent.ModuleExchanged]),
        new(10, T("all channels proven"), T("No hands in the joined string: bleed rhythm and sums only."), [9],
            [Records("channels", T("every cell, temperature, current and voltage channel is proven"))], [GateEvent.ConnectorOpened, GateEvent.ModuleExchanged]),
        new(11, T("levels equal"), T("Two unequal modules in parallel push large currents: fuse every lead."), [8],
            [
                Figure("restHours", T("Hours at rest before the reading"), T("at least 12 h"), 12), Figure("chargePercent", T("Charge level"), T("at least 95 %"), 95, 100),
                Figure("spreadMv", T("Spread over all cells"), T("at most 5 mV at this level"), 0, 5),
            ], [GateEvent.ModuleExchanged]),
        new(12, T("isolation proven"), T("The known resistor sees full pack voltage: fitted with power locked out, gloves on."), [9],
            [Records("isolation", T("the last isolation test passes 500 ohm/V of the highest working voltage"))], [GateEvent.JointOpened, GateEvent.ModuleExchanged, GateEvent.ContactorChanged]),
        new(13, T("pre-charge proven"), T("New wiring sees pack voltage for the first time. A welded contactor: stop, do not retry."), [12],
            [Records("precharge", T("the last pre-charge is good and the bus fell after opening"))], [GateEvent.ContactorChanged]),
        new(14, T("first AC charge"), T("Person present. Try the hand cut-off first and see the current fall to zero."), [10, 11, 12, 13],
            [Records("acCharge", T("a supervised AC charge ended without a stop, the hand cut-off tried in it"))], []),
        new(15, T("first DC charge"), T("Hundreds of amperes; two people, one looks at nothing but the screen."), [14],
            [Records("dcCharge", T("a supervised DC charge ended without a stop, the limit obeyed, the hand cut-off tried in it"))], []),
        new(16, T("first balanced night"), T("A bleed left on drains a cell to destruction."), [14], [Records("night", T("a night has a page with before and after at rest"))], []),
        new(17, T("first movement"), T("The screen is not for the person steering."), [10, 12, 13],
            [Figure("lowestCellV", T("Lowest cell under load"), T("above the low limit under load"), 3.1, 4.3), Yes("tripStored", T("Trip summary stored")), Yes("nothingWarm", T("Nothing warm afterwards but the expected"))], []),
        new(18, T("100 km or 10 h inspection"), T("Covers off means over 60 V again."), [17], [Yes("torqueMarks", T("All torque marks in line")), Yes("thermalPicture", T("Thermal picture under load taken, no joint stands out"))], []),
        new(19, T("first season's health check"), T("As the capacity and isolation tests."), [17], [Records("healthCheck", T("a health check compares like with like"))], []),
        new(20, T("one year: fade report"), "", [19], [Records("fade", T("a fade report with its uncertainty exists, a year or more after the first capacity test"))], []),
    ];

    /// <summary>One gate.</summary>
    /// <exception cref="Register.RefusedException">There is no such number.</exception>
    public static GateDefinition Numbered(int number) =>
        number >= 1 && number <= All.Count ? All[number - 1] : throw new Register.RefusedException(T($"There is no gate {number}: gates are numbered 1 to {All.Count}."));

    private static EvidenceNeed Figure(string name, string ask, string rule, double low, double high = double.PositiveInfinity) => new(name, EvidenceKind.Figure, ask, rule, low, high);

    private static EvidenceNeed Yes(string name, string ask) => new(name, EvidenceKind.Yes, ask, "yes");

    private static EvidenceNeed Records(string name, string rule) => new(name, EvidenceKind.FromRecords, T("Found in the records"), rule);
}
