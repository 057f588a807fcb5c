using System.Net;
using System.Net.Http.Headers;
using System.Text.Json.Nodes;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;

namespace CellWatch.EndToEnd.Tests.History;

/// <summary>Files attached to the record over HTTP.</summary>
public class AttachmentApiTests
{
    /// <summary>The eight bytes a PNG begins with (ISO/IEC 15948, 5.2), then something.</summary>
    private static readonly byte[] Png = [0x89, 0x50, 0x4E, 0x47, 0x0D, 0x0A, 0x1A, 0x0A, 1, 2, 3, 4, 5];

    [Fact]
    public async Task A_photograph_is_attached_to_a_run_and_given_back_as_it_was_sent()
    {
        await using var server = await HistoryServer.StartAsync();
        var run = (long)(await server.PostAsync("runs", new { kind = "charge", title = "first charge", by = "Ada" }, HttpStatusCode.Created))["id"]!;
        using var made = await SendAsync(server, $"name=link%203.png&by=Ada&run={run}", Png, "image/png");
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        Assert.Equal("/history/attachments", made.Headers.Location!.OriginalString);

        var about = Assert.Single((await server.GetAsync("attachments")).AsArray())!;
        Assert.Equal(("link 3.png", "image/png", "Ada", run, Png.Length), ((string)about["name"]!, (string)about["mediaType"]!, (string)about["by"]!, (long)about["run"]!, (long)about["length"]!));
        using var content = await server.Client.GetAsync((string)about["content"]!);
        Assert.Equal(Png, await content.Content.ReadAsByteArrayAsync());
        Assert.Equal("image/png", content.Content.Headers.ContentType!.MediaType);
        Assert.Equal("attachment", content.Content.Headers.ContentDisposition!.DispositionType);
        Assert.Equal("nosniff", content.Headers.GetValues("X-Content-Type-Options").Single());
    }

    [Fact]
    public async Task An_attachment_about_an_event_lies_at_its_instant_and_one_about_a_time_at_that_time()
    {
        await using var server = await HistoryServer.StartAsync();
        server.Log.RecordEvent(EventKinds.Mark, "smell at B07", new SnapshotTime(1, 1_790_000_000_123), "Ada");
        await server.Log.FlushAsync();
        var mark = (long)(await server.GetAsync("events")).AsArray().Single(e => (string)e!["kind"]! == EventKinds.Mark)!["id"]!;
        using (var made = await SendAsync(server, $"name=a.csv&by=Ada&event={mark}", "a,b\r\n"u8.ToArray(), "text/csv")) Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        using (var made = await SendAsync(server, "name=b.csv&by=Ada&time=2026-11-25T02:00:00%2B01:00", "a,b\r\n"u8.ToArray(), "text/csv")) Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        Assert.Equal(
            [DateTimeOffset.FromUnixTimeMilliseconds(1_790_000_000_123), new DateTimeOffset(2026, 11, 25, 1, 0, 0, TimeSpan.Zero)],
            (await server.GetAsync("attachments")).AsArray().Select(a => (DateTimeOffset)a!["time"]!));
    }

    [Theory]
    [InlineData("by=Ada", "image/png", 400, "'name' is missing")]
    [InlineData("name=a.png", "image/png", 400, "Type your name first")]
    [InlineData("name=..%2Fa.png&by=Ada", "image/png", 400, "a character that a file's name may not")]
    [InlineData("name=a%0D%0Ab.png&by=Ada", "image/png", 400, "a character that a file's name may not")]
    [InlineData("name=.png&by=Ada", "image/png", 400, "neither begin nor end with a dot")]
    [InlineData("name=a.html&by=Ada", "image/png", 400, "ends in .png")]
    [InlineData("name=a.jpg&by=Ada", "image/jpeg", 400, "does not begin as image/jpeg does")]
    [InlineData("name=a.png&by=Ada&run=9", "image/png", 404, "no run 9")]
    [InlineData("name=a.png&by=Ada&event=9", "image/png", 404, "no event 9")]
    [InlineData("name=a.png&by=Ada&time=noon", "image/png", 400, "'time' is 'noon'")]
    [InlineData("name=a.png&by=Ada&time=2026-11-25T02:00:00Z&event=1", "image/png", 400, "say two instants")]
    [InlineData("name=a.html&by=Ada", "text/html", 415, "Allowed are image/png")]
    [InlineData("name=a.svg&by=Ada", "image/svg+xml", 415, "Allowed are image/png")]
    [InlineData("name=a.txt&by=Ada", "text/plain", 415, "Allowed are image/png")]
    [InlineData("name=a.png&by=Ada", "multipart/form-data", 415, "Allowed are image/png")]
    [InlineData("name=a.png&by=Ada", "image/pgn", 415, "did you mean 'image/png'?")]
    public async Task What_cannot_be_taken_is_refused_with_a_sentence_and_nothing_is_kept(string query, string mediaType, int status, string sentence)
    {
        await using var server = await HistoryServer.StartAsync();
        using var answer = await SendAsync(server, query, Png, mediaType);
        Assert.Contains(sentence, await HistoryServer.ProblemAsync(answer, (HttpStatusCode)status), StringComparison.Ordinal);
        Assert.Empty((await server.GetAsync("attachments")).AsArray());
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public async Task One_byte_too_many_is_refused_whether_its_length_is_said_or_not_and_the_most_is_taken(bool chunked)
    {
        await using var server = await HistoryServer.StartAsync();
        using var tooLong = await SendAsync(server, "name=a.bin&by=Ada", new byte[(16 * 1024 * 1024) + 1], "application/octet-stream", chunked);
        Assert.Contains("at most 16 MiB", await HistoryServer.ProblemAsync(tooLong, HttpStatusCode.RequestEntityTooLarge), StringComparison.Ordinal);
        using var empty = await SendAsync(server, "name=a.bin&by=Ada", [], "application/octet-stream", chunked);
        Assert.Contains("is empty", await HistoryServer.ProblemAsync(empty, HttpStatusCode.BadRequest), StringComparison.Ordinal);
        Assert.Empty((await server.GetAsync("attachments")).AsArray());
        using var most = await SendAsync(server, "name=a.bin&by=Ada", new byte[16 * 1024 * 1024], "application/octet-stream", chunked);
        Assert.Equal(HttpStatusCode.Created, most.StatusCode);
    }

    [Theory]
    [InlineData("Sec-Fetch-Site", "cross-site")]
    [InlineData("Origin", "http://example.org")]
    public async Task A_strange_page_cannot_attach_anything(string header, string value)
    {
        await using var server = await HistoryServer.StartAsync();
        using var answer = await SendAsync(server, "name=a.png&by=Ada", Png, "image/png", header: (header, value));
        await HistoryServer.ProblemAsync(answer, HttpStatusCode.Forbidden);
        Assert.Empty((await server.GetAsync("attachments")).AsArray());
    }

    private static async Task<HttpResponseMessage> SendAsync(HistoryServer server, string query, byte[] content, string mediaType, bool chunked = false, (string Name, string Value)? header = null)
    {
        using var body = new ByteArrayContent(content);
        body.Headers.ContentType = new MediaTypeHeaderValue(mediaType);
        using var request = new HttpRequestMessage(HttpMethod.Post, $"/history/attachments?{query}") { Content = body };
        if (chunked) request.Headers.TransferEncodingChunked = true;
        if (header is { } h) request.Headers.Add(h.Name, h.Value);
        return await server.Client.SendAsync(request);
    }
}
