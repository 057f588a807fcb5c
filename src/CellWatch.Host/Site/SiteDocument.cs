using System.Text.Json;
using System.Text.Json.Serialization;
using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Wording;
using CellWatch.FrontEnds.Options;

namespace CellWatch.Host.Site;

/// <summary>The site file as it is written: JSON with comments. Units are in the names.</summary>
public sealed record SiteDocument
{
    /// <summary>Where an editor finds the schema.</summary>
    [JsonPropertyName("$schema")]
    public string? Schema { get; init; }

    /// <summary>The site's name; also the root of its MQTT topics. Letters, digits and hyphens.</summary>
    public string Site { get; init; } = "";

    /// <summary>Language of the pages: the tag of one in this build, or the file of another (<c>Texts.LL.resx</c>).</summary>
    public string Language { get; init; } = Texts.English;

    /// <summary>Revision of the pack's wiring, shown in the title block.</summary>
    public string PackRevision { get; init; } = "A";

    /// <summary>Name of the cell type, or empty: then nothing can be called supervised.</summary>
    public string CellType { get; init; } = "";

    /// <summary>Limits that differ from the cell type's, by name.</summary>
    public JsonElement? Limits { get; init; }

    /// <summary>Capacity of a cell group as labelled or measured, Ah; 0 where it is not known.</summary>
    [Within(0, 10_000, "Ah")]
    public double CapacityAh { get; init; }

    /// <summary>Current at which a charge ends, A; 0 for a twentieth of the capacity.</summary>
    [Within(0, 1000, "A")]
    public double TerminationA { get; init; }

    /// <summary>The hand cut-off in words, as a person would point at it.</summary>
    public string HandCutOff { get; init; } = "";

    /// <summary>Who sets the charge current.</summary>
    public CurrentSetBy CurrentSetBy { get; init; } = CurrentSetBy.Person;

    /// <summary>Minutes after which a person must confirm presence at a supervised charge.</summary>
    [Within(1, 240, "min")]
    public double PresenceMinutes { get; init; } = 30;

    /// <summary>How temperature cuts the charge current back: ramp (none below 0 degC, all from 15 to 40, none from 45) or jeita (the zones of that guideline).</summary>
    public string TemperatureProfile { get; init; } = "ramp";

    /// <summary>Most current the charger and the wiring may carry, A; 0 where nobody has said.</summary>
    [Within(0, 10_000, "A")]
    public double ChargerLimitA { get; init; }

    /// <summary>Resistor of a bleed switch, ohm.</summary>
    [Within(0.1, 10_000, "ohm")]
    public double BleedOhm { get; init; } = 33;

    /// <summary>Charge level at which the cells are kept in line: one, and always the same.</summary>
    [Within(20, 100, "%")]
    public double BalanceAtPercent { get; init; } = 95;

    /// <summary>The modules in electrical order from the pack's negative end.</summary>
    public List<ModuleEntry> Modules { get; init; } = [];

    /// <summary>Channels beside the pack.</summary>
    public List<AuxiliaryChannel> Auxiliaries { get; init; } = [];

    /// <summary>The boards that measure.</summary>
    public List<FrontEndOptions> FrontEnds { get; init; } = [];

    /// <summary>Switches wired to this machine for "I am here" and "seen".</summary>
    public List<InputEntry> Inputs { get; init; } = [];

    /// <summary>Keys a foot pedal at a browser sends.</summary>
    public PedalEntry Pedal { get; init; } = new();

    /// <summary>Zone in which times are shown, by its IANA name: <c>Europe/Berlin</c>; empty: this machine's. The log keeps UTC.</summary>
    public string TimeZone { get; init; } = "";

    /// <summary>Scans a second.</summary>
    [Within(0.5, 10, "scans a second")]
    public double SnapshotHz { get; init; } = 2;

    /// <summary>The cell log.</summary>
    public LogEntry Log { get; init; } = new();

