using System.Net;
using System.Net.Http.Headers;
using System.Security.Cryptography;
using System.Text;
using System.Text.Json;
using CellWatch.Core.Register;
using CellWatch.Host.CommandLine;
using CellWatch.Host.Reports;
using CellWatch.Log.BenchRecords;
using CellWatch.Simulation.Workshop;
using Microsoft.Data.Sqlite;

namespace CellWatch.EndToEnd.Tests.Bench;

/// <summary>Photographs and files of modules: handed in, kept, read back, printed.</summary>
public sealed class ModuleFileTests : IAsyncLifetime
{
    private static readonly byte[] Picture = DrawnPicture.Module("B07", 6, 3);
    private readonly string path = Path.Combine(Path.GetTempPath(), $"files-{Guid.NewGuid():N}.cellwatch");
    private BenchServer server = null!;

    public async Task InitializeAsync()
    {
        server = await BenchServer.Start(store: () => SqliteRecordStore.Open(path));
        foreach (var id in (string[])["B07", "B08"]) await server.Enter("modules", new { identity = id });
    }

    public async Task DisposeAsync()
    {
        await server.DisposeAsync();
        foreach (var file in Directory.GetFiles(Path.GetTempPath(), Path.GetFileName(path) + "*")) File.Delete(file);
    }

    [Fact]
    public async Task A_photograph_is_kept_with_its_digest_listed_and_read_back_to_the_byte()
    {
        var sha256 = Convert.ToHexStringLower(SHA256.HashData(Picture));
        using var made = await Send("B07", "name=tap.png&by=Ada&caption=Tap%203%20cleaned", Picture);
        Assert.Equal(HttpStatusCode.Created, made.StatusCode);
        var file = (await server.Get("modules/B07/files"))[0];
        Assert.Equal("Ada", file.GetProperty("by").GetString());
        Assert.Equal((sha256, "Tap 3 cleaned", "inspection", (long)Picture.Length), (
            file.GetProperty("value").GetProperty("sha256").GetString(), file.GetProperty("value").GetProperty("caption").GetString(), file.GetProperty("value").GetProperty("about").GetString(), file.GetProperty("value").GetProperty("bytes").GetInt64()));
        using var back = await server.Client.GetAsync(new Uri($"/bench/files/{sha256}", UriKind.Relative));
        Assert.Equal(Picture, await back.Content.ReadAsByteArrayAsync());
        Assert.Equal("image/png", back.Content.Headers.ContentType!.MediaType);
        Assert.Equal("nosniff", back.Headers.GetValues("X-Content-Type-Options").Single());
        Assert.Empty((await server.Get("modules/B08/files")).EnumerateArray());
    }

    [Fact]
    public async Task The_same_file_twice_is_refused_and_the_first_stays_as_it_was()
    {
        (await Send("B07", "name=tap.png&by=Ada&caption=first", Picture)).Dispose();
        Assert.Contains("with B07 already: tap.png, \"first\", from Ada", await Refused("B07", "name=other.png&by=Bea&caption=second", Picture, 422), StringComparison.Ordinal);
        Assert.Equal("first", Assert.Single((await server.Get("modules/B07/files")).EnumerateArray().ToList()).GetProperty("value").GetProperty("caption").GetString());
        using var elsewhere = await Send("B08", "name=tap.png&by=Bea&caption=both%20modules", Picture);
        Assert.Equal(HttpStatusCode.Created, elsewhere.StatusCode);
    }

    [Theory]
    [InlineData("B07", "name=a.png&by=Ada&caption=x", "image/svg+xml", 415, "Allowed are image/png")]
    [InlineData("B07", "name=a.txt&by=Ada&caption=x", "image/png", 422, "ends in .png")]
    [InlineData("B07", "name=a.png&by=Ada", "image/png", 422, "what it shows")]
    [InlineData("B07", "name=a.png&caption=x", "image/png", 422, "who you are")]
    [InlineData("B09", "name=a.png&by=Ada&caption=x", "image/png", 422, "B09")]
    [InlineData("B07", "name=a.png&by=Ada&caption=x&about=jiont", "image/png", 422, "did you mean 'Joint'")]
    [InlineData("B07", "name=a.png&by=Ada&caption=x&about=joint", "image/png", 422, "which joint")]
    [InlineData("B07", "name=a.png&by=Ada&caption=x&about=joint&joint=3", "image/png", 422, "joint sheet is empty")]
    [InlineData("B07", "name=a.png&by=Ada&caption=x&joint=3", "image/png", 422, "A joint goes with")]
    [InlineData("B07", "name=a.jpg&by=Ada&caption=x", "image/jpeg", 422, "does not begin as image/jpeg")]
    public async Task What_cannot_be_taken_is_refused_in_a_sentence_and_nothing_is_kept(string module, string query, string kind, int status, string sentence)
    {
        Assert.Contains(sentence, await Refused(module, query, Picture, status, kind), StringComparison.Ordinal);
        Assert.Empty(server.Service<IRecordStore>().Files());
    }

