using System.Text.Json.Serialization;
using CellWatch.Core.FrontEnds;

namespace CellWatch.FrontEnds.Options;

/// <summary>How a front end speaks.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<WireKind>))]
public enum WireKind
{
    /// <summary>Our own sentences with identity, sequence and checksum, over a serial port.</summary>
    [JsonStringEnumMemberName("textLines")] TextLines,

    /// <summary>Plain delimited lines a builder's own board already prints; no checksum.</summary>
    [JsonStringEnumMemberName("plainLines")] PlainLines,

    /// <summary>A CAN bus behind a serial-line adapter.</summary>
    [JsonStringEnumMemberName("serialCan")] SerialCan,

    /// <summary>A CAN interface of the Linux kernel.</summary>
    [JsonStringEnumMemberName("linuxCan")] LinuxCan,
}

/// <summary>One front end as a site file describes it. Ranges and defaults stand beside each member; <see cref="FrontEndFactory"/> checks them.</summary>
public sealed record FrontEndOptions
{
    /// <summary>Its name in this site, unique; 1 to 40 characters.</summary>
    public string Name { get; init; } = "";

    /// <summary>How it speaks.</summary>
    public WireKind Wire { get; init; }

    /// <summary>Serial device (best one of <c>/dev/serial/by-id</c>), or the CAN interface, say <c>can0</c>.</summary>
    public string Port { get; init; } = "";

    /// <summary>Other ports on which the device may come back; tried in turn. Needs an identity.</summary>
    public IReadOnlyList<string> OtherPorts { get; init; } = [];

    /// <summary>Bit rate of the serial line, 1200 to 4 000 000; adapters with USB ignore it.</summary>
    public int Baud { get; init; } = 115_200;

    /// <summary>Serial the device must answer with before its data are taken. Empty: the first one heard is kept.</summary>
    public string Identity { get; init; } = "";

    /// <summary>Identities of the modules it measures, in the order the board numbers them.</summary>
    public IReadOnlyList<string> Modules { get; init; } = [];

    /// <summary>Whether current and string voltage are taken from it (text lines).</summary>
    public bool MeasuresPack { get; init; }

    /// <summary>Turns the sign of the current: for a device that counts discharge as positive.</summary>
    public bool InvertCurrent { get; init; }

    /// <summary>Names of the channels beside the pack it measures, in the order the board numbers them.</summary>
    public IReadOnlyList<string> Auxiliaries { get; init; } = [];

    /// <summary>Whether the builder knows it to be isolated from the host; what the board says can only make it worse.</summary>
    [JsonConverter(typeof(JsonStringEnumConverter<Isolation>))]
    public Isolation Isolated { get; init; }

    /// <summary>Seconds without a byte after which the link counts as lost and is opened anew; 1 to 300.</summary>
    public double SilenceS { get; init; } = 5;

    /// <summary>Sets "data terminal ready"; absent leaves it alone.</summary>
    public bool? Dtr { get; init; }

    /// <summary>Sets "request to send"; absent leaves it alone.</summary>
    public bool? Rts { get; init; }

    /// <summary>Signal database (DBC file) of a CAN wire; a relative path counts from the site file.</summary>
    public string Database { get; init; } = "";

    /// <summary>Which signals feed which channels (CAN wires).</summary>
    public SignalMapOptions Signals { get; init; } = new();

    /// <summary>The CAN adapter (serial CAN).</summary>
    public SerialCanOptions SerialCan { get; init; } = new();

    /// <summary>How plain lines look.</summary>
    public PlainLineOptions PlainLines { get; init; } = new();
}

/// <summary>Settings of a serial-line CAN adapter.</summary>
public sealed record SerialCanOptions
{
    /// <summary>Bit rate of the bus, kbit/s: 10, 20, 50, 100, 125, 250, 500, 800 or 1000.</summary>
    public int BitRateKbit { get; init; } = 500;

    /// <summary>Only listens: never acknowledges or sends on a bus that is not ours. Off only on a bench bus where nobody else acknowledges.</summary>
    public bool ListenOnly { get; init; } = true;

    /// <summary>Takes CAN FD lines too.</summary>
    public bool CanFd { get; init; }
}

/// <summary>Which signals of a database feed which channels. Patterns have places: <c>M{module:00}_C{cell:00}_V</c>, <c>M{module:00}_T{sensor}_degC</c>.</summary>
public sealed record SignalMapOptions
{
    /// <summary>Pattern of the cell voltages, V.</summary>
    public string Cells { get; init; } = "";

    /// <summary>Pattern of the temperatures, degC; empty for none.</summary>
    public string Temperatures { get; init; } = "";

    /// <summary>Pattern of the bleed mask of a module, bit 0 = cell 1; empty for none.</summary>
    public string BleedMask { get; init; } = "";

    /// <summary>Number the first module of this front end has in the patterns; 0 to 255.</summary>
    public int FirstModule { get; init; } = 1;

    /// <summary>Signal of the string's current, A; empty for none.</summary>
    public string PackCurrent { get; init; } = "";

    /// <summary>Signal of the string's terminal voltage, V; empty for none.</summary>
    public string StringVoltage { get; init; } = "";

    /// <summary>Turns the sign of the current.</summary>
    public bool InvertCurrent { get; init; }

