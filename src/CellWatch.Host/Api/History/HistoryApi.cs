using CellWatch.Core.History;
using CellWatch.Log.Exchange;

namespace CellWatch.Host.Api.History;

/// <summary>The HTTP door of the record, under <c>/history</c>: what was, as JSON or as comma-separated text.</summary>
public static partial class HistoryApi
{
    /// <summary>Maps the endpoints. Entries go through <paramref name="commandFilter"/>, files through <paramref name="uploadFilter"/>.</summary>
    public static void MapHistoryApi(
        this IEndpointRouteBuilder app, Func<EndpointFilterInvocationContext, EndpointFilterDelegate, ValueTask<object?>> commandFilter,
        Func<EndpointFilterInvocationContext, EndpointFilterDelegate, ValueTask<object?>> uploadFilter)
    {
        var reads = app.MapGroup("/history").WithTags("history").ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status404NotFound);
        reads.MapGet("/", Storage).Produces<StorageDocument>().WithSummary("What the log holds, and for how long there is room");
        reads.MapGet("/channels", Channels).Produces<IReadOnlyList<ChannelDocument>>().WithSummary("Every channel the log has, with its unit");
        reads.MapGet("/traces", Traces).Produces<TracesDocument>().WithSummary("Any channels over any range, decimated by true least and greatest values")
            .WithDescription("channels: names parted by commas. from, to: RFC 3339 with an offset; left out, everything. columns: 1 to 100000, 2000 unless said. format: json, csv or parquet.");
        reads.MapGet("/envelope", Envelope).Produces<EnvelopeDocument>().WithSummary("Least, mean and greatest of all cells, or all temperatures")
            .WithDescription("of: cells or temperatures. from, to, columns, format as for traces.");
        reads.MapGet("/alarms", Alarms).Produces<IReadOnlyList<AlarmStepDocument>>().WithSummary("Steps in the lives of alarms, oldest first");
        reads.MapGet("/events", Events).Produces<IReadOnlyList<EventDocument>>().WithSummary("Gaps, clock steps, sleeps, damage, thinning, marks, oldest first");
        reads.MapGet("/commands", Commands).Produces<IReadOnlyList<CommandDocument>>().WithSummary("Commands with who gave them and what was answered, oldest first");
        reads.MapGet("/runs", Runs).Produces<IReadOnlyList<RunDocument>>().WithSummary("Runs that touch a range, oldest first");
        reads.MapGet("/notes", Notes).Produces<IReadOnlyList<NoteDocument>>().WithSummary("Notes, oldest first");
        reads.MapGet("/attachments", Attachments).Produces<IReadOnlyList<AttachmentDocument>>().WithSummary("Attachments, oldest first, without their content");
        reads.MapGet("/attachments/{id:long}", Attachment).WithSummary("An attachment's content");

