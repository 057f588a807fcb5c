using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.History;
using CellWatch.Core.Imbalance;
using CellWatch.Core.Inputs;
using CellWatch.Core.Live;
using CellWatch.Core.Settings;
using CellWatch.Core.Snapshots;
using CellWatch.Dashboard;
using CellWatch.Host.Api;
using CellWatch.Host.Api.History;
using CellWatch.Host.Bench;
using CellWatch.Host.Logging;
using CellWatch.Host.Settings;
using CellWatch.Host.Time;
using CellWatch.Log;
using CellWatch.Log.BenchRecords;
using CellWatch.Mqtt;
using Serilog;

namespace CellWatch.Host.Pipeline;

/// <summary>
/// The composition root: makes the line of DEVELOPERS.md out of a plan.
/// <code>front ends -> inboxes -> assembler -> engine -> (cell log, MQTT, live view); commands in by the door; pages and API out</code>
/// </summary>
public static class ServiceHost
{
    /// <summary>Builds the service; the caller runs it.</summary>
    public static WebApplication Build(ServicePlan plan)
    {
        var logger = ServiceLog.Create(plan.ServiceLogFolder, plan.Simulated);
        var builder = LocalPages.CreateBuilder(plan.WebPort);
        builder.Host.UseSystemd();
        builder.Services.AddSerilog(logger, dispose: true);
        builder.Services.Configure<HostOptions>(options => options.ShutdownTimeout = TimeSpan.FromSeconds(10));

        AddPack(builder.Services, plan);
        AddPagesAndApi(builder.Services, plan);

        var app = builder.Build();
        app.UseExceptionHandler();
        app.UseStatusCodePages();
        app.UseLoopbackOnly();
        app.MapHttpApi();
        app.MapAdviceApi();
        app.MapBenchApi(LoopbackOnly.CommandFilter, LoopbackOnly.OwnPagesFilter);
        app.MapHistoryApi(LoopbackOnly.CommandFilter, LoopbackOnly.OwnPagesFilter);
        app.MapCellWatchDashboard();
        return app;
    }

    private static void AddPack(IServiceCollection services, ServicePlan plan)
    {
        var hostTime = plan.Time as HostTimeProvider ?? new HostTimeProvider();
        services.AddSingleton(plan);
        services.AddSingleton(hostTime);
        services.AddSingleton(new ChannelMap(plan.Layout));
        services.AddSingleton(new PackClock(plan.Time, (long)(1e6 * (plan.Simulation?.HistoryS ?? 0))));
        services.AddSingleton(s => plan.FrontEnds(s.GetRequiredService<ChannelMap>(), s.GetRequiredService<PackClock>(), s.GetRequiredService<ILoggerFactory>()));

        services.AddSingleton(s => new PackEngine(s.GetRequiredService<ChannelMap>(), plan.CellType, WithInstruments(plan.Engine, s.GetRequiredService<IReadOnlyList<WiredFrontEnd>>())));
        services.AddSingleton(s => CellLog.Open(plan.LogFile, new CellLogOptions { CommitEveryS = plan.CommitEveryS }, hostTime));
        services.AddSingleton<IRecorder>(s => s.GetRequiredService<CellLog>());
        services.AddSingleton<IHistory>(s => s.GetRequiredService<CellLog>());

        services.AddSingleton<LiveView>();
        services.AddSingleton<ILiveView>(s => s.GetRequiredService<LiveView>());
        services.AddSingleton<IPackStateSink>(s => s.GetRequiredService<IRecorder>());
        services.AddSingleton<IPackStateSink>(s => s.GetRequiredService<LiveView>());
        services.AddSingleton(s => new RunKeeper(plan.Runs, s.GetRequiredService<IRecorder>(), s.GetRequiredService<IHistory>(), s.GetRequiredService<ILogger<RunKeeper>>()));
        services.AddSingleton<IPackStateSink>(s => s.GetRequiredService<RunKeeper>());
        AddMqtt(services, plan);

        services.AddSingleton<CommandDoor>();
        services.AddSingleton<ISettingsDesk>(plan.Settings);
        services.AddSingleton<ICommandDoor>(s => new SettingsDoor(s.GetRequiredService<CommandDoor>(), plan.Settings));
        services.AddSingleton<SinkSet>();
        services.AddSingleton(s => Line(s, plan));
        AddBench(services, plan);
        services.AddSingleton<FrontEndWorker>();
        services.AddSingleton<PackLoop>();
        services.AddSingleton<IAdviceDesk>(s => new AdviceDesk(s.GetRequiredService<PackLine>(), s.GetRequiredService<PackLoop>(), plan.Engine, s.GetRequiredService<ILiveView>()));
        services.AddSingleton(s => new InputWorker(plan.Inputs, s.GetRequiredService<ICommandDoor>(), s.GetRequiredService<ILiveView>(), hostTime, s.GetRequiredService<ILogger<InputWorker>>()));
        services.AddSingleton<IInputDesk>(s => s.GetRequiredService<InputWorker>());
        services.AddHostedService(s => s.GetRequiredService<InputWorker>());
        services.AddSingleton<HistoryFiller>();
        services.AddHostedService(s => s.GetRequiredService<RunKeeper>());
        services.AddHostedService(s => s.GetRequiredService<HistoryFiller>());
        services.AddHostedService(s => s.GetRequiredService<FrontEndWorker>());
        services.AddHostedService(s => s.GetRequiredService<PackLoop>());
        if (plan.Simulation is not { } simulation) return;
        services.AddSingleton(simulation.Strip);
        services.AddSingleton<IPackStateSink>(s => new StoryPace(simulation.LetRun, [.. s.GetRequiredService<IReadOnlyList<WiredFrontEnd>>().Select(w => w.Inbox)], TimeProvider.System));
    }

