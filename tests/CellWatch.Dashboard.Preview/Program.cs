// Serves the pages with a scripted pack: dotnet run --project tests/CellWatch.Dashboard.Preview -- --scene charging --urls http://127.0.0.1:18120
// --story first-charge --at 1200 plays a story through the engine from that second on.
// GET /scene/NAME changes the scene while it runs, /scene/frozen stops the scans.
using CellWatch.Core.Commands;
using CellWatch.Core.Live;
using CellWatch.Dashboard;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Preview;
using CellWatch.Simulation.Stories;
using CellWatch.Testing.Pages;

var builder = WebApplication.CreateBuilder(args);
builder.WebHost.UseStaticWebAssets();
builder.Logging.SetMinimumLevel(LogLevel.Warning);
var real = builder.Configuration["real"] == "true";
var live = new ScriptedLiveView();
builder.Services.AddSingleton<ILiveView>(live);
var story = builder.Configuration["story"];
StoryPlayer? player = null;
builder.Services.AddSingleton<ICommandDoor>(_ => (ICommandDoor?)player ?? new CollectingCommandDoor { Answer = new CommandAnswer(true, "Written down.") });
if (!real) builder.Services.AddSingleton<ISimulationStrip>(new CollectingSimulationStrip());
builder.Services.AddCellWatchDashboard(o =>
{
    o.PackRevision = "rev C";
    o.HandCutOffName = "red button on the station";
    o.Simulated = !real;
    o.TimeFactor = story is null ? 1 : AllStories.Named(story).TimeFactor;
});

var app = builder.Build();
var scene = builder.Configuration["scene"] ?? "no-data";
app.MapGet("/scene/{name}", (string name) => { scene = name; return scene; });
app.MapCellWatchDashboard();

_ = Task.Run(async () =>
{
    var strip = (RecentStrip)app.Services.GetRequiredService<IRecentStrip>();
    if (story is not null)
    {
        player = new StoryPlayer(story, live);
        player.Play(builder.Configuration.GetValue("at", 0.0));
        using var beat = new PeriodicTimer(TimeSpan.FromMilliseconds(500));
        while (await beat.WaitForNextTickAsync()) player.Play(player.Factor * 0.5);
        return;
    }

    PreviewHistory.Recall(strip, scene);
    using var timer = new PeriodicTimer(TimeSpan.FromMilliseconds(500));
    for (long sequence = 1; await timer.WaitForNextTickAsync(); sequence++)
        if (scene == "none") live.Show(null);
        else if (scene != "frozen") live.Show(Petrel.At(scene, sequence, !real));
});
app.Run();