        var entries = app.MapGroup("/history").WithTags("history").ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status503ServiceUnavailable);
        entries.AddEndpointFilter(commandFilter);
        MapEntries(entries);
        var uploads = app.MapGroup("/history").WithTags("history").ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status503ServiceUnavailable);
        uploads.AddEndpointFilter(uploadFilter);
        MapAttachments(uploads);
    }

    private static async Task<IResult> Storage(IHistory history, CancellationToken cancellation) =>
        Results.Ok(HistoryAnswers.Of(await history.ReadStorageAsync(cancellation), await history.ReadFrozenAsync(cancellation)));

    private static async Task<IResult> Channels(IHistory history, CancellationToken cancellation)
    {
        var list = await history.ReadChannelsAsync(cancellation);
        return Results.Ok(list.Names.Zip(list.Units, (name, unit) => new ChannelDocument(name, unit)).ToList());
    }

    private static async Task<IResult> Traces(IHistory history, string? channels, string? from, string? to, int? columns, string? format, CancellationToken cancellation)
    {
        if (!HistoryQuestion.TryRange(from, to, out var range, out var refusal) || !HistoryQuestion.TryColumns(columns, out var most, out refusal)
            || !TryFormat(format, out var isCsv, out refusal, orParquet: true)
            || !HistoryQuestion.TryChannels(channels, await history.ReadChannelsAsync(cancellation), out var names, out refusal)) return Refuse(refusal);
        var traces = await history.ReadTracesAsync(new TraceQuery(names, range, most), cancellation);
        if (string.Equals(format, "parquet", StringComparison.OrdinalIgnoreCase)) return Results.File(await TracesParquet.WriteAsync(traces, cancellation), TracesParquet.MediaType, "traces.parquet");
        return isCsv ? Results.Text(HistoryCsv.Of(traces), HistoryCsv.MediaType) : Results.Ok(HistoryAnswers.Of(traces));
    }

    private static async Task<IResult> Envelope(IHistory history, string? of, string? from, string? to, int? columns, string? format, CancellationToken cancellation)
    {
        if (!HistoryQuestion.TryRange(from, to, out var range, out var refusal) || !HistoryQuestion.TryColumns(columns, out var most, out refusal)
            || !TryFormat(format, out var isCsv, out refusal)) return Refuse(refusal);
        if (!Enum.TryParse<EnvelopeOf>(of ?? nameof(EnvelopeOf.Cells), ignoreCase: true, out var which) || !Enum.IsDefined(which)) return Refuse($"'of' is '{of}'; allowed are cells and temperatures.");
        var envelope = await history.ReadEnvelopeAsync(which, range, most, cancellation);
        return isCsv ? Results.Text(HistoryCsv.Of(which, envelope), HistoryCsv.MediaType) : Results.Ok(HistoryAnswers.Of(which, envelope));
    }

    private static Task<IResult> Alarms(IHistory history, string? from, string? to, CancellationToken cancellation) =>
        List(from, to, async range => (await history.ReadAlarmsAsync(range, cancellation: cancellation)).Select(HistoryAnswers.Of));

    private static Task<IResult> Events(IHistory history, string? from, string? to, CancellationToken cancellation) =>
        List(from, to, async range => (await history.ReadEventsAsync(range, cancellation: cancellation)).Select(HistoryAnswers.Of));

    private static Task<IResult> Commands(IHistory history, string? from, string? to, CancellationToken cancellation) =>
        List(from, to, async range => (await history.ReadCommandsAsync(range, cancellation: cancellation)).Select(HistoryAnswers.Of));

    private static Task<IResult> Runs(IHistory history, string? from, string? to, CancellationToken cancellation) =>
        List(from, to, async range => (await history.ReadRunsAsync(range, cancellation)).Select(HistoryAnswers.Of));

    private static Task<IResult> Notes(IHistory history, string? from, string? to, CancellationToken cancellation) =>
        List(from, to, async range => (await history.ReadNotesAsync(range, cancellation)).Select(HistoryAnswers.Of));

    private static Task<IResult> Attachments(IHistory history, string? from, string? to, CancellationToken cancellation) =>
        List(from, to, async range => (await history.ReadAttachmentsAsync(range, cancellation)).Select(HistoryAnswers.Of));

    private static async Task<IResult> List<T>(string? from, string? to, Func<TimeRange, Task<IEnumerable<T>>> read) =>
        HistoryQuestion.TryRange(from, to, out var range, out var refusal) ? Results.Ok((await read(range)).ToList()) : Refuse(refusal);

    private static bool TryFormat(string? format, out bool isCsv, out string refusal, bool orParquet = false)
    {
        isCsv = string.Equals(format, "csv", StringComparison.OrdinalIgnoreCase);
        refusal = isCsv || string.IsNullOrEmpty(format) || string.Equals(format, "json", StringComparison.OrdinalIgnoreCase) || (orParquet && string.Equals(format, "parquet", StringComparison.OrdinalIgnoreCase))
            ? ""
            : $"'format' is '{format}'; allowed are {(orParquet ? "json, csv and parquet" : "json and csv")}.";
        return refusal.Length == 0;
    }

    private static IResult Refuse(string sentence) => Results.Problem(sentence, statusCode: StatusCodes.Status400BadRequest);
}
