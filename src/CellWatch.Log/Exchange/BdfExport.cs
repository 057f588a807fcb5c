using System.Globalization;
using System.Text;
using System.Text.Json.Nodes;
using CellWatch.Core.History;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Log.Exchange;

/// <summary>
/// Writes one file a cell with the labels of the Battery Data Format (battery-data-alliance/battery-data-format, ontology 1.3.0): test time,
/// voltage, current (positive charges), wall time and the module's temperatures. Only rows with a good voltage and a good current: the format
/// requires both.
/// </summary>
public static class BdfExport
{
    /// <summary>Writes the files.</summary>
    /// <param name="history">Where from.</param>
    /// <param name="range">Wall time.</param>
    /// <param name="folder">Where to.</param>
    /// <param name="institution">First part of each name, letters and digits.</param>
    /// <param name="progress">How far it is, 0 to 1.</param>
    /// <param name="cancellation">Stops it; no half file is left.</param>
    /// <returns>The files, one for each cell that has any row, in string order: <c>Workshop__B07.3__20261125_001.csv</c>.</returns>
    public static async Task<IReadOnlyList<string>> WriteAsync(IHistory history, TimeRange range, string folder, string institution, IProgress<double>? progress = null, CancellationToken cancellation = default)
    {
        var span = await ProgressSpan.OfAsync(history, range, progress, cancellation);
        var cells = new Dictionary<CellId, CellFile>();
        var clock = new TestClock();
        try
        {
            await foreach (var snapshot in history.ReadSnapshotsAsync(range, cancellation))
            {
                var us = clock.At(snapshot.Time);
                span.Report(snapshot.Time.WallUnixMs);
                if (!snapshot.TryGetPackCurrentA(out var currentA)) continue;
                for (var c = 0; c < snapshot.Map.CellCount; c++)
                {
                    if (!snapshot.TryGet(c, out var volts)) continue;
                    var id = snapshot.Map.Layout.CellAt(c);
                    if (!cells.TryGetValue(id, out var file)) cells[id] = file = new CellFile(folder, institution, snapshot, c);
                    file.Add(us, volts, currentA, snapshot);
                }
            }

            foreach (var file in cells.Values) file.Complete();
            progress?.Report(1);
            return [.. cells.Values.Select(f => f.Path)];
        }
        finally
        {
            foreach (var file in cells.Values) file.Dispose();
        }
    }

    /// <summary>Test time never decreases: where elapsed time starts anew, it goes on by what the wall clock says, or by a millisecond.</summary>
    private sealed class TestClock
    {
        private SnapshotTime? _last;
        private long _us;

        public long At(SnapshotTime time)
        {
            if (_last is { } last)
            {
                var step = time.ElapsedUs - last.ElapsedUs;
                _us += step > 0 ? step : Math.Max(1, time.WallUnixMs - last.WallUnixMs) * 1000;
            }

            _last = time;
            return _us;
        }
    }

    private sealed class CellFile : IDisposable
    {
        private readonly PartFile _part;
        private readonly StreamWriter _text;
        private readonly StringBuilder _row = new();
        private readonly CellId _cell;
        private readonly int _temperatures;
        private long? _firstUs;
        private long _rows;
        private bool _simulated;

        public CellFile(string folder, string institution, Snapshot first, int cell)
        {
            _cell = first.Map.Layout.CellAt(cell);
            Path = System.IO.Path.Combine(folder, string.Create(CultureInfo.InvariantCulture, $"{institution}__{_cell}__{first.Time.Wall:yyyyMMdd}_001.csv"));
            _part = new PartFile(Path);
            // Many files are open at a time: small buffers.
            _text = new StreamWriter(_part.Stream, new UTF8Encoding(false), 4096, leaveOpen: true) { NewLine = "\r\n" };
            // The format has five places for temperatures.
            _temperatures = Math.Min(5, first.Map.Layout.Modules[first.Map.Layout.ModuleOfCell(cell)].TemperatureSensors);
            _text.WriteLine(string.Join(',', ["Test Time / s", "Voltage / V", "Current / A", "Unix Time / s", .. Enumerable.Range(1, _temperatures).Select(t => string.Create(CultureInfo.InvariantCulture, $"Temperature T{t} / degC"))]));
        }

        public string Path { get; }

        public void Add(long us, double volts, double currentA, Snapshot snapshot)
        {
            _firstUs ??= us;
            _row.Clear();
            LogExport.AppendSeconds(_row, us - _firstUs.Value);
            _row.Append(CultureInfo.InvariantCulture, $",{volts:R},{currentA:R},");
            AppendMilliseconds(_row, snapshot.Time.WallUnixMs);
            var layout = snapshot.Map.Layout;
            if (layout.TryFindModule(_cell.Module, out var module))
            {
                for (var t = 0; t < _temperatures; t++)
                {
                    _row.Append(',');
                    if (t < layout.Modules[module].TemperatureSensors && snapshot.TryGet(snapshot.Map.FirstTemperature + layout.FirstTemperature(module) + t, out var degC))
                        _row.Append(CultureInfo.InvariantCulture, $"{degC:R}");
                }
            }

            _text.WriteLine(_row);
            _rows++;
            _simulated |= snapshot.AnySimulated;
        }

        public void Complete()
        {
            _text.Dispose();
            var about = new JsonObject
            {
                ["cell"] = _cell.ToString(),
                ["rows"] = _rows,
                ["simulated"] = _simulated,
                ["labels"] = "Battery Data Format, ontology 1.3.0",
                ["positiveCurrent"] = "charges",
                ["left out"] = "rows without a good voltage and a good current",
            };
            PartFile.Write(Path + ".json", about.ToJsonString(new System.Text.Json.JsonSerializerOptions { WriteIndented = true }) + "\n");
            _part.Complete();
        }

        public void Dispose()
        {
            if (!_part.IsComplete) _text.Dispose();
            _part.Dispose();
        }

        private static void AppendMilliseconds(StringBuilder text, long ms)
        {
            if (ms < 0) text.Append('-');
            var magnitude = Math.Abs(ms);
            text.Append(CultureInfo.InvariantCulture, $"{magnitude / 1000}.{magnitude % 1000:000}");
        }
    }
}
