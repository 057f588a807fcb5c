using System.Buffers;
using CellWatch.Core.Snapshots;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Boards;

/// <summary>
/// A board that measures part of a simulated pack and speaks a wire: it writes what a real board would write of what the model's instruments show,
/// and answers what a real board would answer. It has neither clock nor port; <see cref="BoardRunner"/> gives it both. One thread at a time.
/// </summary>
public abstract class EmulatedBoard
{
    /// <summary>Scans a second of the story.</summary>
    public const double ScansPerS = 2;

    // Slow quantities go out with every fourth scan.
    private const int SlowEvery = 4;
    private readonly int[] _channels;
    private readonly double[] _values;
    private readonly int[] _placeOfChannel;
    private long _scan;

    private protected EmulatedBoard(BoardPlan plan, SimulatedPack pack)
    {
        (Plan, Pack) = (plan, pack);
        _channels = [.. ChannelsOf(plan, pack.Map)];
        _values = new double[_channels.Length];
        _placeOfChannel = new int[pack.Map.Count];
        for (var i = 0; i < _channels.Length; i++) _placeOfChannel[_channels[i]] = i;
    }

    /// <summary>What it measures and speaks.</summary>
    public BoardPlan Plan { get; }

    /// <summary>Channels of the pack it measures.</summary>
    public ReadOnlySpan<int> Channels => _channels;

    private protected SimulatedPack Pack { get; }

    private protected ChannelMap Map => Pack.Map;

    /// <summary>Temperature of the board itself, degC: its bleed resistors warm it, 0.5 W each (chosen: 2.4 K each).</summary>
    private protected double BoardDegC { get; private set; }

    /// <summary>Reads the instruments and writes one scan.</summary>
    /// <param name="storyTimeS">Time of the story, s.</param>
    /// <param name="to">Receives the bytes.</param>
    public void Scan(double storyTimeS, IBufferWriter<byte> to)
    {
        Pack.Read(storyTimeS, _channels, _values);
        BoardDegC = 24 + 2.4 * BleedsOn();
        WriteScan(_scan % SlowEvery == 0, _scan % 10 == 0, to);
        _scan++;
    }

    /// <summary>Answers bytes from the other end; a board that only talks answers nothing.</summary>
    /// <param name="input">What came in, in pieces of any size.</param>
    /// <param name="to">Receives the answer.</param>
    public virtual void Answer(ReadOnlySpan<byte> input, IBufferWriter<byte> to)
    {
    }

    /// <summary>The supply is gone: forgets what it was told.</summary>
    public virtual void LosePower() => RestartScans();

    /// <summary>Writes what was just read.</summary>
    /// <param name="withSlow">Whether temperatures, bleeds and what is beside the pack go out too.</param>
    /// <param name="withStatus">Whether the board speaks of itself too.</param>
    /// <param name="to">Receives the bytes.</param>
    private protected abstract void WriteScan(bool withSlow, bool withStatus, IBufferWriter<byte> to);

    /// <summary>Lets the next scan carry everything.</summary>
    private protected void RestartScans() => _scan = 0;

    /// <summary>What the instrument of a channel of this board showed.</summary>
    private protected double ValueOf(int channel) => _values[_placeOfChannel[channel]];

    private int BleedsOn()
    {
        var on = 0;
        for (var i = 0; i < _channels.Length; i++)
            if (Map.KindOf(_channels[i]) == ChannelKind.Bleed && _values[i] > 0.5) on++;
        return on;
    }

    private static IEnumerable<int> ChannelsOf(BoardPlan plan, ChannelMap map)
    {
        var layout = map.Layout;
        var (firstCell, endCell) = (layout.FirstCell(plan.FirstModule), layout.FirstCell(plan.FirstModule + plan.Modules));
        var (firstSensor, endSensor) = (FirstSensorOf(plan.FirstModule), FirstSensorOf(plan.FirstModule + plan.Modules));
        return
        [
            .. Enumerable.Range(firstCell, endCell - firstCell),
            .. Enumerable.Range(map.FirstTemperature + firstSensor, endSensor - firstSensor),
            .. Enumerable.Range(map.FirstBleed + firstCell, endCell - firstCell),
            .. plan.MeasuresString ? new[] { map.PackCurrent, map.StringVoltage } : [],
            .. plan.CarriesAuxiliaries ? Enumerable.Range(map.FirstAuxiliary, layout.Auxiliaries.Length) : [],
        ];

        int FirstSensorOf(int module) => layout.FirstTemperature(module);
    }
}
