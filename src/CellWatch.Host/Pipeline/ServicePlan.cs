using CellWatch.Core.Engine;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Inputs;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Time;
using CellWatch.Mqtt;

namespace CellWatch.Host.Pipeline;

/// <summary>A front end and the inbox it posts to.</summary>
/// <param name="FrontEnd">The front end.</param>
/// <param name="Inbox">Its inbox.</param>
public sealed record WiredFrontEnd(IFrontEnd FrontEnd, ReadingInbox Inbox);

/// <summary>What the simulation adds to a plan.</summary>
/// <param name="TimeFactor">How many times as fast as real time the clock runs.</param>
/// <param name="Strip">What a person can do to the pack.</param>
/// <param name="HistoryS">Length of the past that is already there when the service opens, s.</param>
/// <param name="PlayPast">Plays that past, one snapshot after the other; the buffer is reused.</param>
/// <param name="Begin">Lets the clock run, which stood still while the past was played: there is no gap between past and present.</param>
/// <param name="LetRun">Lets the clock run on by a few scans and no further: called when one is taken and the boards have spoken.</param>
/// <param name="RunAsync">Runs the emulated boards.</param>
/// <param name="UseLeap">Hands over who stands still while the story leaps.</param>
public sealed record SimulatedPart(
    double TimeFactor, ISimulationStrip Strip, double HistoryS, Action<SnapshotTime, Action<SnapshotBuffer>> PlayPast,
    Action Begin, Action LetRun, Func<CancellationToken, Task> RunAsync, Action<Simulation.Controls.IStoryLeap> UseLeap);

/// <summary>Everything a running service is made of; a real site and the demo both end as one of these.</summary>
public sealed record ServicePlan
{
    /// <summary>The pack.</summary>
    public required PackLayout Layout { get; init; }

    /// <summary>The cell type; null where none is chosen.</summary>
    public CellType? CellType { get; init; }

    /// <summary>The engine's settings.</summary>
    public required EngineOptions Engine { get; init; }

    /// <summary>Revision of the pack's wiring.</summary>
    public string PackRevision { get; init; } = "";

    /// <summary>Scans a second.</summary>
    public required double SnapshotHz { get; init; }

    /// <summary>Age limits.</summary>
    public Freshness Freshness { get; init; } = new();

    /// <summary>The clock everything runs on.</summary>
    public required TimeProvider Time { get; init; }

    /// <summary>Makes the front ends.</summary>
    public required Func<ChannelMap, PackClock, ILoggerFactory, IReadOnlyList<WiredFrontEnd>> FrontEnds { get; init; }

    /// <summary>Channels with a valid proof.</summary>
    public Func<ChannelMap, IEnumerable<int>> Proven { get; init; } = _ => [];

    /// <summary>Full path of the cell log.</summary>
    public required string LogFile { get; init; }

    /// <summary>Seconds between commits.</summary>
    public double CommitEveryS { get; init; } = 1;

    /// <summary>When runs are recognised by themselves; null for never.</summary>
    public Core.History.Runs.RunRecognition? Runs { get; init; } = new();

    /// <summary>MQTT; null publishes nothing.</summary>
    public MqttPlan? Mqtt { get; init; }

    /// <summary>Port of the pages on loopback; 0 for a free one.</summary>
    public required int WebPort { get; init; }

    /// <summary>Folder of the service log; null for the console alone.</summary>
    public string? ServiceLogFolder { get; init; }

    /// <summary>Switches wired to this machine.</summary>
    public IReadOnlyList<WiredInput> Inputs { get; init; } = [];

    /// <summary>Keys a foot pedal at a browser sends.</summary>
    public PedalKeys Pedal { get; init; } = PedalKeys.None;

    /// <summary>The simulated part; null with real instruments.</summary>
    public SimulatedPart? Simulation { get; init; }

    /// <summary>Records the bench of a simulated pack begins with; null for an empty bench.</summary>
    public Bench.BenchSample? Sample { get; init; }

    /// <summary>The settings as pages read and change them.</summary>
    public required Settings.SettingsDesk Settings { get; init; }

    /// <summary>Whether the pack is simulated.</summary>
    public bool Simulated => Simulation is not null;
}

/// <summary>Where is published.</summary>
/// <param name="Publisher">Client settings.</param>
/// <param name="Embedded">Broker inside this service; null for an external one.</param>
public sealed record MqttPlan(PublisherOptions Publisher, EmbeddedBrokerOptions? Embedded);
