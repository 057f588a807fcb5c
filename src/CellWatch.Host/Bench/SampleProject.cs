using System.CommandLine;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Host.Api;
using CellWatch.Host.CommandLine;
using CellWatch.Log.BenchRecords;
using CellWatch.Simulation.Stories;

namespace CellWatch.Host.Bench;

/// <summary>Makes the sample project's file, by the HTTP door like a person's entries, and serves it on this machine.</summary>
public static class SampleProject
{
    /// <summary>Makes the file where it is missing, then serves until stopped.</summary>
    /// <param name="file">The project's file.</param>
    /// <param name="port">Port of the door; 0 for a free one.</param>
    /// <param name="makeOnly">Ends when the file is there.</param>
    /// <param name="upTo">A story and the instant it opens at, for the project as it stood then; null for the whole.</param>
    /// <param name="console">Where it says what it does.</param>
    /// <param name="cancellation">Stops it.</param>
    public static async Task<int> Run(FileInfo file, int port, bool makeOnly, (Story Story, DateTimeOffset Opening)? upTo, InvocationConfiguration console, CancellationToken cancellation)
    {
        var site = upTo is { } told ? PetrelProject.Site(Version, told.Story) : PetrelProject.Site(Version);
        try
        {
            if (!file.Exists)
            {
                console.Output.WriteLine("Making the sample project: every figure is simulated by the project's own model.");
                await Make(file.FullName, upTo is { } then ? PetrelProject.Until(then.Story.Name, then.Opening) : new PetrelProject().Steps(), site, cancellation);
            }

            if (makeOnly)
            {
                console.Output.WriteLine($"{file.FullName} is there.");
                return ExitCode.Ok;
            }

            await using var app = Build(site, () => SqliteRecordStore.Open(file.FullName), TimeProvider.System, port);
            await app.StartAsync(cancellation);
            console.Output.WriteLine($"The Petrel's project, SIMULATED: {app.Urls.First()}/bench/index.html   Stop with Ctrl+C.");
            await Task.Delay(Timeout.Infinite, cancellation).ContinueWith(_ => { }, CancellationToken.None, TaskContinuationOptions.None, TaskScheduler.Default);
            return ExitCode.Ok;
        }
        catch (Exception fault) when (fault is IOException or InvalidDataException or UnauthorizedAccessException)
        {
            console.Error.WriteLine(fault.Message);
            return ExitCode.Failed;
        }
    }

    /// <summary>Makes the file. A half-made one is never left under its name.</summary>
    private static async Task Make(string path, IEnumerable<ProjectStep> steps, BenchSite site, CancellationToken cancellation)
    {
        var half = path + ".making";
        foreach (var left in new[] { half, half + "-wal", half + "-shm" }) File.Delete(left);
        await EnterAsync(site, steps, () => SqliteRecordStore.Open(half), cancellation);
        File.Move(half, path);
    }

    /// <summary>Version as the records of a sample carry it.</summary>
    public static string Version => typeof(SampleProject).Assembly.GetName().Version?.ToString(3) ?? "";

    /// <summary>Enters steps through a door of their own, each at its own time.</summary>
    /// <param name="site">Whose records.</param>
    /// <param name="steps">What is entered.</param>
    /// <param name="store">Where to.</param>
    /// <param name="cancellation">Ends it between two steps.</param>
    /// <exception cref="InvalidDataException">A step was refused: the sample and the program do not fit each other.</exception>
    public static async Task EnterAsync(BenchSite site, IEnumerable<ProjectStep> steps, Func<IRecordStore> store, CancellationToken cancellation)
    {
        var clock = new StepTime();
        await using var app = Build(site, store, clock, 0);
        await app.StartAsync(cancellation);
        using var http = new HttpClient { BaseAddress = new Uri(app.Urls.First()) };
        foreach (var step in steps)
        {
            clock.Now = step.At;
            using var answer = await step.SendAsync(http, cancellation);
            if (!answer.IsSuccessStatusCode)
                throw new InvalidDataException($"The sample's step {step.Path} at {step.At:yyyy-MM-dd} was refused: {await answer.Content.ReadAsStringAsync(cancellation)}");
        }
    }

    private static WebApplication Build(BenchSite site, Func<IRecordStore> store, TimeProvider time, int port)
    {
        var builder = WebApplication.CreateSlimBuilder();
        builder.Logging.ClearProviders();
        builder.WebHost.ConfigureKestrel(kestrel =>
        {
            kestrel.Limits.MaxRequestBodySize = 64 << 20;
            kestrel.Listen(System.Net.IPAddress.Loopback, port);
        });
        builder.Services.AddProblemDetails();
        builder.Services.AddBench(site, store, time, simulated: true);
        var app = builder.Build();
        app.UseLoopbackOnly();
        app.MapBenchApi(LoopbackOnly.CommandFilter, LoopbackOnly.OwnPagesFilter);
        return app;
    }

    private sealed class StepTime : TimeProvider
    {
        public DateTimeOffset Now { get; set; }

        public override TimeZoneInfo LocalTimeZone => TimeZoneInfo.Utc;

        public override DateTimeOffset GetUtcNow() => Now;
    }
}
