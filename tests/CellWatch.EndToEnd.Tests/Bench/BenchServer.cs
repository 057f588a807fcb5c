using System.Net.Http.Json;
using System.Text.Json;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.Register;
using CellWatch.Host.Api;
using CellWatch.Host.Bench;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.TestHost;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>The bench's HTTP door in process, with records in memory or in a file and a clock moved by hand.</summary>
internal sealed class BenchServer : IAsyncDisposable
{
    private readonly WebApplication app;

    private BenchServer(WebApplication app, StepClock clock) => (this.app, Clock, Client) = (app, clock, app.GetTestClient());

    public HttpClient Client { get; }

    public StepClock Clock { get; }

    public T Service<T>()
        where T : notnull => app.Services.GetRequiredService<T>();

    public static async Task<BenchServer> Start(BenchSite? site = null, Func<IRecordStore>? store = null, bool simulated = false, Action<IServiceCollection>? more = null)
    {
        var clock = new StepClock();
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseTestServer();
        builder.Services.AddProblemDetails();
        builder.Services.AddBench(site ?? PetrelProject.Site("test"), store ?? (() => new MemoryRecordStore()), clock, simulated);
        more?.Invoke(builder.Services);
        var app = builder.Build();
        app.MapBenchApi();
        await app.StartAsync();
        return new BenchServer(app, clock);
    }

    /// <summary>Enters something and gives the answer; a refusal fails the test with its sentence.</summary>
    public async Task<JsonElement> Enter(string path, object entry, string by = "Ada", int basedOn = 0)
    {
        var (ok, answer) = await Try(path, entry, by, basedOn);
        Assert.True(ok, answer.ToString());
        return answer;
    }

    /// <summary>Enters something that must be refused and gives the sentence.</summary>
    public async Task<string> Refused(string path, object entry, string by = "Ada", int basedOn = 0)
    {
        var (ok, answer) = await Try(path, entry, by, basedOn);
        Assert.False(ok, answer.ToString());
        return answer.GetProperty("detail").GetString()!;
    }

    public async Task<(bool Ok, JsonElement Answer)> Post(string path, object body)
    {
        var response = await Client.PostAsJsonAsync($"/bench/{path}", body, RecordJson.Options);
        var text = await response.Content.ReadAsStringAsync();
        Assert.True(text.Length > 0, $"{path}: {response.StatusCode} without an answer");
        return (response.IsSuccessStatusCode, JsonDocument.Parse(text).RootElement);
    }

    public async Task<JsonElement> Get(string path) => JsonDocument.Parse(await Client.GetStringAsync($"/bench/{path}")).RootElement;

    public async ValueTask DisposeAsync() => await app.DisposeAsync();

    private Task<(bool Ok, JsonElement Answer)> Try(string path, object entry, string by, int basedOn) => Post(path, new { by, entry, basedOn });
}

/// <summary>Wall time that stands where it was put.</summary>
internal sealed class StepClock : TimeProvider
{
    public DateTimeOffset Now { get; set; } = new(2026, 3, 3, 9, 0, 0, TimeSpan.Zero);

    public override TimeZoneInfo LocalTimeZone => TimeZoneInfo.Utc;

    public override DateTimeOffset GetUtcNow() => Now;
}
