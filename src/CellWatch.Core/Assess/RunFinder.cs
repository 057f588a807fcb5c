using CellWatch.Core.Estimation;

namespace CellWatch.Core.Assess;

/// <summary>Rows from <paramref name="First"/> to <paramref name="Last"/> of a record with current of one direction (+1, -1) or none (0).</summary>
internal readonly record struct Stretch(int First, int Last, int Direction)
{
    public int Rows => Last - First + 1;
}

/// <summary>Cuts records into stretches of charge, discharge and rest, and counts them.</summary>
internal static class RunFinder
{
    /// <summary>Rows further apart than this, and than twenty usual steps, leave a gap, s (testers space rows by up to three minutes in steady parts).</summary>
    private const double LongestStepS = 600;

    public static List<Stretch> Stretches(MeasuredRecord record, double restA)
    {
        List<Stretch> found = [];
        for (int first = 0, next; first < record.Rows; first = next)
        {
            var direction = DirectionOf(record.CurrentA[first], restA);
            next = first + 1;
            while (next < record.Rows && DirectionOf(record.CurrentA[next], restA) == direction) next++;
            found.Add(new Stretch(first, next - 1, direction));
        }

        return found;
    }

    /// <summary>All charges (+1) or discharges (-1) of a file with at least two rows and some charge.</summary>
    public static List<CurrentRun> Runs(MeasuredRun run, int direction)
    {
        List<CurrentRun> found = [];
        foreach (var record in run.Records)
            foreach (var s in Stretches(record, run.RestA))
                if (s.Direction == direction && s.Rows >= 2 && record.TimeS[s.Last] > record.TimeS[s.First]) found.Add(Count(record, s, run.RestA));
        return found;
    }

    public static CurrentRun Count(MeasuredRecord record, Stretch s, double restA)
    {
        var counter = new ChargeCounter(LongestStep(record), restA);
        double temperature = 0;
        var withTemperature = 0;
        for (var r = s.First; r <= s.Last; r++)
        {
            counter.Add(record.TimeS[r], record.CurrentA[r], record.TotalV[r]);
            if (double.IsNaN(record.TemperatureDegC[r])) continue;
            temperature += record.TemperatureDegC[r];
            withTemperature++;
        }

        var cell = EndingCell(record, s);
        var isKnown = counter.UnknownGaps == 0;
        return new CurrentRun(
            record.Name, record.TimeS[s.First], record.TimeS[s.Last], isKnown ? Math.Abs(counter.NetAh) : null, isKnown ? Math.Abs(counter.NetWh) : null,
            cell + 1, record.CellV[cell][s.Last], withTemperature == 0 ? null : temperature / withTemperature, TesterAh(record, s),
            isKnown ? null : $"{counter.UnknownGaps} gap(s) in the rows under current: what flowed in them is not known");
    }

    public static double LongestStep(MeasuredRecord record)
    {
        var steps = new double[Math.Max(1, record.Rows - 1)];
        for (var r = 1; r < record.Rows; r++) steps[r - 1] = record.TimeS[r] - record.TimeS[r - 1];
        return Math.Max(LongestStepS, 20 * Statistics.Robust.MedianInPlace(steps));
    }

    /// <summary>The lowest cell at the end of a discharge, the highest at the end of a charge.</summary>
    public static int EndingCell(MeasuredRecord record, Stretch s)
    {
        var cell = 0;
        for (var k = 1; k < record.CellV.Length; k++)
            if (s.Direction * (record.CellV[k][s.Last] - record.CellV[cell][s.Last]) > 0) cell = k;
        return cell;
    }

    /// <summary>
    /// What the tester's counter says for the run: rises are summed. Where it falls with a new step it was restarted by plan; where it
    /// falls within a step, what it had counted before is lost to it.
    /// </summary>
    private static double? TesterAh(MeasuredRecord record, Stretch s)
    {
        if (record.TesterAh is not { } counter) return null;
        double sum = 0;
        for (var r = s.First + 1; r <= s.Last; r++)
        {
            var rise = counter[r] - counter[r - 1];
            sum = rise >= 0 ? sum + rise : record.Step[r] == record.Step[r - 1] ? counter[r] : sum + counter[r];
        }

        return sum;
    }

    private static int DirectionOf(double currentA, double restA) => Math.Abs(currentA) <= restA ? 0 : Math.Sign(currentA);
}
