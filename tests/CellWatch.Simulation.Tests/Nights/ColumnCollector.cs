using System.Collections.Immutable;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;

namespace CellWatch.Simulation.Tests.Nights;

/// <summary>Gathers scans into columns as the log does, in memory: least, greatest and mean of the good values of each channel.</summary>
internal sealed class ColumnCollector(ChannelMap map, IEnumerable<string> names, long columnMs)
{
    private readonly int[] _channels = [.. names.Select(n => Enumerable.Range(0, map.Count).First(c => map.NameOf(c) == n))];
    private readonly List<long> _start = [];
    private readonly List<int> _snapshots = [];
    private readonly List<bool> _break = [];
    private readonly List<(double Min, double Max, double Sum, int Good)[]> _columns = [];
    private long _lastMs;

    public long EveryMs { get; init; } = 10_000;

    public void Take(SnapshotBuffer buffer)
    {
        var view = buffer.View;
        var start = view.Time.WallUnixMs / columnMs * columnMs;
        if (_start.Count == 0 || start != _start[^1])
        {
            _break.Add(_start.Count > 0 && view.Time.WallUnixMs - _lastMs > 2 * EveryMs);
            _start.Add(start);
            _snapshots.Add(0);
            _columns.Add([.. _channels.Select(_ => (double.NaN, double.NaN, 0.0, 0))]);
        }

        _lastMs = view.Time.WallUnixMs;
        _snapshots[^1]++;
        var column = _columns[^1];
        for (var i = 0; i < _channels.Length; i++)
        {
            if (!view.TryGet(_channels[i], out var value)) continue;
            var (min, max, sum, good) = column[i];
            column[i] = (good == 0 ? value : Math.Min(min, value), good == 0 ? value : Math.Max(max, value), sum + value, good + 1);
        }
    }

    public Traces ToTraces()
    {
        double[] Of(int i, Func<(double Min, double Max, double Sum, int Good), double> pick) => [.. _columns.Select(c => c[i].Good == 0 ? double.NaN : pick(c[i]))];
        return new Traces(
            new TimeColumns { StartUnixMs = [.. _start], ColumnMs = columnMs, BreakBefore = [.. _break], Snapshots = [.. _snapshots] },
            [.. _channels.Select((channel, i) => new Trace
            {
                Channel = map.NameOf(channel), Unit = map.UnitOf(channel), Min = Of(i, c => c.Min), Max = Of(i, c => c.Max), Mean = Of(i, c => c.Sum / c.Good), Good = [.. _columns.Select(c => c[i].Good)],
            })]);
    }
}
