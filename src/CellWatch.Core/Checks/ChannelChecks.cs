using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// Judges what each channel is worth, in this order: range, direction of the current, impossible step, stuck, still, copy, mirror, exchange. A check lowers a quality, never raises one; a
/// value that is not good is seen by no later check and by no rule.
/// </summary>
internal sealed class ChannelChecks
{
    private readonly RangeCheck _range;
    private readonly StepCheck _step;
    private readonly StuckCheck _stuck;
    private readonly StillnessCheck _stillness;
    private readonly CopyCheck _copy;
    private readonly MirrorCheck _mirror;
    private readonly DirectionCheck _direction = new();

    public ChannelChecks(Facts facts)
    {
        _range = new RangeCheck(facts.Limits ?? new CellLimits());
        _step = new StepCheck(facts.Map.CellCount);
        _stuck = new StuckCheck(facts.Map.CellCount, facts.Instruments.Count);
        _stillness = new StillnessCheck(facts.Map.CellCount);
        _copy = new CopyCheck(facts.Layout);
        _mirror = new MirrorCheck(facts.Layout);
        Noise = new NoiseCheck(facts.Map.CellCount, facts.Instruments);
        Exchange = new ExchangeCheck(facts, Noise);
    }

    /// <summary>Noise by instrument.</summary>
    public NoiseCheck Noise { get; }

    /// <summary>Modules that exchanged their readings.</summary>
    public ExchangeCheck Exchange { get; }

    /// <summary>Lowers qualities; takes the current once it has been judged.</summary>
    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        facts.Doubts.Clear();
        _range.Step(snapshot, facts);
        _direction.Lower(snapshot, facts);
        facts.TakeCurrent(snapshot.View);
        _step.Step(snapshot, facts);
        _stuck.Step(snapshot, facts);
        _stillness.Step(snapshot, facts);
        _copy.Step(snapshot, facts);
        _mirror.Step(snapshot, facts);
        Exchange.Step(snapshot, facts);
    }

    /// <summary>What needs the pack's figures: direction of the current, noise, how many cells are not believed.</summary>
    public void Measure(Snapshot snapshot, Facts facts, Measures measures)
    {
        _direction.Step(facts, measures);
        Noise.Step(snapshot, facts, measures);
        Exchange.Measure(facts, measures);
        var disbelieved = measures.Values(Quantity.Disbelieved);
        disbelieved.Clear();
        measures.Availabilities(Quantity.Disbelieved).Fill(Availability.Known);
        var channels = facts.Map.FirstTemperature + facts.Map.TemperatureCount;
        for (var channel = 0; channel < channels; channel++)
        {
            if (snapshot.Quality[channel] is Quality.Good or Quality.Missing or Quality.Stale) continue;
            disbelieved[channel < facts.Map.CellCount ? facts.Layout.ModuleOfCell(channel) : facts.Layout.ModuleOfTemperature(channel - facts.Map.FirstTemperature)]++;
        }
    }
}