    /// <summary>Signal by channel beside the pack.</summary>
    public IReadOnlyDictionary<string, string> Auxiliaries { get; init; } = new Dictionary<string, string>(StringComparer.Ordinal);

    /// <summary>Raw values of cells and temperatures that mean "no data": reset and busy codes such as <c>0xFFFF</c>, <c>0x8000</c>.</summary>
    public IReadOnlyList<string> NoDataCodes { get; init; } = ["0xFFFF"];

    /// <summary>Signal with the front end's serial, a whole number; empty for none.</summary>
    public string Identity { get; init; } = "";

    /// <summary>Signal that counts up by one with each of its frames; empty for none.</summary>
    public string Sequence { get; init; } = "";

    /// <summary>Signal of the board's temperature, degC; empty for none.</summary>
    public string BoardTemperature { get; init; } = "";

    /// <summary>Signal of the board's supply, V; empty for none.</summary>
    public string Supply { get; init; } = "";

    /// <summary>Signal of the bleed time-out, s; empty for none.</summary>
    public string BleedTimeout { get; init; } = "";

    /// <summary>Signal that is 1 on an isolated board, 0 on one that is not, anything else unknown; empty for none.</summary>
    public string Isolated { get; init; } = "";

    /// <summary>Signal that is not 0 when the values come from a model; empty for none.</summary>
    public string Simulated { get; init; } = "";
}

/// <summary>What a run of fields in a plain line is.</summary>
[JsonConverter(typeof(JsonStringEnumConverter<PlainQuantity>))]
public enum PlainQuantity
{
    /// <summary>Cell voltages of a module.</summary>
    [JsonStringEnumMemberName("cells")] Cells,

    /// <summary>Temperatures of a module.</summary>
    [JsonStringEnumMemberName("temperatures")] Temperatures,

    /// <summary>The string's current.</summary>
    [JsonStringEnumMemberName("packCurrent")] PackCurrent,

    /// <summary>The string's terminal voltage.</summary>
    [JsonStringEnumMemberName("stringVoltage")] StringVoltage,

    /// <summary>Channels beside the pack.</summary>
    [JsonStringEnumMemberName("auxiliaries")] Auxiliaries,

    /// <summary>The board's own serial, for telling boards apart.</summary>
    [JsonStringEnumMemberName("identity")] Identity,
}

/// <summary>Consecutive fields of a plain line that carry one quantity.</summary>
public sealed record PlainRun
{
    /// <summary>First field of the group it belongs to, say <c>V</c>; empty for a group without one.</summary>
    public string Prefix { get; init; } = "";

    /// <summary>Place of its first field behind the prefix, from 1.</summary>
    public int Position { get; init; } = 1;

    /// <summary>What it carries.</summary>
    public PlainQuantity Quantity { get; init; }

    /// <summary>Module it belongs to, by its number on this board, from 1 (cells, temperatures).</summary>
    public int Module { get; init; } = 1;

    /// <summary>Cell, sensor or auxiliary of the first field, from 1.</summary>
    public int First { get; init; } = 1;

    /// <summary>How many fields; 0 means all the module has.</summary>
    public int Count { get; init; }

    /// <summary>Factor to V, degC or A, say 0.001 for mV; not 0.</summary>
    public double Scale { get; init; } = 1;

    /// <summary>Added after scaling.</summary>
    public double Offset { get; init; }

    /// <summary>Smallest believable value; below it the value is marked out of range. Absent: the default of the quantity.</summary>
    public double? Minimum { get; init; }

    /// <summary>Largest believable value.</summary>
    public double? Maximum { get; init; }
}

/// <summary>How a builder's own plain lines look. They carry no checksum: only length and range can be checked.</summary>
public sealed record PlainLineOptions
{
    /// <summary>Parts fields: one character, or <c>blank</c> for any run of blanks and tabs.</summary>
    public string Separator { get; init; } = ",";

    /// <summary>Parts groups within a line, say <c>;</c>; empty where a line is one group.</summary>
    public string GroupSeparator { get; init; } = "";

    /// <summary>What stands where a value is missing, case ignored.</summary>
    public IReadOnlyList<string> Missing { get; init; } = ["-", "nan", ""];

    /// <summary>Lines that begin with it are comments; empty for none.</summary>
    public string Comment { get; init; } = "";

    /// <summary>The runs of fields; together they must cover their groups without a gap.</summary>
    public IReadOnlyList<PlainRun> Runs { get; init; } = [];

    /// <summary>Fields behind the prefix that are skipped, by prefix: how many the group has in all, where it has more than the runs say.</summary>
    public IReadOnlyDictionary<string, int> FieldCounts { get; init; } = new Dictionary<string, int>(StringComparer.Ordinal);
}

/// <summary>One thing wrong with the options of a front end.</summary>
/// <param name="Field">Path of the field, say <c>signals.cells</c>.</param>
/// <param name="Value">What was given.</param>
/// <param name="Allowed">What is allowed, in words.</param>
/// <param name="Nearest">The valid name nearest to what was given; empty where there is none.</param>
public sealed record OptionProblem(string Field, string Value, string Allowed, string Nearest = "")
{
    /// <summary>The problem as a sentence.</summary>
    public override string ToString() =>
        $"{Field}: '{Value}' is not valid; allowed: {Allowed}.{(Nearest.Length > 0 ? $" Did you mean '{Nearest}'?" : "")}";
}
