using Bunit;
using CellWatch.Core.Commands;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Testing.Pages;
using Microsoft.AspNetCore.Components;
using Microsoft.Extensions.DependencyInjection;
using MudBlazor.Services;
using Xunit;

namespace CellWatch.Dashboard.Tests;

/// <summary>A page or part under test, with a scripted pack, a door that keeps commands, and a browser that answers nothing.</summary>
public abstract class PageTest : BunitContext, IAsyncLifetime
{
    // Only a failing test waits so long; a busy machine may take more than the usual second to draw a page.
    static PageTest() => DefaultWaitTimeout = TimeSpan.FromSeconds(20);

    protected PageTest()
    {
        JSInterop.Mode = JSRuntimeMode.Loose;
        Services.AddMudServices();
        Services.AddSingleton<ILiveView>(Live);
        Services.AddSingleton<ICommandDoor>(Door);
        Services.AddSingleton<IRecentStrip>(_ => new RecentStrip(Live));
        Services.AddSingleton<IHourAgo>(Earlier);
        Services.AddSingleton(TimeProvider.System);
        Services.AddScoped<PersonAtThePage>();
        Services.AddScoped<PageKeys>();
        Services.AddOptions<DashboardOptions>();
    }

    protected ScriptedLiveView Live { get; } = new();

    protected CollectingCommandDoor Door { get; } = new();

    protected EarlierCells Earlier { get; } = new();

    protected DashboardOptions Options { get; } = new() { HandCutOffName = "red button on the station" };

    protected IRenderedComponent<T> Show<T>(PackState? state, Action<ComponentParameterCollectionBuilder<T>>? more = null)
        where T : IComponent
    {
        Live.Show(state);
        return Render<T>(p =>
        {
            p.AddCascadingValue(new Picture(state, Options));
            more?.Invoke(p);
        });
    }

    /// <summary>
    /// Presses or types on the renderer's own thread: the page can't be drawn anew between finding the thing and pressing it,
    /// and the press is over when this returns. From outside, a busy renderer would take the press later.
    /// </summary>
    protected static void Do<T>(IRenderedComponent<T> page, Action<IRenderedComponent<T>> press)
        where T : IComponent
        => page.InvokeAsync(() => press(page)).GetAwaiter().GetResult();

    /// <summary>What a test says of the last hour; of the other cells nothing is known.</summary>
    protected sealed class EarlierCells : IHourAgo
    {
        public Dictionary<int, double> V { get; } = [];

        public double PackCurrentA { get; set; } = double.NaN;

        public double MovedV(int cell) => V.GetValueOrDefault(cell, double.NaN);
    }

    public Task InitializeAsync() => Task.CompletedTask;

    async Task IAsyncLifetime.DisposeAsync() => await DisposeAsync();
}
