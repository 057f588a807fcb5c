using CellWatch.Core.Statistics;

namespace CellWatch.Core.Assess;

/// <summary>One record of a measured file: used rows only, time never falls.</summary>
internal sealed class MeasuredRecord
{
    public required string? Name { get; init; }

    public required double[] TimeS { get; init; }

    public required double[] CurrentA { get; init; }

    /// <summary>[cell][row]; one cell for a file of one voltage.</summary>
    public required double[][] CellV { get; init; }

    /// <summary>String or cell voltage by row: what energy and pulses are taken from.</summary>
    public required double[] TotalV { get; init; }

    /// <summary>Mean of all temperature columns by row; NaN where none.</summary>
    public required double[] TemperatureDegC { get; init; }

    /// <summary>Magnitude of the tester's own charge counter by row; null where there is none.</summary>
    public required double[]? TesterAh { get; init; }

    /// <summary>Step number of the tester by row; the row number where the file has none, so that no two rows share a step.</summary>
    public required double[] Step { get; init; }

    public int Rows => TimeS.Length;
}

/// <summary>A measured file made ready: columns found by name and unit, split into records, unusable rows marked and left out.</summary>
internal sealed class MeasuredRun
{
    public required IReadOnlyList<MeasuredRecord> Records { get; init; }

    public required AssessRows Rows { get; init; }

    public required List<Unfit> Unfit { get; init; }

    public required int Cells { get; init; }

    public required bool HasTemperature { get; init; }

    /// <summary>True when the file has its own string voltage beside the cells.</summary>
    public required bool HasStringVoltage { get; init; }

    /// <summary>Smallest step of the voltages, V.</summary>
    public required double ResolutionV { get; init; }

    /// <summary>At or below this magnitude there is no current, A.</summary>
    public required double RestA { get; init; }

    private static readonly string[] SplitBy = ["script", "cell", "soc_percent", "kind", "record_index"];

    /// <summary>Null where the table is no time series of a cell; <paramref name="missing"/> then says what it lacks.</summary>
    public static MeasuredRun? From(MeasuredTable table, out string missing)
    {
        var time = Scaled(table, ("time_s", 1), ("Test Time / s", 1), ("test_time_second", 1), ("elapsed_s", 1), ("time_min", 60), ("time_h", 3600));
        var current = Scaled(table, ("current_A", 1), ("Current / A", 1), ("current_ampere", 1), ("current_mA", 1e-3));
        var stringV = Scaled(table, ("string_voltage_V", 1), ("string_voltage_mV", 1e-3));
        List<double[]> cells = [];
        while (Scaled(table, ($"cell{cells.Count + 1}_V", 1), ($"cell{cells.Count + 1}_mV", 1e-3)) is { } cell) cells.Add(cell);
        if (cells.Count == 0 && (Scaled(table, ("voltage_V", 1), ("Voltage / V", 1), ("voltage_volt", 1), ("voltage_mV", 1e-3)) ?? stringV) is { } single) cells.Add(single);
        missing = string.Join(", ", new[] { time is null ? "time" : "", current is null ? "current" : "", cells.Count == 0 ? "voltage" : "" }.Where(s => s.Length > 0));
        if (time is null || current is null || cells.Count == 0) return null;
        var reader = new Reader(table, time, current, stringV, cells);
        return reader.Read();
    }

    private static double[]? Scaled(MeasuredTable table, params ReadOnlySpan<(string Name, double Factor)> names)
    {
        foreach (var (name, factor) in names)
            if (table.Find(name) is { Texts: null } column) return factor == 1 ? column.Numbers : Array.ConvertAll(column.Numbers, v => v * factor);
        return null;
    }

    private sealed class Reader(MeasuredTable table, double[] time, double[] current, double[]? stringV, List<double[]> cells)
    {
        private readonly List<Unfit> unfit = [];
        private int backward, incomplete;
        private double firstBackwardAfterS, firstIncompleteS;