    [Fact]
    public async Task A_damaged_picture_and_one_too_large_are_refused_in_a_sentence()
    {
        Assert.Contains("a.png is damaged: it breaks off before its end", await Refused("B07", "name=a.png&by=Ada&caption=x", Picture[..^40], 422), StringComparison.Ordinal);
        Assert.Contains("at most 16 MiB", await Refused("B07", "name=a.bin&by=Ada&caption=x", new byte[(16 << 20) + 1], 413, "application/octet-stream"), StringComparison.Ordinal);
        Assert.Empty(server.Service<IRecordStore>().Files());
    }

    [Fact]
    public async Task What_was_changed_on_the_disk_is_not_given_back_as_if_it_were_whole()
    {
        (await Send("B07", "name=tap.png&by=Ada&caption=tap", Picture)).Dispose();
        await using (var connection = new SqliteConnection($"Data Source={path};Pooling=False"))
        {
            await connection.OpenAsync();
            await using var command = connection.CreateCommand();
            command.CommandText = "DROP TRIGGER bench_file_kept; UPDATE bench_file SET content = x'89504E47'";
            await command.ExecuteNonQueryAsync();
        }

        using var back = await server.Client.GetAsync(new Uri($"/bench/files/{Convert.ToHexStringLower(SHA256.HashData(Picture))}", UriKind.Relative));
        Assert.Equal(HttpStatusCode.InternalServerError, back.StatusCode);
        Assert.Contains("tap.png of B07 is damaged", await back.Content.ReadAsStringAsync(), StringComparison.Ordinal);
        Assert.Contains("tap.png of B07 is damaged", await server.Client.GetStringAsync("/bench/reports/passport?about=B07"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_passport_prints_pictures_with_caption_and_date_in_both_forms()
    {
        (await Send("B07", "name=tap.png&by=Ada&caption=Tap%20three%20cleaned", Picture)).Dispose();
        (await Send("B07", "name=list.csv&by=Ada&caption=Meter%20list", Encoding.ASCII.GetBytes("a,b\n1,2\n"), "text/csv")).Dispose();
        var html = await server.Client.GetStringAsync("/bench/reports/passport?about=B07");
        Assert.Contains("data:image/png;base64," + Convert.ToBase64String(Picture), html, StringComparison.Ordinal);
        Assert.Matches("Tap three cleaned<span class=\"d\">2026-03-03 09:00 Ada, inspection, tap.png", html);
        Assert.Contains("Meter list: 2026-03-03 09:00 Ada", html, StringComparison.Ordinal);
        var without = (await server.Client.GetByteArrayAsync("/bench/reports/passport?about=B08&format=pdf")).Length;
        var with = await server.Client.GetByteArrayAsync("/bench/reports/passport?about=B07&format=pdf");
        Assert.Contains("/Subtype/Image", Encoding.Latin1.GetString(with).Replace(" ", "", StringComparison.Ordinal), StringComparison.Ordinal);
        Assert.True(with.Length > without);
        using var json = JsonDocument.Parse(await server.Client.GetStringAsync("/bench/reports/passport?about=B07&format=json"));
        Assert.DoesNotContain("content", json.RootElement.GetProperty("sections").EnumerateArray().Single(s => s.TryGetProperty("pictures", out _)).GetProperty("pictures")[0].EnumerateObject().Select(p => p.Name));
        Assert.Contains("# picture: Tap three cleaned", await server.Client.GetStringAsync("/bench/reports/passport?about=B07&format=csv"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_command_line_says_what_it_cannot_hand_in()
    {
        using StringWriter output = new(), error = new();
        var code = await BenchCommand.Create().Parse(["file", "B07", "/no/such.png", "--caption", "x", "--by", "Ada"]).InvokeAsync(new System.CommandLine.InvocationConfiguration { Output = output, Error = error });
        Assert.Equal(ExitCode.BadInput, code);
        Assert.Contains("There is no file /no/such.png", error.ToString(), StringComparison.Ordinal);
    }

    private async Task<HttpResponseMessage> Send(string module, string query, byte[] content, string kind = "image/png")
    {
        using var body = new ByteArrayContent(content);
        body.Headers.ContentType = new MediaTypeHeaderValue(kind);
        return await server.Client.PostAsync(new Uri($"/bench/modules/{module}/files?{query}", UriKind.Relative), body);
    }

    private async Task<string> Refused(string module, string query, byte[] content, int status, string kind = "image/png")
    {
        using var answer = await Send(module, query, content, kind);
        Assert.Equal(status, (int)answer.StatusCode);
        return JsonDocument.Parse(await answer.Content.ReadAsStringAsync()).RootElement.GetProperty("detail").GetString()!;
    }
}
