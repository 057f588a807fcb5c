using CellWatch.Core.Commands;
using CellWatch.Core.Live;
using CellWatch.Dashboard;
using CellWatch.Host.Api;

namespace CellWatch.Host.Pipeline;

/// <summary>The pages without a pack, for the first start: they open at the first-run guide, and nothing is read, kept or sent.</summary>
public static class GuideHost
{
    /// <summary>Builds it; the caller runs it.</summary>
    /// <param name="port">Port on loopback.</param>
    public static WebApplication Build(int port)
    {
        var builder = LocalPages.CreateBuilder(port);
        builder.Logging.SetMinimumLevel(LogLevel.Warning);
        builder.Services.AddSingleton<ILiveView, LiveView>();
        builder.Services.AddSingleton<ICommandDoor, NobodyThere>();
        builder.Services.AddCellWatchDashboard();
        var app = builder.Build();
        app.UseLoopbackOnly();
        app.Use((context, next) =>
        {
            if (context.Request.Path != "/") return next(context);
            context.Response.Redirect("/first-run");
            return Task.CompletedTask;
        });
        app.UseRouting();
        app.MapCellWatchDashboard();
        return app;
    }

    private sealed class NobodyThere : ICommandDoor
    {
        public Task<CommandAnswer> SubmitAsync(PackCommand command, CancellationToken cancellation = default) =>
            Task.FromResult(new CommandAnswer(false, T("There is no pack yet: begin with the first run.")));
    }
}
