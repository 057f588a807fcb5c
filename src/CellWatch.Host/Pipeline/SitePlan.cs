using CellWatch.Core.Engine;
using CellWatch.Core.Estimation;
using CellWatch.Core.History.Runs;
using CellWatch.Core.Inputs;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds;
using CellWatch.FrontEnds.Running;
using CellWatch.Host.Settings;
using CellWatch.Host.Site;
using CellWatch.Host.Time;
using CellWatch.Mqtt;

namespace CellWatch.Host.Pipeline;

/// <summary>Makes a plan out of a site file.</summary>
public static class SitePlan
{
    /// <summary>The plan.</summary>
    /// <param name="site">The checked site.</param>
    /// <param name="file">Full path of its file, which the Settings page writes to.</param>
    public static ServicePlan Of(Site.Site site, string file)
    {
        var document = site.Document;
        var time = new HostTimeProvider();
        var engine = EngineOf(document);
        return new ServicePlan
        {
            Layout = site.Layout,
            Settings = new SettingsDesk(file, document),
            CellType = site.CellType,
            PackRevision = document.PackRevision,
            SnapshotHz = document.SnapshotHz,
            Time = time,
            LogFile = site.LogFile,
            CommitEveryS = document.Log.CommitEveryS,
            Runs = RunsOf(document.Log.Runs, engine.EffectiveRestCurrentA),
            WebPort = document.Web.Port,
            ServiceLogFolder = Path.Combine(site.Folder, "service-log"),
            Mqtt = MqttOf(document, site.LogFile),
            Engine = engine,
            Inputs = [.. document.Inputs.Select(i => new WiredInput(i.Name.Trim(), i.Purpose, SiteInputs.LineOf(i)))],
            Pedal = new PedalKeys(document.Pedal.PresenceKey, document.Pedal.SeenKey),
            FrontEnds = (map, clock, loggers) => Wire(site, map, clock, time, loggers),
        };
    }

    private static EngineOptions EngineOf(SiteDocument document) => new()
    {
        HandCutOff = document.HandCutOff.Length > 0 ? document.HandCutOff : T("your hand cut-off"),
        CurrentSetBy = document.CurrentSetBy,
        CapacityAh = document.CapacityAh > 0 ? document.CapacityAh : null,
        TerminationA = document.TerminationA > 0 ? document.TerminationA : null,
        PresenceMinutes = document.PresenceMinutes,
        BleedOhm = document.BleedOhm,
        BalanceAtPercent = document.BalanceAtPercent,
        ChargerLimitA = document.ChargerLimitA > 0 ? document.ChargerLimitA : null,
        TemperatureProfile = ChargeTemperatureProfile.All.First(p => p.Name == document.TemperatureProfile),
        TimeZone = document.TimeZone.Length > 0 ? TimeZoneInfo.FindSystemTimeZoneById(document.TimeZone) : TimeZoneInfo.Local,
    };

    private static RunRecognition? RunsOf(RunsEntry runs, double restCurrentA) => !runs.Recognise ? null : new RunRecognition
    {
        RestCurrentA = restCurrentA,
        DriveCurrentA = runs.DriveCurrentA > 0 ? runs.DriveCurrentA : 5 * restCurrentA,
        ChargeEndsAfterS = 60 * runs.ChargeEndsAfterMin,
        DriveEndsAfterS = 60 * runs.DriveEndsAfterMin,
        RestAfterS = 60 * runs.RestAfterMin,
        StorageAfterDays = runs.StorageAfterDays,
        LongestGapS = runs.LongestGapS,
    };

    private static List<WiredFrontEnd> Wire(Site.Site site, ChannelMap map, PackClock clock, TimeProvider time, ILoggerFactory loggers)
    {
        var log = loggers.CreateLogger("CellWatch.FrontEnds");
        var context = new FrontEndContext(time, () => clock.ElapsedUs, FrontEndNotes.To(log));
        var wired = new List<WiredFrontEnd>();
        foreach (var written in site.Document.FrontEnds)
        {
            var options = SiteFrontEnds.Expand(written, site.Folder);
            var inbox = new ReadingInbox(map, options.Name, Origin.Measured);
            wired.Add(new WiredFrontEnd(FrontEndFactory.Create(options, map, inbox, context), inbox));
        }

        return wired;
    }

    private static MqttPlan? MqttOf(SiteDocument document, string logFile)
    {
        if (!document.Mqtt.Enabled) return null;
        var mqtt = document.Mqtt;
        var publisher = new PublisherOptions
        {
            Host = mqtt.Host.Length > 0 ? mqtt.Host : "127.0.0.1",
            Port = mqtt.Port,
            User = mqtt.User.Length > 0 ? mqtt.User : null,
            Password = mqtt.PasswordVariable.Length > 0 ? Environment.GetEnvironmentVariable(mqtt.PasswordVariable) : null,
            Tls = mqtt.Tls,
            SnapshotPeriod = TimeSpan.FromSeconds(1 / document.SnapshotHz),
        };
        return new MqttPlan(publisher, mqtt.Host.Length > 0 ? null : new EmbeddedBrokerOptions { Port = mqtt.Port, RetainedPath = Path.ChangeExtension(logFile, ".retained") });
    }
}
