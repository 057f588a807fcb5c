namespace CellWatch.Core.Assess;

/// <summary>
/// Reads one measured file for one question. Comma-separated, units in the header (<c>time_s</c>, <c>current_A</c> positive = charging,
/// <c>voltage_V</c> or <c>cell1_V</c> ... with <c>string_voltage_V</c>) or the labels of the open Battery Data Format. A column
/// <c>script</c>, <c>cell</c>, <c>soc_percent</c>, <c>kind</c> or <c>record_index</c> splits the file into records, in which time may
/// start again. Rows that cannot be used are marked, counted and left out; nothing is guessed.
/// </summary>
public static class Assessment
{
    /// <summary>Reads and answers. The reader is the caller's; <paramref name="file"/> is only a name for the report.</summary>
    /// <exception cref="FormatException">The file is empty.</exception>
    public static AssessReport Run(AssessKind kind, string file, TextReader reader, AssessOptions? options = null) =>
        Run(kind, file, MeasuredTable.Read(reader), options);

    /// <summary>The same on a table that is read already.</summary>
    public static AssessReport Run(AssessKind kind, string file, MeasuredTable table, AssessOptions? options = null)
    {
        options ??= new AssessOptions();
        var run = MeasuredRun.From(table, out var missing);
        if (run is null || run.Records.Sum(r => r.Rows) < 3) return Refuse(kind, file, table, run is null ? $"it has no column for {missing}" : "it has fewer than three usable rows");
        var discharges = RunFinder.Runs(run, -1);
        var charges = RunFinder.Runs(run, +1);
        var capacityAh = options.CapacityAh ?? discharges.Concat(charges).Max(r => r.ChargeAh);
        var sense = SenseCheck.Find(run, capacityAh);
        if (sense is not null) run.Unfit.Add(sense);
        foreach (var r in discharges.Concat(charges)) CheckCounter(run, r);
        return kind switch
        {
            AssessKind.Capacity => Capacity(run, file, discharges, charges),
            AssessKind.String => String(run, file, discharges, charges, sense),
            AssessKind.Pulse => Pulses(run, file, capacityAh, sense),
            AssessKind.Charge => Charge(run, file, options),
            AssessKind.Rest => RestReader.Read(run, file, options, DefinitionOf(kind)),
            _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, "Not a kind of assessment."),
        };
    }

    /// <summary>How the figures of a kind are defined, in words.</summary>
    public static string DefinitionOf(AssessKind kind) => kind switch
    {
        AssessKind.Capacity => "Charge: trapezoid of current over time, used rows of each run of current of one direction. Energy: the same of voltage times current. Capacity of the cell only if the run went from full to empty.",
        AssessKind.String => "As capacity. Remaining charge: what the cell would still give at the same current to the same end voltage, estimated from the tail of the cell that ended the run; sigma holds for this current. Resistance: voltage step over current step, 10 s after the last row of rest. Links: sum of cells minus string voltage against current, rows 10 s after a step and later.",
        AssessKind.Pulse => "Pulse: 1 to 180 s of constant current from rest (at most C/50, held 10 s). Resistance at t: V and I interpolated at t after the last row before the step, change of V over change of I; at the end: last row under load. +- is one step of the voltage's resolution over the current.",
        AssessKind.Charge => "Time constant: -1/slope of a straight-line fit of ln(current) against time, rows within 5 mV of the highest voltage of the charge, current within the stated window.",
        AssessKind.Rest => "Slope: least squares over the longest rest without its first 24 h (48 h of a rest of four days or more, half of one shorter than two). Leak: only against sibling cells, after 48 h.",
        _ => throw new ArgumentOutOfRangeException(nameof(kind), kind, "Not a kind of assessment."),
    };

    private static string NameOf(AssessKind kind) => kind.ToString().ToLowerInvariant();

    private static RefusedReport Refuse(AssessKind kind, string file, MeasuredTable table, string because) => new()
    {
        Kind = NameOf(kind),
        File = file,
        Fit = false,
        Definition = DefinitionOf(kind),
        Unfit = [new Unfit("not a time series", null, $"This is not a time series of a cell or string: {because}. Nothing was computed.")],
        Rows = new AssessRows(table.RowCount + table.Malformed.Count, 0, table.RowCount + table.Malformed.Count),
    };

    private static CapacityReport Capacity(MeasuredRun run, string file, List<CurrentRun> discharges, List<CurrentRun> charges)
    {
        var any = discharges.Count + charges.Count > 0;
        if (!any) run.Unfit.Add(new Unfit("no current", null, "No charge or discharge is in the file."));
        return new CapacityReport
        {
            Kind = "capacity",
            File = file,
            Fit = any,
            Unfit = run.Unfit,
            Rows = run.Rows,
            Definition = DefinitionOf(AssessKind.Capacity),
            Discharges = discharges,
            Charges = charges,
        };
    }

    private static StringReport String(MeasuredRun run, string file, List<CurrentRun> discharges, List<CurrentRun> charges, Unfit? sense)
    {
        List<StringCell> cells = [];
        int? weakest = null;
        var because = "one cell only: nothing to compare";
        if (run.Cells < 2) run.Unfit.Add(new Unfit("not a string", null, "The file holds one cell: columns cell1_V, cell2_V ... are needed."));
        else if (StringCells.LongestDischarge(run) is { } found)
        {
            cells = StringCells.Cells(found.Record, found.Run, found.Before);
            (weakest, because) = StringCells.Weakest(cells, found.Record.CurrentA[found.Run.Last]);
        }
        else
        {
            because = "no discharge is in the file";
            run.Unfit.Add(new Unfit("no current", null, "No discharge is in the file: cells cannot be ranked."));
        }

        if (sense is not null) cells = cells.ConvertAll(c => c with { Resistance10sMilliohm = null, Why = "sense connection: see unfit" });
        var (milliohm, sigma, offset) = StringCells.Links(run);
        return new StringReport
        {
            Kind = "string",
            File = file,
            Fit = cells.Count > 0,
            Unfit = run.Unfit,
            Rows = run.Rows,
            Definition = DefinitionOf(AssessKind.String),
            Discharges = discharges,
            Charges = charges,
            Cells = cells,
            Weakest = weakest,
            WeakestBecause = because,
            LinkResistanceMilliohm = milliohm,
            LinkResistanceSigmaMilliohm = sigma,
            LinkOffsetV = offset,
        };
    }

    private static PulseReport Pulses(MeasuredRun run, string file, double? capacityAh, Unfit? sense)
    {
        var pulses = PulseFinder.Find(run, Math.Max(run.RestA, (capacityAh ?? 0) / 50));
        if (sense is not null)
            pulses = pulses.ConvertAll(p => p with { Resistance2sMilliohm = null, Resistance10sMilliohm = null, ResistanceEndMilliohm = null, Why = "sense connection: see unfit" });
        if (pulses.Count == 0) run.Unfit.Add(new Unfit("no pulse", null, "No current of 1 to 180 s that starts from rest is in the file."));
        return new PulseReport
        {
            Kind = "pulse",
            File = file,
            Fit = pulses.Count > 0 && sense is null,
            Unfit = run.Unfit,
            Rows = run.Rows,
            Definition = DefinitionOf(AssessKind.Pulse),
            Pulses = pulses,
        };
    }

    private static ChargeReport Charge(MeasuredRun run, string file, AssessOptions options)
    {
        var tapers = TaperFinder.Find(run, options.BetweenA);
        if (tapers.Count == 0) run.Unfit.Add(new Unfit("no taper", null, "No charge in the file ends with falling current at a held voltage."));
        return new ChargeReport
        {
            Kind = "charge",
            File = file,
            Fit = tapers.Exists(t => t.TimeConstantS is not null),
            Unfit = run.Unfit,
            Rows = run.Rows,
            Definition = DefinitionOf(AssessKind.Charge),
            Tapers = tapers,
        };
    }

    /// <summary>The tester's own counter is shown beside; where it differs it is not believed.</summary>
    private static void CheckCounter(MeasuredRun run, CurrentRun r)
    {
        if (r.TesterAh is not { } tester || r.ChargeAh is not { } own) return;
        var difference = tester - own;
        // Counters show 0.01 Ah; below half a percent the two agree.
        if (Math.Abs(difference) < Math.Max(0.03, 0.005 * own)) return;
        run.Unfit.Add(new Unfit("tester counter differs", r.StartS, FormattableString.Invariant(
            $"The tester's counter says {tester:F3} Ah, the current counted over time {own:F3} Ah ({difference:+0.000;-0.000} Ah). The count is used.")));
    }
}
