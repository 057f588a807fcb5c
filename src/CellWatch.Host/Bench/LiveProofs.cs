using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Proofs;
using CellWatch.Core.Register;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Bench;

/// <summary>Reads proofs from the last seconds of the cell log at a press, and keeps them with that stretch.</summary>
public sealed partial class LiveProofs(BenchDoor door, IHistory history, ChannelMap map, ILogger<LiveProofs> log, IRecorder? recorder = null) : ILiveProofs
{
    /// <summary>A current or a voltage is the mean of so many seconds.</summary>
    public const double MeanS = 10;

    private const double ShortestHandS = 20, LongestHandS = 600;

    private readonly Lock gate = new();
    private CurrentSoFar current = new(null, null, null);
    private string currentEvidence = "";

    /// <inheritdoc/>
    public CurrentSoFar Current
    {
        get
        {
            lock (gate) return current;
        }
    }

    /// <inheritdoc/>
    public async Task<LiveProof> WarmHandAsync(string by, string sensor, double seconds, CancellationToken cancellation = default)
    {
        RefusedException.Unless(seconds is >= ShortestHandS and <= LongestHandS, T($"The time is {ShortestHandS:0} to {LongestHandS:0} s; it begins before the hand."));
        var names = Enumerable.Range(map.FirstTemperature, map.TemperatureCount).Select(map.NameOf).ToList();
        RefusedException.Unless(names.Contains(sensor), T($"'{sensor}' is no temperature sensor of these instruments{NearestName.Suggestion(sensor, names)}."));
        var stretch = await ReadAsync(by, seconds, cancellation);
        var (before, after) = stretch.TemperatureEnds();
        IReadOnlyDictionary<string, double> Named(double[] degC) => names.Zip(degC).ToDictionary(p => p.First, p => p.Second, StringComparer.Ordinal);
        var (outcome, _) = door.Enter(by, stretch.AnySimulated, (p, who) => p.Proofs.Hand(sensor, Named(before), Named(after), who, stretch.Evidence));
        await FreezeAsync(stretch, T($"warm hand on {sensor}"));
        var rose = string.Join(", ", outcome.Rose.Select(r => $"{r} {after[names.IndexOf(r)] - before[names.IndexOf(r)]:+0.0} K"));
        return new LiveProof(true, outcome.Proven, outcome.Rose.Count > 0 && !outcome.Proven ? T($"{outcome.Sentence} Rose: {rose}.") : outcome.Sentence);
    }

    /// <inheritdoc/>
    public async Task<LiveProof> CurrentAsync(string by, CurrentStep step, double? meterA, CancellationToken cancellation = default)
    {
        var before = Current;
        RefusedException.Unless(step != CurrentStep.Load || before.ZeroA is not null, T("Read it without load first: the zero is taken out of the scale."));
        RefusedException.Unless(step != CurrentStep.Load || meterA is > 0, T("Type what the clamp meter reads at the load, in A."));
        RefusedException.Unless(step != CurrentStep.Charger || before.LoadedA is not null, T("Read it with the load first: the charger only shows that the sign flips."));
        var stretch = await ReadAsync(by, MeanS, cancellation);
        var tolerance = Math.Max(CurrentSensorProof.ZeroToleranceA, 0.01 * Math.Abs(stretch.Mean(map.PackCurrent)));
        var readA = stretch.SteadyMean(map.PackCurrent, tolerance, "A");
        var part = $"{step.ToString().ToLowerInvariant()} {readA:0.00} A: {stretch.Evidence}";
        if (step == CurrentStep.Zero)
        {
            lock (gate) (current, currentEvidence) = (new CurrentSoFar(readA, null, null), part);
            return new LiveProof(false, false, T($"Without load it reads {readA:+0.00;-0.00} A. Put the load on, the clamp meter around it, and read again."));
        }

        string evidence;
        lock (gate)
        {
            if (step == CurrentStep.Load) current = before with { LoadedA = readA, MeterA = meterA };
            (before, evidence) = (current, currentEvidence = $"{currentEvidence} {part}{(step == CurrentStep.Load ? T($" Clamp meter {meterA:0.00} A.") : "")}");
        }

        var (outcome, _) = door.Enter(by, stretch.AnySimulated, (p, who) => p.Proofs.Current(before.ZeroA!.Value, before.LoadedA!.Value, before.MeterA!.Value, step == CurrentStep.Charger ? readA : null, who, evidence));
        await FreezeAsync(stretch, T($"proof of the current sensor, {step.ToString().ToLowerInvariant()}"));
        return new LiveProof(true, outcome.Proven, outcome.Sentence);
    }

    /// <inheritdoc/>
    public async Task<LiveProof> StringVoltageAsync(string by, double meterV, CancellationToken cancellation = default)
    {
        RefusedException.Unless(meterV > 0, T("Type what the hand meter reads at the string's terminals, in V."));
        var stretch = await ReadAsync(by, MeanS, cancellation);
        var atRestBelowA = door.Read(p => p.Proofs.AtRestBelowA);
        var flowsA = Math.Abs(stretch.Mean(map.PackCurrent));
        RefusedException.Unless(flowsA <= atRestBelowA, T($"{flowsA:0.0} A flow: meter and instruments are compared at rest (below {atRestBelowA:0.#} A)."));
        var sumV = Enumerable.Range(0, map.CellCount).Sum(stretch.Mean);
        var channelV = stretch.Mean(map.StringVoltage);
        var (passed, sentence) = door.Enter(by, stretch.AnySimulated, (p, who) => p.Proofs.StringVoltage(sumV, channelV, meterV, who, stretch.Evidence));
        await FreezeAsync(stretch, T("proof of the string voltage"));
        return new LiveProof(true, passed, sentence);
    }

    private async Task<LiveStretch> ReadAsync(string by, double seconds, CancellationToken cancellation)
    {
        RefusedException.Unless(!string.IsNullOrWhiteSpace(by), T("Say who you are: every record carries a name."));
        var nowMs = door.Now.ToUnixTimeMilliseconds();
        var scans = new List<Snapshot>();
        await foreach (var scan in history.ReadSnapshotsAsync(new TimeRange(nowMs - (long)(1000 * seconds), nowMs + 1), cancellation)) scans.Add(scan);
        return LiveStretch.Of(scans, nowMs);
    }

    /// <summary>The stretch stays at full rate however old it grows: it is what the proof rests on.</summary>
    private async Task FreezeAsync(LiveStretch stretch, string reason)
    {
        if (recorder is null) return;
        try
        {
            await recorder.FreezeAsync(new FrozenWindow(new TimeRange(stretch.WallUnixMs.From, stretch.WallUnixMs.To + 1), reason));
        }
        catch (Exception fault) when (fault is IOException or InvalidOperationException)
        {
            LogNotFrozen(reason, fault);
        }
    }

    [LoggerMessage(Level = LogLevel.Warning, Message = "The stretch of the {Reason} is not kept at full rate")]
    private partial void LogNotFrozen(string reason, Exception fault);
}
