using System.Collections.Immutable;
using CellWatch.Core.History;

namespace CellWatch.Dashboard.Strips;

/// <summary>
/// Cells against time as one byte each: how far a cell lay from the median of all, and whether it was believed. The range is cut into equal
/// buckets, so that it can be drawn without a list of times; of several columns in a bucket the one farthest out is kept, because a mean would hide it.
/// </summary>
/// <param name="Range">The range.</param>
/// <param name="Buckets">How many.</param>
/// <param name="Rows">Cells drawn, by their index, top to bottom.</param>
/// <param name="ReachMv">End of the scale either way, mV: one of <see cref="ReachStepsMv"/>.</param>
/// <param name="Bytes">Row after row, one byte a bucket; see <see cref="Level"/>.</param>
public sealed record Carpet(TimeRange Range, int Buckets, ImmutableArray<int> Rows, double ReachMv, byte[] Bytes)
{
    /// <summary>Buckets of a drawing; a phone shows fewer, a wide screen draws each a few pixels wide.</summary>
    public const int UsualBuckets = 400;

    /// <summary>The level of a cell on the median; 1 is the lower end of the scale, 127 the upper, 0 no believed value.</summary>
    public const int Middle = 64;

    /// <summary>Added where not every scan of the bucket had a value that was believed.</summary>
    public const byte NotAllBelieved = 0x80;

    /// <summary>Scales there are, mV: they step, and never follow the last value.</summary>
    public static readonly ImmutableArray<double> ReachStepsMv = [5, 10, 25, 50, 100, 250];

    /// <summary>Whether a cell goes beyond the widest scale; its colour is then the end's.</summary>
    public bool IsCut { get; init; }

    /// <summary>Lays cells out.</summary>
    /// <param name="crowd">All cells over the same columns.</param>
    /// <param name="range">What is drawn of them.</param>
    /// <param name="rows">Cells drawn, by their index; the scale is that of all cells, so that a filter changes no colour.</param>
    /// <param name="buckets">How many buckets.</param>
    public static Carpet Of(Crowd crowd, TimeRange range, ImmutableArray<int> rows, int buckets = UsualBuckets)
    {
        // Rounded, so that a cell 10 mV out is on the scale of 10 and not, by the last bit of a double, on the next.
        var widestMv = Math.Round(1000 * WidestV(crowd), 6);
        var reachMv = ReachStepsMv.FirstOrDefault(r => r >= widestMv, ReachStepsMv[^1]);
        var bytes = new byte[rows.Length * buckets];
        var columns = crowd.Columns;
        for (var i = 0; i < columns.Count; i++)
        {
            var (first, last) = Covered(columns, i, range, buckets);
            if (last < first) continue;
            for (var row = 0; row < rows.Length; row++)
            {
                var level = Level(1000 * crowd.DeviationV(rows[row], i), reachMv);
                if (!IsAllBelieved(crowd, rows[row], i)) level |= NotAllBelieved;
                for (var b = first; b <= last; b++) Keep(ref bytes[row * buckets + b], level);
            }
        }

        return new Carpet(range, buckets, rows, reachMv, bytes) { IsCut = widestMv > reachMv };
    }

    /// <summary>A distance as a level of the scale, 1 to 127; 0 where there is none.</summary>
    public static byte Level(double deviationMv, double reachMv) =>
        double.IsFinite(deviationMv) ? (byte)Math.Clamp(Middle + (int)Math.Round((Middle - 1) * deviationMv / reachMv, MidpointRounding.AwayFromZero), 1, 127) : (byte)0;

    /// <summary>Whether every scan of a column gave the cell a value that was believed.</summary>
    public static bool IsAllBelieved(Crowd crowd, int cell, int column) => crowd.Cells.Channels[cell].Good[column] >= crowd.Columns.Snapshots[column];

    private static double WidestV(Crowd crowd)
    {
        var widest = 0.0;
        for (var i = 0; i < crowd.Columns.Count; i++)
            if (crowd.Reach(i) is var (least, greatest) && double.IsFinite(least)) widest = Math.Max(widest, Math.Max(-least, greatest));
        return widest;
    }

    /// <summary>Buckets a column covers: its whole length, and for a single scan up to the next one unless the record breaks between.</summary>
    private static (int First, int Last) Covered(TimeColumns columns, int i, TimeRange range, int buckets)
    {
        var start = columns.StartUnixMs[i];
        var end = start + columns.ColumnMs;
        if (i + 1 < columns.Count && !columns.BreakBefore[i + 1]) end = Math.Max(end, columns.StartUnixMs[i + 1]);
        double At(double unixMs) => (unixMs - range.FromUnixMs) / range.LengthMs * buckets;
        var first = (int)Math.Floor(At(start));
        return (Math.Max(0, first), Math.Min(buckets - 1, Math.Max(first, (int)Math.Ceiling(At(end)) - 1)));
    }

    /// <summary>The value farther from the median stays; a doubt is never lost.</summary>
    private static void Keep(ref byte kept, byte level)
    {
        var doubt = (byte)((kept | level) & NotAllBelieved);
        int was = kept & 127, now = level & 127;
        var stays = now == 0 || (was != 0 && Math.Abs(was - Middle) >= Math.Abs(now - Middle)) ? was : now;
        kept = (byte)(stays | doubt);
    }
}