        public MeasuredRun Read()
        {
            var keys = SplitBy.Select(table.Find).Where(c => c is not null).Select(c => c!).ToArray();
            var temperatures = table.Columns.Where(IsTemperature).Select(c => c.Numbers).ToArray();
            var counters = table.Columns.Where(c => c.Name.StartsWith("tester", StringComparison.OrdinalIgnoreCase) && c.Name.EndsWith("_Ah", StringComparison.OrdinalIgnoreCase))
                .Select(c => c.Numbers).ToArray();
            List<MeasuredRecord> records = [];
            for (int start = 0, end; start < table.RowCount; start = end)
            {
                var name = NameOf(keys, start);
                end = start + 1;
                while (end < table.RowCount && NameOf(keys, end) == name) end++;
                records.Add(RecordOf(name, UsableRows(start, end), temperatures, counters));
            }

            if (backward > 0)
                unfit.Insert(0, new Unfit("clock went back", firstBackwardAfterS,
                    $"{backward} {(backward == 1 ? "row carries" : "rows carry")} a time before the row above: marked and not used. The clock of the tester stepped; charge across such a step is only right if the clock came back."));
            if (incomplete > 0) unfit.Add(new Unfit("value missing", firstIncompleteS, $"{incomplete} rows lack time, current or a voltage: marked and not used."));
            if (table.Malformed.Count > 0) unfit.Add(new Unfit("row not readable", null, $"{table.Malformed.Count} lines have another number of fields than the header (first: line {table.Malformed[0]}): left out."));
            var marked = backward + incomplete + table.Malformed.Count;
            var largest = records.SelectMany(r => r.CurrentA).DefaultIfEmpty().Max(Math.Abs);
            return new MeasuredRun
            {
                Records = records,
                Rows = new AssessRows(table.RowCount + table.Malformed.Count, table.RowCount - backward - incomplete, marked),
                Unfit = unfit,
                Cells = cells.Count,
                HasTemperature = temperatures.Length > 0,
                HasStringVoltage = stringV is not null && cells.Count > 1,
                ResolutionV = Resolution(cells),
                // Testers show 10 to 40 mA at rest; a fiftieth of a percent of a large current is no current either.
                RestA = Math.Max(0.02, 0.002 * largest),
            };
        }

        private static string? NameOf(MeasuredColumn[] keys, int row) =>
            keys.Length == 0 ? null : string.Join(" ", keys.Select(k => FormattableString.Invariant($"{k.Name} {(k.Texts is null ? k.Numbers[row] : k.Texts[row])}")));

        private static bool IsTemperature(MeasuredColumn c) =>
            c.Texts is null && (c.Name.EndsWith("degC", StringComparison.OrdinalIgnoreCase) || c.Name.EndsWith("_celsius", StringComparison.OrdinalIgnoreCase));

        private List<int> UsableRows(int start, int end)
        {
            List<int> rows = [];
            var last = double.NegativeInfinity;
            for (var r = start; r < end; r++)
            {
                if (double.IsNaN(time[r]) || double.IsNaN(current[r]) || cells.Exists(c => double.IsNaN(c[r])))
                {
                    if (incomplete++ == 0) firstIncompleteS = double.IsFinite(last) ? last : 0;
                    continue;
                }

                if (time[r] < last)
                {
                    if (backward++ == 0) firstBackwardAfterS = last;
                    continue;
                }

                last = time[r];
                rows.Add(r);
            }

            return rows;
        }

        private MeasuredRecord RecordOf(string? name, List<int> rows, double[][] temperatures, double[][] counters)
        {
            double[] Pick(double[] column) => [.. rows.Select(r => column[r])];
            var cellV = cells.ConvertAll(Pick).ToArray();
            return new MeasuredRecord
            {
                Name = name,
                TimeS = Pick(time),
                CurrentA = Pick(current),
                CellV = cellV,
                TotalV = stringV is not null ? Pick(stringV) : [.. rows.Select((_, i) => cellV.Sum(c => c[i]))],
                TemperatureDegC = [.. rows.Select(r => MeanOf(temperatures, r))],
                Step = table.FindNumbers("step", "Step Count / 1", "step_count") is { } step ? Pick(step) : [.. rows.Select(r => (double)r)],
                TesterAh = counters.Length == 0 ? null : [.. rows.Select(r => counters.Sum(c => double.IsNaN(c[r]) ? 0 : Math.Abs(c[r])))],
            };
        }

        private static double MeanOf(double[][] columns, int row)
        {
            var mean = new RunningMoments();
            foreach (var c in columns)
                if (!double.IsNaN(c[row])) mean.Add(c[row]);
            return mean.Count == 0 ? double.NaN : mean.Mean;
        }

        /// <summary>Largest of 10 mV, 1 mV, 0.1 mV, 10 uV of which all voltages are multiples.</summary>
        private static double Resolution(List<double[]> columns)
        {
            foreach (var step in (ReadOnlySpan<double>)[1e-2, 1e-3, 1e-4, 1e-5])
            {
                var fits = columns.TrueForAll(c => c.Take(500).All(v => double.IsNaN(v) || Math.Abs(v / step - Math.Round(v / step)) < 1e-6 * v / step + 1e-6));
                if (fits) return step;
            }

            return 1e-6;
        }
    }
}
