using System.Globalization;
using System.Net;
using System.Net.Http.Json;
using System.Text.Json.Nodes;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;

namespace CellWatch.EndToEnd.Tests.History;

public class HistoryApiTests
{
    [Fact]
    public async Task Traces_come_as_JSON_at_full_rate_with_null_where_nothing_is_known()
    {
        await using var server = await HistoryServer.StartAsync();
        var written = await WriteAsync(server, 60);
        var traces = await server.GetAsync("traces?channels=B01.1,B01.3");

        Assert.Equal(0, (double)traces["columnMs"]!);
        Assert.Equal(written.Select(s => s.Time.WallUnixMs), traces["startUnixMs"]!.AsArray().Select(n => (long)n!));
        Assert.Equal(written.Select(s => s.RawValues[0]), traces["channels"]![0]!["mean"]!.AsArray().Select(n => (double)n!));
        Assert.Equal("V", (string)traces["channels"]![0]!["unit"]!);
        // Snapshots 11 to 20 of the third cell are doubtful: no value, yet what came is there to be seen.
        var third = traces["channels"]![1]!;
        Assert.Equal(Enumerable.Range(10, 10), Enumerable.Range(0, 60).Where(i => third["mean"]![i] is null));
        Assert.Equal("doubtful", (string)third["quality"]![12]!);
        Assert.Equal(written[12].RawValues[2], (double)third["raw"]![12]!);
    }

    [Fact]
    public async Task A_range_is_decimated_by_true_least_and_greatest_values()
    {
        await using var server = await HistoryServer.StartAsync();
        var written = await WriteAsync(server, 3000);
        var (from, to) = (written[500].Time.Wall, written[2500].Time.Wall);
        var traces = await server.GetAsync($"traces?channels=B01.1&columns=50&from={from:yyyy-MM-ddTHH:mm:ss.fffZ}&to={Uri.EscapeDataString(to.ToOffset(TimeSpan.FromHours(2)).ToString("yyyy-MM-ddTHH:mm:ss.fffzzz", CultureInfo.InvariantCulture))}");

        var trace = traces["channels"]![0]!;
        Assert.InRange(trace["min"]!.AsArray().Count, 40, 51);
        Assert.True((double)traces["columnMs"]! > 0);
        Assert.Null(trace["quality"]);
        // Columns are whole buckets of 10 s: those at the edges reach beyond the range by less than one bucket.
        var least = trace["min"]!.AsArray().Min(n => (double)n!);
        Assert.InRange(least, written[490..2510].Min(s => s.RawValues[0]), written[500..2500].Min(s => s.RawValues[0]));
        Assert.Equal(written[777].RawValues[0], trace["max"]!.AsArray().Max(n => (double)n!));
    }

