using System.Globalization;
using System.Text;
using CellWatch.Core.History;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Api.History;

/// <summary>
/// History as comma-separated text (RFC 4180): CR LF, a heading with units in every column, times after RFC 3339 in UTC. A value that is not
/// there is an empty field.
/// </summary>
internal static class HistoryCsv
{
    public const string MediaType = "text/csv; charset=utf-8; header=present";

    /// <summary>Traces: single snapshots give value and quality, wider columns least, mean, greatest and count.</summary>
    public static string Of(Traces traces)
    {
        var isSingle = traces.Columns.ColumnMs == 0;
        var text = new StringBuilder("time,snapshots,break before");
        foreach (var trace in traces.Channels)
        {
            foreach (var what in isSingle ? (string[])["", " quality"] : [" least", " mean", " greatest", " good"])
                text.Append(',').Append(CsvField.Of(trace.Channel + what + (what is " quality" or " good" || trace.Unit.Length == 0 ? "" : $" / {trace.Unit}")));
        }

        for (var c = 0; c < traces.Columns.Count; c++)
        {
            Begin(text, traces.Columns, c);
            foreach (var trace in traces.Channels)
            {
                if (isSingle)
                {
                    Number(text, trace.Mean[c]);
                    text.Append(',').Append(Word(trace.Quality![c].ToString()));
                    continue;
                }

                Number(text, trace.Min[c]);
                Number(text, trace.Mean[c]);
                Number(text, trace.Max[c]);
                text.Append(CultureInfo.InvariantCulture, $",{trace.Good[c]}");
            }
        }

        return text.Append("\r\n").ToString();
    }

    /// <summary>The pack's envelope.</summary>
    public static string Of(EnvelopeOf of, Envelope envelope)
    {
        var (what, unit) = (of == EnvelopeOf.Cells ? "cells" : "temperatures", HistoryAnswers.UnitOf(of));
        var text = new StringBuilder($"time,snapshots,break before,{what} least / {unit},{what} mean / {unit},{what} greatest / {unit},{what} known");
        for (var c = 0; c < envelope.Columns.Count; c++)
        {
            Begin(text, envelope.Columns, c);
            Number(text, envelope.Min[c]);
            Number(text, envelope.Mean[c]);
            Number(text, envelope.Max[c]);
            Number(text, envelope.Known[c]);
        }

        return text.Append("\r\n").ToString();
    }

    private static void Begin(StringBuilder text, TimeColumns columns, int c) => text.Append(
        CultureInfo.InvariantCulture,
        $"\r\n{DateTimeOffset.FromUnixTimeMilliseconds(columns.StartUnixMs[c]):yyyy-MM-dd'T'HH:mm:ss.fff'Z'},{columns.Snapshots[c]},{(columns.BreakBefore[c] ? 1 : 0)}");

    private static void Number(StringBuilder text, double value)
    {
        text.Append(',');
        if (!double.IsNaN(value)) text.Append(CultureInfo.InvariantCulture, $"{value:R}");
    }

    private static string Word(string name) => char.ToLowerInvariant(name[0]) + name[1..];
}