    private static void AddBench(IServiceCollection services, ServicePlan plan)
    {
        var site = plan.Sample?.Site ?? BenchSite.For(plan.Layout, plan.CellType, plan.Engine.HandCutOff, SampleProject.Version);
        services.AddBench(site, () => SqliteRecordStore.Open(plan.LogFile), plan.Time, plan.Simulated);
        services.AddSingleton(s => new ProofFeed(s.GetRequiredService<BenchDoor>(), s.GetRequiredService<ChannelMap>(), plan.Proven(s.GetRequiredService<ChannelMap>())));
        services.AddSingleton<RunFollower>();
        services.AddSingleton<IRunFollower>(s => s.GetRequiredService<RunFollower>());
        services.AddHostedService(s => s.GetRequiredService<RunFollower>());
        if (plan.Simulation?.Strip is ISimulatedLoad load) services.AddSingleton(load);
        services.AddSingleton<IRunCloser, LogCloser>();
        services.AddSingleton<IChargeMaker, LogChargeMaker>();
        services.AddSingleton<ILiveProofs, LiveProofs>();
        services.AddSingleton<RhythmPlayer>();
        services.AddSingleton<IRhythmDesk>(s => s.GetRequiredService<RhythmPlayer>());
        services.AddHostedService<ConnectorGuard>();
        if (plan.Sample is not { } sample) return;
        services.AddSingleton(sample);
        services.AddHostedService<SampleFiller>();
    }

    private static PackLine Line(IServiceProvider services, ServicePlan plan)
    {
        var map = services.GetRequiredService<ChannelMap>();
        var wired = services.GetRequiredService<IReadOnlyList<WiredFrontEnd>>();
        var inboxes = wired.Select(w => w.Inbox).ToList();
        var assembler = new Assembler(map, inboxes, plan.Freshness);
        var publisher = services.GetService<MqttPublisher>();
        return new PackLine(
            map, assembler, services.GetRequiredService<PackEngine>(), [.. wired.Select(w => w.FrontEnd)], inboxes, TimeSpan.FromSeconds(1 / plan.SnapshotHz),
            plan.Time, services.GetRequiredService<PackClock>(), publisher is null ? () => new SendingView(true, T("MQTT is off")) : () => publisher.Sending);
    }

    private static EngineOptions WithInstruments(EngineOptions options, IReadOnlyList<WiredFrontEnd> wired) => options with
    {
        Instruments = [.. wired.Select(w => new Instrument($"instrument {w.FrontEnd.Name}", w.FrontEnd.Health.Channels, T($"instrument {w.FrontEnd.Name}")))],
    };

    private static void AddMqtt(IServiceCollection services, ServicePlan plan)
    {
        if (plan.Mqtt is not { } mqtt) return;
        services.AddSingleton<IOutbox>(_ => new FileOutbox(Path.ChangeExtension(plan.LogFile, ".outbox")));
        if (mqtt.Embedded is { } embedded)
        {
            services.AddSingleton(s => new EmbeddedBroker(embedded, new Topics(plan.Layout.SiteName), s.GetRequiredService<HostTimeProvider>(), s.GetRequiredService<ILogger<EmbeddedBroker>>()));
        }

        services.AddSingleton(s => new MqttPublisher(
            plan.Layout.SiteName, mqtt.Publisher, s.GetRequiredService<IOutbox>(), s.GetRequiredService<HostTimeProvider>(), s.GetRequiredService<ILogger<MqttPublisher>>(), s.GetService<EmbeddedBroker>()));
        services.AddSingleton<IPackStateSink>(s => s.GetRequiredService<MqttPublisher>());
        services.AddHostedService(s => s.GetRequiredService<MqttPublisher>());
    }

    private static NightSetup? NightOf(ServicePlan plan)
    {
        var curve = OcvCurves.Find(plan.CellType?.OcvCurve);
        return curve is not null && plan.Engine.CapacityAh is { } capacityAh ? new NightSetup(curve, capacityAh) { BleedOhm = plan.Engine.BleedOhm } : null;
    }

    private static void AddPagesAndApi(IServiceCollection services, ServicePlan plan)
    {
        services.AddHttpApi();
        services.AddCellWatchDashboard(pages =>
        {
            pages.SiteName = plan.Layout.SiteName;
            pages.PackRevision = plan.PackRevision;
            pages.HandCutOffName = plan.Engine.HandCutOff;
            pages.TimeFactor = plan.Simulation?.TimeFactor ?? 1;
            pages.Simulated = plan.Simulated;
            pages.HasHistoryDoor = true;
            pages.TimeZone = plan.Engine.TimeZone;
            pages.Pedal = plan.Pedal;
            pages.Night = NightOf(plan);
        });
    }
}
