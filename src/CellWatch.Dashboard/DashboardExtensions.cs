using CellWatch.Core.History;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Strips;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.Hosting;
using Microsoft.AspNetCore.Http;
using Microsoft.Extensions.DependencyInjection;
using Microsoft.Extensions.DependencyInjection.Extensions;
using Microsoft.Extensions.Logging;
using MudBlazor.Services;

namespace CellWatch.Dashboard;

/// <summary>The two lines a host needs to serve the pages.</summary>
public static class DashboardExtensions
{
    /// <summary>
    /// Registers the pages. The host registers beside it <c>ILiveView</c> and <c>ICommandDoor</c>, and <c>ISimulationStrip</c> only when
    /// the pack is simulated. With <c>IHistory</c> the time foot and the day of alarms also know what was before the start.
    /// </summary>
    public static IServiceCollection AddCellWatchDashboard(this IServiceCollection services, Action<DashboardOptions>? configure = null)
    {
        var options = services.AddOptions<DashboardOptions>();
        if (configure is not null) options.Configure(configure);
        services.AddRazorComponents().AddInteractiveServerComponents();
        services.AddMudServices();
        services.TryAddSingleton(TimeProvider.System);
        services.AddSingleton<RecentStrip>();
        services.AddSingleton<IRecentStrip>(s => s.GetRequiredService<RecentStrip>());
        services.AddHostedService(s => new RecentRecall(s.GetRequiredService<RecentStrip>(), s.GetRequiredService<ILiveView>(), s.GetService<IHistory>(), s.GetRequiredService<ILogger<RecentRecall>>()));
        services.AddHostedService(s => new TraceWarmUp(s.GetRequiredService<ILiveView>(), s.GetService<IHistory>(), s.GetRequiredService<ILogger<TraceWarmUp>>()));
        services.AddSingleton(s => new HourAgo(s.GetRequiredService<ILiveView>(), s.GetService<IHistory>(), s.GetRequiredService<ILogger<HourAgo>>()));
        services.AddSingleton<IHourAgo>(s => s.GetRequiredService<HourAgo>());
        services.AddHostedService(s => s.GetRequiredService<HourAgo>());
        services.AddScoped<PersonAtThePage>();
        services.AddScoped<PageKeys>();
        return services;
    }

    /// <summary>
    /// Maps the pages, their scripts and styles. Call it after authentication and other middleware: forms are checked against forgery
    /// from here on.
    /// </summary>
    public static WebApplication MapCellWatchDashboard(this WebApplication app)
    {
        app.UsePagePolicy();
        app.UseAntiforgery();
        app.MapStaticAssets();
        // A worker serves what lies under its own address, so it stands at the root.
        app.MapGet("/notice-worker.js", (IWebHostEnvironment host) => host.WebRootFileProvider.GetFileInfo("_content/CellWatch.Dashboard/notice-worker.js") is { Exists: true } file
            ? Results.Stream(file.CreateReadStream(), "text/javascript")
            : Results.NotFound());
        app.MapRazorComponents<App>().WithStaticAssets().AddInteractiveServerRenderMode(o => o.ContentSecurityFrameAncestorsPolicy = null);
        return app;
    }
}