    [Fact]
    public async Task Comma_separated_text_has_units_in_its_headings_and_CR_LF_after_every_record()
    {
        await using var server = await HistoryServer.StartAsync();
        var written = await WriteAsync(server, 30);
        using var answer = await server.Client.GetAsync("/history/traces?channels=B01.1,B01.3&format=csv");
        Assert.Equal("text/csv", answer.Content.Headers.ContentType!.MediaType);
        var text = await answer.Content.ReadAsStringAsync();
        var lines = text.Split("\r\n");

        // RFC 4180, section 2.
        Assert.Equal(text.Count(c => c == '\n'), lines.Length - 1);
        Assert.Equal("time,snapshots,break before,B01.1 / V,B01.1 quality,B01.3 / V,B01.3 quality", lines[0]);
        Assert.Equal(32, lines.Length);
        Assert.Empty(lines[^1]);
        Assert.Equal(string.Create(CultureInfo.InvariantCulture, $"{written[0].Time.Wall:yyyy-MM-ddTHH:mm:ss.fffZ},1,0,{written[0].RawValues[0]:R},good,{written[0].RawValues[2]:R},good"), lines[1]);
        Assert.EndsWith(",,doubtful", lines[13], StringComparison.Ordinal);

        var wide = await server.Client.GetStringAsync("/history/traces?channels=B01.1,packCurrentA&columns=5&format=csv");
        Assert.StartsWith("time,snapshots,break before,B01.1 least / V,B01.1 mean / V,B01.1 greatest / V,B01.1 good,packCurrentA least / A,", wide, StringComparison.Ordinal);
        var envelope = await server.Client.GetStringAsync("/history/envelope?of=temperatures&format=csv");
        Assert.StartsWith("time,snapshots,break before,temperatures least / degC,", envelope, StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_asked_for_comes_as_Parquet_too()
    {
        await using var server = await HistoryServer.StartAsync();
        var written = await WriteAsync(server, 60);
        using var answer = await server.Client.GetAsync("/history/traces?channels=B01.1&format=parquet");
        Assert.Equal("application/vnd.apache.parquet", answer.Content.Headers.ContentType!.MediaType);
        await using var stream = await answer.Content.ReadAsStreamAsync();
        await using var reader = await Parquet.ParquetReader.CreateAsync(stream);
        using var group = reader.OpenRowGroupReader(0);
        var values = new double[group.RowCount];
        await group.ReadAsync<double>(reader.Schema.GetDataFields().Single(f => f.Name == "B01.1 / V"), values);
        Assert.Equal(written.Select(s => s.RawValues[0]), values);
    }

    [Fact]
    public async Task The_envelope_spans_all_cells()
    {
        await using var server = await HistoryServer.StartAsync();
        var written = await WriteAsync(server, 30);
        var envelope = await server.GetAsync("envelope");
        Assert.Equal("cells", (string)envelope["of"]!);
        Assert.Equal(written.Select(s => s.RawCellVoltageV.ToArray().Where((_, c) => s.CellQuality[c] == Quality.Good).Max()), envelope["max"]!.AsArray().Select(n => (double)n!));
        Assert.Equal(5, (double)envelope["known"]![12]!);
        Assert.Equal(6, (double)envelope["known"]![0]!);
    }

    [Fact]
    public async Task Runs_are_opened_and_closed_by_hand_and_notes_belong_to_them()
    {
        await using var server = await HistoryServer.StartAsync();
        var run = (long)(await server.PostAsync("runs", new { kind = "charge", title = "first charge", by = "Ada", settings = "{\"targetV\":4.15}" }, HttpStatusCode.Created))["id"]!;
        var open = Assert.Single((await server.GetAsync("runs")).AsArray())!;
        Assert.Equal(("charge", "first charge", "Ada"), ((string)open["kind"]!, (string)open["title"]!, (string)open["openedBy"]!));
        Assert.Null(open["to"]);
        await server.PostAsync("notes", new { text = "link 3 warm", by = "Bo", run }, HttpStatusCode.Created);
        await server.PostAsync($"runs/{run}/close", new { by = "Bo" }, HttpStatusCode.OK);
        var again = await server.PostAsync($"runs/{run}/close", new { by = "Bo" }, HttpStatusCode.Conflict);
        Assert.Contains("no open run", (string)again["detail"]!, StringComparison.Ordinal);

        var closed = Assert.Single((await server.GetAsync("runs")).AsArray())!;
        Assert.Equal("Bo", (string)closed["closedBy"]!);
        Assert.Equal("{\"targetV\":4.15}", (string)closed["settings"]!);
        Assert.NotNull(closed["to"]);
        var note = Assert.Single((await server.GetAsync("notes")).AsArray())!;
        Assert.Equal((run, "link 3 warm", "Bo"), ((long)note["run"]!, (string)note["text"]!, (string)note["by"]!));
    }

    [Theory]
    [InlineData("{\"kind\":\"chrage\",\"title\":\"a\",\"by\":\"Ada\"}", "did you mean 'charge'?")]
    [InlineData("{\"title\":\"a\",\"by\":\"Ada\"}", "Allowed are rest, capacity, pulse, charge")]
    [InlineData("{\"kind\":\"0\",\"title\":\"a\",\"by\":\"Ada\"}", "Allowed are")]
    [InlineData("{\"kind\":\"rest\",\"by\":\"Ada\"}", "'title' is missing")]
    [InlineData("{\"kind\":\"rest\",\"title\":\"a\"}", "Type your name first")]
    [InlineData("{\"kind\":\"rest\",\"title\":\"a\",\"by\":\"Ada\",\"settings\":\"{x\"}", "'settings' is no JSON")]
    [InlineData("{\"kind\":", "")]
    public async Task An_entry_that_cannot_be_taken_is_refused_with_a_sentence(string body, string sentence)
    {
        await using var server = await HistoryServer.StartAsync();
        using var answer = await server.Client.PostAsync("/history/runs", new StringContent(body, System.Text.Encoding.UTF8, "application/json"));
        Assert.Contains(sentence, await HistoryServer.ProblemAsync(answer, HttpStatusCode.BadRequest), StringComparison.Ordinal);
        Assert.Empty((await server.GetAsync("runs")).AsArray());
    }

    [Theory]
    [InlineData("traces", "'channels' is missing")]
    [InlineData("traces?channels=B01.9", "did you mean 'B01.")]
    [InlineData("traces?channels=B01.1&columns=0", "1 to 100000")]
    [InlineData("traces?channels=B01.1&from=yesterday", "'from' is 'yesterday'")]
    [InlineData("traces?channels=B01.1&from=2026-11-25T02:00:00", "with an offset")]
    [InlineData("traces?channels=B01.1&from=2026-11-25T02:00:00Z&to=2026-11-25T01:00:00Z", "is not before")]
    [InlineData("traces?channels=B01.1&format=xml", "allowed are json, csv and parquet")]
    [InlineData("envelope?format=parquet", "allowed are json and csv")]
    [InlineData("envelope?of=currents", "allowed are cells and temperatures")]
    [InlineData("envelope?of=7", "allowed are cells and temperatures")]
    [InlineData("events?to=25.11.2026", "RFC 3339")]
    public async Task A_question_that_makes_no_sense_is_refused_with_what_is_allowed(string question, string sentence)
    {
        await using var server = await HistoryServer.StartAsync();
        await WriteAsync(server, 5);
        Assert.Contains(sentence, await server.RefusedAsync(question), StringComparison.Ordinal);
    }

    [Fact]
    public async Task What_is_not_there_is_a_404_with_a_sentence()
    {
        await using var server = await HistoryServer.StartAsync();
        Assert.Contains("no attachment 7", await server.RefusedAsync("attachments/7", HttpStatusCode.NotFound), StringComparison.Ordinal);
        using var note = await server.Client.PostAsJsonAsync("/history/notes", new { text = "a", by = "Ada", run = 99 });
        Assert.Contains("no run 99", await HistoryServer.ProblemAsync(note, HttpStatusCode.NotFound), StringComparison.Ordinal);
    }

    [Fact]
    public async Task Events_storage_attachments_and_kept_stretches_are_there()
    {
        await using var server = await HistoryServer.StartAsync();
        var written = await WriteAsync(server, 700);
        server.Log.RecordEvent(EventKinds.Gap, "host asleep", written[100].Time, "", 120);
        var file = await server.Log.AddAttachmentAsync("link3.png", "image/png", new byte[] { 1, 2, 3 }, written[0].Time, "Ada");
        await server.PostAsync("frozen", new { from = written[10].Time.Wall, to = written[20].Time.Wall, reason = "odd dip", by = "Ada" }, HttpStatusCode.NoContent);

        var gap = Assert.Single((await server.GetAsync("events")).AsArray(), e => (string)e!["kind"]! == EventKinds.Gap)!;
        Assert.Equal(120, (double)gap["lengthS"]!);
        var storage = await server.GetAsync("");
        Assert.Equal(written[0].Time.Wall, (DateTimeOffset)storage["from"]!);
        Assert.Equal("odd dip (Ada)", (string)Assert.Single(storage["frozen"]!.AsArray())!["reason"]!);
        Assert.StartsWith("Full rate for 90 days", (string)storage["rule"]!, StringComparison.Ordinal);
        var about = Assert.Single((await server.GetAsync("attachments")).AsArray())!;
        Assert.Equal(3, (long)about["length"]!);
        using var content = await server.Client.GetAsync((string)about["content"]!);
        Assert.Equal([1, 2, 3], await content.Content.ReadAsByteArrayAsync());
        Assert.Equal("attachment", content.Content.Headers.ContentDisposition!.DispositionType);
        Assert.Equal(file, (long)about["id"]!);
        Assert.Contains((await server.GetAsync("channels")).AsArray(), c => (string)c!["name"]! == "B01.6" && (string)c["unit"]! == "V");
    }

    /// <summary>One module at 1 Hz; the third cell is doubtful in snapshots 11 to 20, the first leaps once.</summary>
    private static async Task<Snapshot[]> WriteAsync(HistoryServer server, int snapshots)
    {
        var turn = 0;
        var pack = new SyntheticPack(modules: 1)
        {
            Disturb = b =>
            {
                turn++;
                if (turn is > 10 and <= 20) b.Qualities[2] = Quality.Doubtful;
                if (turn == 778) b.Values[0] = 4.4;
            },
        };
        var written = pack.Next(snapshots);
        await server.Log.AppendAllAsync(written);
        return written;
    }
}
