using CellWatch.Core.History;

namespace CellWatch.Host.Api.History;

/// <summary>Writes history out.</summary>
internal static class HistoryAnswers
{
    public static StorageDocument Of(StorageView view, IEnumerable<FrozenWindow> frozen) => new(
        Time(view.Recorded?.FromUnixMs), Time(view.Recorded?.ToUnixMs), Time(view.FullRateFromUnixMs), view.FileBytes, view.FreeBytes, view.BytesPerDay,
        Finite(view.DaysLeft), Finite(view.DaysToThinning), view.Rule, [.. frozen.Select(f => new FrozenDocument(Time(f.Range.FromUnixMs), Time(f.Range.ToUnixMs), f.Reason))]);

    public static TracesDocument Of(Traces traces) => new(
        traces.Columns.ColumnMs, traces.Columns.StartUnixMs, traces.Columns.Snapshots, traces.Columns.BreakBefore,
        [.. traces.Channels.Select(t => new TraceDocument(
            t.Channel, t.Unit, Known(t.Min), Known(t.Mean), Known(t.Max), t.Good, t.Quality, t.Raw is { } raw ? Known(raw) : null))]);

    public static EnvelopeDocument Of(EnvelopeOf of, Envelope envelope) => new(
        of, UnitOf(of), envelope.Columns.ColumnMs, envelope.Columns.StartUnixMs, envelope.Columns.Snapshots, envelope.Columns.BreakBefore,
        Known(envelope.Min), Known(envelope.Mean), Known(envelope.Max), Known(envelope.Known));

    public static AlarmStepDocument Of(AlarmRecord record) => new(
        record.Number, Time(record.Transition.WallUnixMs), record.Transition.From, record.Transition.To, record.Transition.Why, StateDocument.Alarm(record.Transition.Alarm));

    public static EventDocument Of(EventRecord record) => new(record.Id, Time(record.WallUnixMs), record.Kind, record.Text, record.By, record.LengthS);

    public static CommandDocument Of(CommandRecord record) => new(record.Number, Time(record.WallUnixMs), record.By, record.Command, record.Details, record.Accepted, record.Answer);

    public static RunDocument Of(RunRecord record) => new(record.Id, record.Kind, record.Title, Time(record.FromUnixMs), Time(record.ToUnixMs), record.OpenedBy, record.ClosedBy, record.Settings);

    public static NoteDocument Of(NoteRecord record) => new(record.Id, Time(record.WallUnixMs), record.Run, record.Text, record.By);

    public static AttachmentDocument Of(AttachmentRecord record) => new(
        record.Id, Time(record.WallUnixMs), record.Run, record.Name, record.MediaType, record.Length, record.By,
        string.Create(System.Globalization.CultureInfo.InvariantCulture, $"/history/attachments/{record.Id}"));

    public static string UnitOf(EnvelopeOf of) => of == EnvelopeOf.Cells ? "V" : "degC";

    private static double?[] Known(double[] values) => Array.ConvertAll(values, v => double.IsNaN(v) ? (double?)null : v);

    /// <summary>What has no end is said by the rule, not by a number.</summary>
    private static double? Finite(double? days) => days is { } d && double.IsFinite(d) ? d : null;

    private static DateTimeOffset Time(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs);

    private static DateTimeOffset? Time(long? unixMs) => unixMs is { } ms ? Time(ms) : null;
}