    /// <summary>The broker.</summary>
    public MqttEntry Mqtt { get; init; } = new();

    /// <summary>The pages and the API.</summary>
    public WebEntry Web { get; init; } = new();
}

/// <summary>One module, or a range of modules alike.</summary>
public sealed record ModuleEntry
{
    /// <summary>Identity, or a range of identities: <c>B01-B12</c>.</summary>
    public string Id { get; init; } = "";

    /// <summary>Topology: <c>6S2P</c>.</summary>
    public string Topology { get; init; } = "6S2P";

    /// <summary>Temperature sensors on each.</summary>
    [Within(0, 16, "sensors")]
    public int Temperatures { get; init; } = 2;

    /// <summary>Slot; left out, slots count up in the order of this list. Only for a single module.</summary>
    public int? Slot { get; init; }

    /// <summary>The box they sit in, in a word.</summary>
    public string Box { get; init; } = "";
}

/// <summary>Settings of the cell log.</summary>
public sealed record LogEntry
{
    /// <summary>The file; relative to the site file. Empty: the site's name beside the site file.</summary>
    public string File { get; init; } = "";

    /// <summary>
    /// Seconds between commits: what a crash may lose. A memory card bears about 28 MB an hour at 1 s, 6 MB at 10 s, 2 MB at 60 s (measured, 108 cells at 1 Hz).
    /// </summary>
    [Within(0.2, 600, "s")]
    public double CommitEveryS { get; init; } = 1;

    /// <summary>Runs that are recognised by themselves.</summary>
    public RunsEntry Runs { get; init; } = new();
}

/// <summary>When charges, drives, rests, balancing and storage are recognised by themselves and noted in the log.</summary>
public sealed record RunsEntry
{
    /// <summary>Whether any is.</summary>
    public bool Recognise { get; init; } = true;

    /// <summary>Current from which the pack drives something, A; 0 for five times the current below which it is at rest. A house load draws less.</summary>
    [Within(0, 1000, "A")]
    public double DriveCurrentA { get; init; }

    /// <summary>Minutes without charging after which a charge is over; chargers pause to look at the pack.</summary>
    [Within(0.5, 1440, "min")]
    public double ChargeEndsAfterMin { get; init; } = 5;

    /// <summary>Minutes without discharging after which a drive is over; a lock or a quay belongs to it.</summary>
    [Within(0.5, 1440, "min")]
    public double DriveEndsAfterMin { get; init; } = 15;

    /// <summary>Minutes without current that make a rest; the fast part of relaxation is over then.</summary>
    [Within(1, 1440, "min")]
    public double RestAfterMin { get; init; } = 30;

    /// <summary>Days of rest that make storage.</summary>
    [Within(1, 365, "days")]
    public double StorageAfterDays { get; init; } = 7;

    /// <summary>Longest time without a known current that a run goes on across, s. A longer one ends it where the data end.</summary>
    [Within(1, 3600, "s")]
    public double LongestGapS { get; init; } = 60;
}

/// <summary>Settings of MQTT.</summary>
public sealed record MqttEntry
{
    /// <summary>Whether anything is published.</summary>
    public bool Enabled { get; init; } = true;

    /// <summary>Host of an external broker; empty: a broker inside this service, on loopback.</summary>
    public string Host { get; init; } = "";

    /// <summary>Port.</summary>
    [Within(1, 65535)]
    public int Port { get; init; } = 1883;

    /// <summary>User; empty for none.</summary>
    public string User { get; init; } = "";

    /// <summary>Name of the environment variable that holds the password, so that no password stands in the file.</summary>
    public string PasswordVariable { get; init; } = "";

    /// <summary>Whether the link is encrypted.</summary>
    public bool Tls { get; init; }
}

/// <summary>Settings of the pages.</summary>
public sealed record WebEntry
{
    /// <summary>Port on loopback.</summary>
    [Within(1, 65535)]
    public int Port { get; init; } = 8080;
}
