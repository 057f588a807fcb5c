using System.Globalization;
using System.Text;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Bench;

/// <summary>
/// Rows of one run, taken from the pack's scans of its module: not closer than a stated time, only what is good. A cell that is not good leaves its field
/// empty; a scan without current is no row. Not safe for several threads.
/// </summary>
/// <param name="firstCell">Flat number of the module's first cell.</param>
/// <param name="cells">How many it has.</param>
/// <param name="firstTemperature">Flat channel of its first temperature.</param>
/// <param name="temperatures">How many it has.</param>
/// <param name="beganUnixMs">Start of the run; row times count from it.</param>
/// <param name="stepS">Least time between two rows, s; 1 s is what a capacity needs (common practice, no source).</param>
public sealed class RunRows(int firstCell, int cells, int firstTemperature, int temperatures, long beganUnixMs, double stepS = 1)
{
    private readonly List<double> timeS = [];
    private readonly List<double> currentA = [];
    private readonly List<double> hottestDegC = [];
    private readonly List<double>[] cellV = [.. Enumerable.Range(0, cells).Select(_ => new List<double>())];

    /// <summary>How many rows there are.</summary>
    public int Count => timeS.Count;

    /// <summary>Takes a scan, where it is late enough after the last row.</summary>
    public void Add(Snapshot scan)
    {
        var t = (scan.Time.WallUnixMs - beganUnixMs) / 1000.0;
        if (t < 0 || (Count > 0 && t - timeS[^1] < stepS) || !scan.TryGetPackCurrentA(out var current)) return;
        timeS.Add(t);
        currentA.Add(current);
        for (var c = 0; c < cellV.Length; c++) cellV[c].Add(scan.TryGet(firstCell + c, out var v) ? v : double.NaN);
        var hottest = double.NaN;
        for (var i = 0; i < temperatures; i++)
            if (scan.TryGet(firstTemperature + i, out var degC) && !(degC <= hottest)) hottest = degC;
        hottestDegC.Add(hottest);
    }

    /// <summary>The rows so far as a discharge.</summary>
    public DischargeRecording Recording => new([.. timeS], [.. currentA], [.. cellV.Select(c => c.ToArray())], temperatures == 0 ? null : [.. hottestDegC], null);

    /// <summary>The rows so far as a file that <see cref="RecordingCsv.Parse"/> reads.</summary>
    public string Csv()
    {
        var csv = new StringBuilder("time_s,current_A");
        for (var c = 1; c <= cellV.Length; c++) csv.Append(CultureInfo.InvariantCulture, $",cell{c}_V");
        if (temperatures > 0) csv.Append(",temp1_degC");
        for (var i = 0; i < Count; i++)
        {
            csv.Append(CultureInfo.InvariantCulture, $"\n{timeS[i]:0.###},{currentA[i]:0.###}");
            foreach (var c in cellV) csv.Append(',').Append(Field(c[i], "0.####"));
            if (temperatures > 0) csv.Append(',').Append(Field(hottestDegC[i], "0.##"));
        }

        return csv.Append('\n').ToString();
    }

    private static string Field(double v, string format) => double.IsFinite(v) ? v.ToString(format, CultureInfo.InvariantCulture) : "";
}
