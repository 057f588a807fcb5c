using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Proofs;

/// <summary>
/// The last seconds of live scans, read at a press. It is refused where it is not live or has a hole; a channel that was not good in every scan of it gives
/// no figure: what is stale or doubtful proves nothing.
/// </summary>
public sealed class LiveStretch
{
    /// <summary>Older than this is not live, s; a longer hole spoils the stretch. As for a rhythm (own rule).</summary>
    public const double LongestHoleS = 5;

    /// <summary>Fewer scans tell no noise (own rule).</summary>
    public const int LeastScans = 6;

    private readonly IReadOnlyList<Snapshot> scans;

    private LiveStretch(IReadOnlyList<Snapshot> scans) => this.scans = scans;

    /// <summary>Takes a stretch.</summary>
    /// <param name="scans">Its scans, in the order recorded.</param>
    /// <param name="nowUnixMs">The instant of the press, ms since 1970.</param>
    /// <exception cref="RefusedException">It is not live, too short, or has a hole.</exception>
    public static LiveStretch Of(IReadOnlyList<Snapshot> scans, long nowUnixMs)
    {
        RefusedException.Unless(scans.Count > 0, T("Nothing was heard from any instrument in this time: the proof is read from live data."));
        var agoS = (nowUnixMs - scans[^1].Time.WallUnixMs) / 1000.0;
        RefusedException.Unless(agoS <= LongestHoleS, T($"The last scan is {agoS:0} s old: the proof is read from live data. Look at the instruments first."));
        RefusedException.Unless(scans.Count >= LeastScans, T($"Only {scans.Count} scans lie in this time, at least {LeastScans} are needed: take a longer time."));
        for (var i = 1; i < scans.Count; i++)
        {
            var holeS = (scans[i].Time.WallUnixMs - scans[i - 1].Time.WallUnixMs) / 1000.0;
            RefusedException.Unless(holeS <= LongestHoleS, T($"{holeS:0} s without data in this time: wait until it has passed, then press again."));
        }

        return new LiveStretch(scans);
    }

    /// <summary>Channels.</summary>
    public ChannelMap Map => scans[0].Map;

    /// <summary>Scans.</summary>
    public int Count => scans.Count;

    /// <summary>First and last scan, ms since 1970.</summary>
    public (long From, long To) WallUnixMs => (scans[0].Time.WallUnixMs, scans[^1].Time.WallUnixMs);

    /// <summary>Whether any value came from a model.</summary>
    public bool AnySimulated => scans.Any(s => s.AnySimulated);

    /// <summary>Where it lies, in words.</summary>
    public string Evidence => T($"Live: {Count} scans, {At(WallUnixMs.From):yyyy-MM-dd HH:mm:ss} to {At(WallUnixMs.To):HH:mm:ss} UTC in the cell log.");

    /// <summary>All values of a channel.</summary>
    /// <exception cref="RefusedException">It was not good in every scan.</exception>
    public double[] Values(int channel)
    {
        var values = new double[scans.Count];
        var missing = 0;
        for (var i = 0; i < values.Length; i++)
            if (!scans[i].TryGet(channel, out values[i])) missing++;
        RefusedException.Unless(missing == 0, T($"{Map.NameOf(channel)} gave no good value in {missing} of {scans.Count} scans: look at that first."));
        return values;
    }

    /// <summary>Mean of a channel.</summary>
    /// <exception cref="RefusedException">It was not good in every scan.</exception>
    public double Mean(int channel) => Values(channel).Average();

    /// <summary>Mean of a channel that did not drift: its two halves agree within a tolerance.</summary>
    /// <exception cref="RefusedException">It drifted, or was not good in every scan.</exception>
    public double SteadyMean(int channel, double tolerance, string unit)
    {
        var values = Values(channel);
        var drift = values[(values.Length / 2)..].Average() - values[..(values.Length / 2)].Average();
        RefusedException.Unless(Math.Abs(drift) <= tolerance, T($"{Map.NameOf(channel)} moved by {Math.Abs(drift):0.##} {unit} meanwhile: wait until it is steady, then press again."));
        return values.Average();
    }

    /// <summary>
    /// Each sensor's mean over the first and the last fifth. A difference that is not clearly more than the noise (4.5 of its standard deviations, told
    /// from neighbouring scans; as for a rhythm) is none: then the end is given as the beginning.
    /// </summary>
    public (double[] BeforeDegC, double[] AfterDegC) TemperatureEnds()
    {
        var (before, after) = (new double[Map.TemperatureCount], new double[Map.TemperatureCount]);
        var part = Math.Max(2, Count / 5);
        for (var s = 0; s < before.Length; s++)
        {
            var v = Values(Map.FirstTemperature + s);
            double squares = 0;
            for (var i = 1; i < v.Length; i++) squares += (v[i] - v[i - 1]) * (v[i] - v[i - 1]);
            var sigmaK = Math.Sqrt(squares / (2 * (v.Length - 1)));
            (before[s], after[s]) = (v[..part].Average(), v[^part..].Average());
            if (Math.Abs(after[s] - before[s]) <= RhythmProof.FollowsAtScore * sigmaK * Math.Sqrt(2.0 / part)) after[s] = before[s];
        }

        return (before, after);
    }

    private static DateTimeOffset At(long unixMs) => DateTimeOffset.FromUnixTimeMilliseconds(unixMs);
}
