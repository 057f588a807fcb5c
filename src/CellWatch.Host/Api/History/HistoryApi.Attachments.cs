using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Host.Time;

namespace CellWatch.Host.Api.History;

/// <summary>Files kept with the log: taken as the plain body of a request, given back as downloads.</summary>
public static partial class HistoryApi
{
    private static void MapAttachments(RouteGroupBuilder uploads) => uploads.MapPost("/attachments", AddAttachment)
        .Accepts<Stream>("*/*")
        .Produces<MadeDocument>(StatusCodes.Status201Created)
        .ProducesProblem(StatusCodes.Status403Forbidden).ProducesProblem(StatusCodes.Status404NotFound).ProducesProblem(StatusCodes.Status413PayloadTooLarge)
        .ProducesProblem(StatusCodes.Status415UnsupportedMediaType).ProducesProblem(StatusCodes.Status507InsufficientStorage)
        .WithSummary("Attaches a file to the record, and perhaps to a run or an event")
        .WithDescription("The body is the file, at most 16 MiB, its content type one of those a refusal lists. name: its name. by: who. run: the run it belongs to. event: the event it is about; it is kept at that event's instant. time: the instant it is about, RFC 3339 with an offset; left out, now.");

    private static async Task<IResult> AddAttachment(
        HttpRequest request, string? name, string? by, long? run, long? @event, string? time, IHistory history, IRecorder recorder, PackClock clock, CancellationToken cancellation)
    {
        var mediaType = UploadedFile.KindOf(request);
        if (!AttachmentRules.TryKind(mediaType, out var refusal)) return Results.Problem(refusal, statusCode: StatusCodes.Status415UnsupportedMediaType);
        if (!AttachmentRules.TryName(name, mediaType, out refusal) || !TryNameAndSettings(by, null, out refusal)) return Refuse(refusal);
        if (@event is not null && time is not null) return Refuse("'event' and 'time' say two instants; give one.");
        var at = clock.Now;
        if (time is not null)
        {
            if (!HistoryQuestion.TryInstant("time", time, out var unixMs, out refusal)) return Refuse(refusal);
            at = new SnapshotTime(at.ElapsedUs, unixMs);
        }

        if (run is { } runId && (await history.ReadRunsAsync(TimeRange.All, cancellation)).All(r => r.Id != runId))
            return Results.Problem($"There is no run {runId}. GET /history/runs lists them.", statusCode: StatusCodes.Status404NotFound);
        if (@event is { } eventId)
        {
            if ((await history.ReadEventsAsync(TimeRange.All, int.MaxValue, cancellation)).FirstOrDefault(e => e.Id == eventId) is not { } about)
                return Results.Problem($"There is no event {eventId}. GET /history/events lists them.", statusCode: StatusCodes.Status404NotFound);
            at = new SnapshotTime(at.ElapsedUs, about.WallUnixMs);
        }

        if (await UploadedFile.ReadAsync(request, cancellation) is not { } content) return UploadedFile.TooLarge();
        if (!AttachmentRules.TryContent(mediaType, content, out refusal)) return Refuse(refusal);
        if (await UploadedFile.NoRoomAsync(history, content.Length, cancellation) is { } noRoom) return noRoom;
        return await OnDisk(recorder, recorder.AddAttachmentAsync(name!, mediaType, content, at, by!, run), id => Made("attachments", id), cancellation);
    }

    private static async Task<IResult> Attachment(HttpContext context, IHistory history, long id, CancellationToken cancellation)
    {
        var about = (await history.ReadAttachmentsAsync(TimeRange.All, cancellation)).FirstOrDefault(a => a.Id == id);
        try
        {
            if (about is null || await history.ReadAttachmentAsync(id, cancellation) is not { } content)
                return Results.Problem($"There is no attachment {id}. GET /history/attachments lists them.", statusCode: StatusCodes.Status404NotFound);
            // Always as a download of its own kind: what somebody attached must not run as a page of this service.
            context.Response.Headers.XContentTypeOptions = "nosniff";
            return Results.File(content, about.MediaType, about.Name);
        }
        catch (InvalidDataException damaged)
        {
            return Results.Problem(damaged.Message, statusCode: StatusCodes.Status500InternalServerError);
        }
    }
}
