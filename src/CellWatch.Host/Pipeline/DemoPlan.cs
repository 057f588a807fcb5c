using System.Globalization;
using System.Text.Json;
using CellWatch.Core.Engine;
using CellWatch.Core.History.Runs;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Running;
using CellWatch.Host.Settings;
using CellWatch.Host.Site;
using CellWatch.Host.Time;
using CellWatch.Mqtt;
using CellWatch.Simulation;
using CellWatch.Simulation.Stories;

namespace CellWatch.Host.Pipeline;

/// <summary>Makes a plan out of a story of the simulated pack: emulated boards on pipes, read by the real front ends.</summary>
public static class DemoPlan
{
    /// <summary>Distance of the snapshots of the simulated past, s: enough for a curve, and quickly done.</summary>
    public const int PastEveryS = 10;

    // Periods the clock may run ahead of the last scan: more than a scan by the clock waits (ScanPace.LatestPart), less than the log calls a gap.
    private const double LeadPeriods = 2;

    /// <summary>The plan.</summary>
    /// <param name="story">What to play.</param>
    /// <param name="timeFactor">Pace; null for the story's own.</param>
    /// <param name="folder">Where log and messages go.</param>
    /// <param name="webPort">Port of the pages.</param>
    /// <param name="mqttPort">Port of the embedded broker; 0 for a free one, null for no broker.</param>
    /// <param name="snapshotHz">Scans a second of the simulated clock.</param>
    /// <param name="language">Language as it was asked for, for the process that enters the sample project.</param>
    public static ServicePlan Of(Story story, double? timeFactor, string folder, int webPort, int? mqttPort, double snapshotHz = 2, string language = English)
    {
        var clock = SimulatedSite.CreateClock(story, timeFactor);
        clock.Hold();
        var lead = TimeSpan.FromSeconds(LeadPeriods / snapshotHz);
        var site = new SimulatedSite(story, clock);
        var logFile = Path.Combine(folder, string.Create(CultureInfo.InvariantCulture, $"{site.Layout.SiteName}-SIMULATED.cells.db"));
        return new ServicePlan
        {
            Layout = site.Layout,
            Settings = new SettingsDesk("", Written(site, story, snapshotHz, webPort), T("SIMULATED: the demo has no site file, so nothing can be changed here. A pack of your own has one: cellwatch new site.json")),
            CellType = site.CellType,
            PackRevision = "C",
            SnapshotHz = snapshotHz,
            Time = clock,
            LogFile = logFile,
            WebPort = webPort,
            ServiceLogFolder = folder,
            Engine = new EngineOptions
            {
                HandCutOff = story.HandCutOff,
                CapacityAh = PetrelPack.NominalAh,
                TerminationA = story.TerminationA,
                // A person lives in real time: the question comes every half hour of it, however fast the pack's clock runs.
                PresenceMinutes = Math.Min(240, 30 * clock.Factor),
            },
            // However fast the pack's clock runs, two scans are no gap.
            Runs = new RunRecognition { LongestStepS = Math.Max(15, clock.Factor), LongestGapS = Math.Max(60, 4 * clock.Factor) },
            Mqtt = mqttPort is { } port
                ? new MqttPlan(new PublisherOptions { Simulated = true, SnapshotPeriod = TimeSpan.FromSeconds(1 / snapshotHz) }, new EmbeddedBrokerOptions { Port = port })
                : null,
            Proven = _ => site.Proofs.Select(proof => proof.Channel),
            FrontEnds = (map, packClock, loggers) => Wire(site, map, packClock, loggers),
            Sample = new Bench.BenchSample(Bench.PetrelProject.Site(Bench.SampleProject.Version, story), story.Name, language),
            Simulation = new SimulatedPart(
                clock.Factor, site.Controls, story.PastS, (opening, take) => site.PlayPast(opening, PastEveryS, take), clock.Resume, () => clock.LetRun(lead), site.RunAsync, leap => site.Controls.Leap = leap),
        };
    }

    // What the demo goes by, as a site file would say it.
    private static SiteDocument Written(SimulatedSite site, Story story, double snapshotHz, int webPort) => new()
    {
        Site = site.Layout.SiteName,
        PackRevision = "C",
        CellType = site.CellType.Name,
        Limits = JsonSerializer.SerializeToElement(site.CellType.Limits, SiteFile.Json),
        CapacityAh = PetrelPack.NominalAh,
        TerminationA = story.TerminationA,
        HandCutOff = story.HandCutOff,
        SnapshotHz = snapshotHz,
        Web = new WebEntry { Port = webPort },
    };

    private static List<WiredFrontEnd> Wire(SimulatedSite site, ChannelMap map, PackClock clock, ILoggerFactory loggers)
    {
        var context = new FrontEndContext(site.Clock, () => clock.ElapsedUs, FrontEndNotes.To(loggers.CreateLogger("CellWatch.FrontEnds")));
        var wired = new List<WiredFrontEnd>();
        foreach (var board in site.Boards)
        {
            var inbox = new ReadingInbox(map, board.Plan.Name, Origin.Simulated);
            wired.Add(new WiredFrontEnd(board.CreateFrontEnd(map, inbox, context), inbox));
        }

        return wired;
    }
}
