using CellWatch.Core.Pack;
using CellWatch.Core.Proofs;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Bench.Project;

/// <summary>
/// One rhythm while it is played: keeps the good cell voltages of every scan, says the count, and notices what spoils it. A hole or a current makes
/// it worthless, and then nothing is judged. Times are those of the elapsed clock. Not safe for several threads.
/// </summary>
/// <param name="rhythm">When the load is on.</param>
/// <param name="live">Channels of the scans.</param>
/// <param name="known">The bench's pack: cells that it does not know are left out.</param>
/// <param name="atRestBelowA">A current above this spoils it, A.</param>
public sealed class RhythmPlay(LoadRhythm rhythm, ChannelMap live, PackLayout known, double atRestBelowA)
{
    /// <summary>A hole longer than this spoils a rhythm, s: half a phase (own rule).</summary>
    public const double LongestHoleS = 5;

    private readonly int[] cells = [.. Enumerable.Range(0, live.CellCount).Where(c => CellId.TryParse(live.NameOf(c), out var id) && known.TryFindCell(id, out _))];
    private readonly List<double> timeS = [];
    private readonly List<double?[]> rows = [];
    private long? beganUs;

    /// <summary>The rhythm.</summary>
    public LoadRhythm Rhythm => rhythm;

    /// <summary>Seconds since the first scan.</summary>
    public double ElapsedS => timeS.Count == 0 ? 0 : timeS[^1];

    /// <summary>Scans so far.</summary>
    public int Scans => rows.Count;

    /// <summary>Wall time of the first and the last scan, ms since 1970.</summary>
    public (long From, long To) WallUnixMs { get; private set; }

    /// <summary>Whether any value came from a model of a pack.</summary>
    public bool AnySimulated { get; private set; }

    /// <summary>What the count says now.</summary>
    public RhythmCount Count => rhythm.CountAt(ElapsedS);

    /// <summary>Cycles that are complete.</summary>
    public int CyclesDone => (int)Math.Clamp(Math.Floor((ElapsedS - rhythm.LeadInS) / (rhythm.OnS + rhythm.OffS)), 0, rhythm.Cycles);

    /// <summary>Why it cannot be judged; null while it can.</summary>
    public string? SpoiledBecause { get; private set; }

    /// <summary>Takes a scan.</summary>
    public void Add(Snapshot scan)
    {
        if (SpoiledBecause is not null || Count.Phase == RhythmPhase.Over) return;
        beganUs ??= scan.Time.ElapsedUs;
        var t = (scan.Time.ElapsedUs - beganUs.Value) * 1e-6;
        if (timeS.Count > 0 && t - timeS[^1] > LongestHoleS) SpoiledBecause = T($"{t - timeS[^1]:0} s without data: nothing was judged. Play it again.");
        else if (scan.TryGetPackCurrentA(out var currentA) && Math.Abs(currentA) > atRestBelowA) SpoiledBecause = T($"A current of {Math.Abs(currentA):0.0} A flowed: nothing was judged. Play it again at rest.");
        WallUnixMs = (timeS.Count == 0 ? scan.Time.WallUnixMs : WallUnixMs.From, scan.Time.WallUnixMs);
        AnySimulated |= scan.AnySimulated;
        timeS.Add(t);
        rows.Add([.. cells.Select(c => scan.TryGet(c, out var v) ? v : (double?)null)]);
    }

    /// <summary>What was recorded, up to the end of a cycle.</summary>
    public RhythmSamples Samples(int cycles) => new(
        [.. timeS], cells.Select((c, i) => (Name: live.NameOf(c), Values: rows.Select(r => r[i]).ToArray())).ToDictionary(c => c.Name, c => c.Values, StringComparer.Ordinal), rhythm with { Cycles = cycles });
}
