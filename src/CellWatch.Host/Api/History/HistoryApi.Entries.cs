using System.Globalization;
using System.Text.Json;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Time;

namespace CellWatch.Host.Api.History;

/// <summary>Runs opened and closed by hand, notes, stretches to keep. Every entry carries a name and is answered once it is on disk.</summary>
public static partial class HistoryApi
{
    private static readonly string[] Kinds = [.. Enum.GetNames<RunKind>().Select(JsonNamingPolicy.CamelCase.ConvertName)];
    private static readonly TimeSpan OnDiskWithin = TimeSpan.FromSeconds(10);

    private static void MapEntries(RouteGroupBuilder entries)
    {
        entries.MapPost("/runs", OpenRun).Produces<MadeDocument>(StatusCodes.Status201Created).WithSummary("Opens a run");
        entries.MapPost("/runs/{id:long}/close", CloseRun).Produces<MadeDocument>().ProducesProblem(StatusCodes.Status409Conflict).WithSummary("Closes a run");
        entries.MapPost("/notes", AddNote).Produces<MadeDocument>(StatusCodes.Status201Created).ProducesProblem(StatusCodes.Status404NotFound).WithSummary("Adds a note about an instant, and perhaps a run");
        entries.MapPost("/frozen", Freeze).WithSummary("Keeps a stretch at full rate whatever its age");
    }

    private static async Task<IResult> OpenRun(OpenRunBody body, IRecorder recorder, PackClock clock, CancellationToken cancellation)
    {
        if (!Enum.TryParse<RunKind>(body.Kind, ignoreCase: true, out var kind) || !Kinds.Contains(body.Kind!, StringComparer.OrdinalIgnoreCase))
            return Refuse($"'kind' is '{body.Kind}'{HistoryQuestion.Suggestion(body.Kind ?? "", Kinds)} Allowed are {string.Join(", ", Kinds)}.");
        if (string.IsNullOrWhiteSpace(body.Title)) return Refuse("'title' is missing: a few words that tell this run from the others.");
        if (!TryNameAndSettings(body.By, body.Settings, out var refusal)) return Refuse(refusal);
        return await OnDisk(recorder, recorder.OpenRunAsync(kind, body.Title, clock.Now, body.By!, body.Settings ?? ""), id => Made("runs", id), cancellation);
    }

    private static async Task<IResult> CloseRun(long id, CloseRunBody body, IRecorder recorder, PackClock clock, CancellationToken cancellation)
    {
        if (!TryNameAndSettings(body.By, body.Settings, out var refusal)) return Refuse(refusal);
        return await OnDisk(recorder, recorder.CloseRunAsync(id, clock.Now, body.By!, body.Settings), closed => closed
            ? Results.Ok(new MadeDocument(id))
            : Results.Problem($"There is no open run {id}. GET /history/runs lists them; one without 'to' is open.", statusCode: StatusCodes.Status409Conflict), cancellation);
    }

    private static async Task<IResult> AddNote(NoteBody body, IHistory history, IRecorder recorder, PackClock clock, CancellationToken cancellation)
    {
        if (string.IsNullOrWhiteSpace(body.Text)) return Refuse("'text' is missing: the note itself.");
        if (!TryNameAndSettings(body.By, null, out var refusal)) return Refuse(refusal);
        if (body.Run is { } run && (await history.ReadRunsAsync(TimeRange.All, cancellation)).All(r => r.Id != run))
            return Results.Problem($"There is no run {run}. GET /history/runs lists them.", statusCode: StatusCodes.Status404NotFound);
        var now = clock.Now;
        var time = body.Time is { } about ? new SnapshotTime(now.ElapsedUs, about.ToUnixTimeMilliseconds()) : now;
        return await OnDisk(recorder, recorder.AddNoteAsync(body.Text, time, body.By!, body.Run), id => Made("notes", id), cancellation);
    }

    private static async Task<IResult> Freeze(FreezeBody body, IRecorder recorder, CancellationToken cancellation)
    {
        if (body.From is not { } from || body.To is not { } to || from >= to) return Refuse("'from' and 'to' are needed, RFC 3339 with an offset, 'from' before 'to'.");
        if (string.IsNullOrWhiteSpace(body.Reason)) return Refuse("'reason' is missing: why this stretch is kept.");
        if (!TryNameAndSettings(body.By, null, out var refusal)) return Refuse(refusal);
        return await OnDisk(recorder, FreezeAsync(), _ => Results.NoContent(), cancellation);

        async Task<bool> FreezeAsync()
        {
            await recorder.FreezeAsync(new FrozenWindow(TimeRange.Between(from, to), $"{body.Reason} ({body.By})"));
            return true;
        }
    }

    private static bool TryNameAndSettings(string? by, string? settings, out string refusal)
    {
        refusal = string.IsNullOrWhiteSpace(by) ? "Type your name first ('by'): every entry is kept with who made it." : "";
        if (refusal.Length > 0 || string.IsNullOrEmpty(settings)) return refusal.Length == 0;
        try
        {
            using var _ = JsonDocument.Parse(settings);
        }
        catch (JsonException e)
        {
            refusal = $"'settings' is no JSON: {e.Message}";
        }

        return refusal.Length == 0;
    }

    /// <summary>Waits until an entry is on disk; where the log cannot be written says so, and that the entry waits with what is measured.</summary>
    private static async Task<IResult> OnDisk<T>(IRecorder recorder, Task<T> entry, Func<T, IResult> answer, CancellationToken cancellation)
    {
        try
        {
            return answer(await entry.WaitAsync(OnDiskWithin, cancellation));
        }
        catch (Exception e) when (e is TimeoutException or IOException)
        {
            return Results.Problem($"Not on disk yet: {recorder.Recording.Sentence} The entry waits in memory and is written when the log can be.", statusCode: StatusCodes.Status503ServiceUnavailable);
        }
    }

    private static IResult Made(string what, long id) => Results.Created(string.Create(CultureInfo.InvariantCulture, $"/history/{what}"), new MadeDocument(id));
}
