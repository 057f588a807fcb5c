using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using CellWatch.Core.History;
using CellWatch.Host.Api;
using CellWatch.Host.Api.History;
using CellWatch.Host.Time;
using CellWatch.Log;
using CellWatch.Testing;
using Microsoft.AspNetCore.Builder;
using Microsoft.AspNetCore.TestHost;
using Microsoft.Extensions.DependencyInjection;

namespace CellWatch.EndToEnd.Tests.History;

/// <summary>The record's HTTP door in process, over a log of its own.</summary>
internal sealed class HistoryServer : IAsyncDisposable
{
    private readonly TemporaryFolder _folder;
    private readonly WebApplication _app;

    private HistoryServer(TemporaryFolder folder, WebApplication app, CellLog log) => (_folder, _app, Log, Client) = (folder, app, log, app.GetTestClient());

    public CellLog Log { get; }

    public HttpClient Client { get; }

    public static async Task<HistoryServer> StartAsync()
    {
        var folder = new TemporaryFolder();
        var log = CellLog.Open(folder.File());
        var builder = WebApplication.CreateSlimBuilder();
        builder.WebHost.UseTestServer();
        builder.Services.AddHttpApi();
        builder.Services.AddSingleton<IHistory>(log);
        builder.Services.AddSingleton<IRecorder>(log);
        builder.Services.AddSingleton(new PackClock(TimeProvider.System));
        var app = builder.Build();
        app.UseExceptionHandler();
        app.UseStatusCodePages();
        app.MapHistoryApi(LoopbackOnly.CommandFilter, LoopbackOnly.OwnPagesFilter);
        await app.StartAsync();
        return new HistoryServer(folder, app, log);
    }

    public async Task<JsonNode> GetAsync(string path) => JsonNode.Parse(await Client.GetStringAsync($"/history/{path}"))!;

    public async Task<JsonNode> PostAsync(string path, object body, HttpStatusCode expected)
    {
        using var answer = await Client.PostAsJsonAsync($"/history/{path}", body);
        var text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.StatusCode == expected, $"{path}: {answer.StatusCode} {text}");
        return JsonNode.Parse(text.Length == 0 ? "{}" : text)!;
    }

    /// <summary>Asks for something that must be refused, and gives the sentence; the answer must be problem details (RFC 9457).</summary>
    public async Task<string> RefusedAsync(string path, HttpStatusCode expected = HttpStatusCode.BadRequest)
    {
        using var answer = await Client.GetAsync($"/history/{path}");
        return await ProblemAsync(answer, expected);
    }

    public static async Task<string> ProblemAsync(HttpResponseMessage answer, HttpStatusCode expected)
    {
        var text = await answer.Content.ReadAsStringAsync();
        Assert.True(answer.StatusCode == expected, $"{answer.StatusCode}: {text}");
        Assert.Equal("application/problem+json", answer.Content.Headers.ContentType?.MediaType);
        var problem = JsonNode.Parse(text)!;
        Assert.Equal((int)expected, (int)problem["status"]!);
        Assert.NotEmpty((string)problem["title"]!);
        return (string?)problem["detail"] ?? "";
    }

    public async ValueTask DisposeAsync()
    {
        Client.Dispose();
        await _app.DisposeAsync();
        await Log.DisposeAsync();
        _folder.Dispose();
    }
}
