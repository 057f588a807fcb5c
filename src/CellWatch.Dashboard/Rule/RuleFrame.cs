using System.Buffers.Binary;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;

namespace CellWatch.Dashboard.Rule;

/// <summary>What a rule shows.</summary>
public enum RuleMode : byte
{
    /// <summary>Deviation of the voltage from the median cell, mV.</summary>
    Voltage,

    /// <summary>Difference of charge from the median cell, Ah.</summary>
    Charge,

    /// <summary>Deviation from the median sensor, K.</summary>
    Temperature,

    /// <summary>Deviation from the median cell, mOhm.</summary>
    Resistance,
}

/// <summary>
/// One scan on its way to the browser as a byte array:
/// <code>
/// | step 1 B | highest mark u16 | lowest mark u16 | then per mark, in the order of the columns: deviation i16, state u8 |
/// </code>
/// Little-endian. A deviation is in counts of <see cref="RuleScale.PerCount"/>; -32768 says that there is none. Highest and lowest are
/// positions in the frame, 65535 where they are not known. 108 cells are 329 bytes.
/// </summary>
public sealed class RuleFrame
{
    /// <summary>Says that a mark has no value.</summary>
    public const short None = short.MinValue;

    /// <summary>Bytes before the first mark.</summary>
    public const int HeaderBytes = 5;

    private const int MarkBytes = 3;

    private RuleFrame(RuleMode mode, RuleColumn[] columns, RuleScale scale, double? median, double[] deviation, StateWord[] states)
    {
        Mode = mode;
        Columns = columns;
        Scale = scale;
        Median = median;
        Deviation = deviation;
        States = states;
    }

    /// <summary>What it shows.</summary>
    public RuleMode Mode { get; }

    /// <summary>Its columns.</summary>
    public RuleColumn[] Columns { get; }

    /// <summary>Steps and unit.</summary>
    public RuleScale Scale { get; }

    /// <summary>Median in the quantity's own unit (V, degC, mOhm); null where it is not known.</summary>
    public double? Median { get; }

    /// <summary>Deviations in display units in the order of the columns; NaN where there is none.</summary>
    public double[] Deviation { get; }

    /// <summary>State of each mark, in the same order.</summary>
    public StateWord[] States { get; }

    /// <summary>Position of the highest known mark; null where none is.</summary>
    public int? Highest { get; private set; }

    /// <summary>Position of the lowest known mark.</summary>
    public int? Lowest { get; private set; }

    /// <summary>Deviations that decide the scale: known marks only.</summary>
    public double[] KnownDistances() => [.. Deviation.Where(d => !double.IsNaN(d)).Select(Math.Abs)];

    /// <summary>
    /// Takes one frame from a state. Null where the ruler has nothing to show: <see cref="WhyNot"/> says why.
    /// </summary>
    public static RuleFrame? From(PackState state, RuleMode mode)
    {
        if (WhyNot(state, mode) is not null) return null;
        return mode switch
        {
            RuleMode.Voltage => OfVoltage(state),
            RuleMode.Charge => OfCells(state, mode, RuleScale.ChargeDifference, null, state.ChargeDifferenceAh, 1),
            RuleMode.Temperature => OfTemperature(state),
            _ => OfResistance(state),
        };
    }

    /// <summary>Why a ruler cannot be shown now, in a sentence; null where it can.</summary>
    public static string? WhyNot(PackState state, RuleMode mode) => mode switch
    {
        RuleMode.Charge when !state.ChargeDifferenceAh.Any(double.IsFinite) =>
            T("Charge differences are not known yet: they need rest, and a place on the curve where voltage tells charge."),
        RuleMode.Temperature when state.Layout.TemperatureCount == 0 => T("This pack has no temperature sensors."),
        RuleMode.Resistance when !state.ResistanceMilliohm.Any(double.IsFinite) =>
            T("Resistances are not known yet: they need a step of current that every cell sees."),
        _ => null,
    };

    /// <summary>Writes the frame with the step to draw it at.</summary>
    public byte[] ToBytes(int step)
    {
        var bytes = new byte[HeaderBytes + Deviation.Length * MarkBytes];
        bytes[0] = (byte)step;
        BinaryPrimitives.WriteUInt16LittleEndian(bytes.AsSpan(1), (ushort)(Highest ?? ushort.MaxValue));
        BinaryPrimitives.WriteUInt16LittleEndian(bytes.AsSpan(3), (ushort)(Lowest ?? ushort.MaxValue));
        for (var i = 0; i < Deviation.Length; i++)
        {
            var mark = bytes.AsSpan(HeaderBytes + i * MarkBytes);
            var counts = Math.Round(Deviation[i] / Scale.PerCount);
            BinaryPrimitives.WriteInt16LittleEndian(mark, double.IsFinite(counts) ? (short)Math.Clamp(counts, -32_767, 32_767) : None);
            mark[2] = (byte)States[i];
        }

        return bytes;
    }

    private static RuleFrame OfVoltage(PackState state)
    {
        var frame = OfCells(state, RuleMode.Voltage, RuleScale.Voltage, state.Summary.MedianV, default, 1000);
        // The pack's own figures decide who is highest: a bleeding cell is shown but kept out of the spread.
        frame.Highest = frame.PositionOf(state.Summary.HighestCell);
        frame.Lowest = frame.PositionOf(state.Summary.LowestCell);
        return frame;
    }

    private static RuleFrame OfCells(PackState state, RuleMode mode, RuleScale scale, double? median, IReadOnlyList<double>? values, double factor)
    {
        var columns = RuleColumns.OfCells(state.Layout);
        var deviation = new double[state.Layout.CellCount];
        var states = new StateWord[deviation.Length];
        var i = 0;
        foreach (var column in columns)
            for (var cell = column.First; cell < column.First + column.Count; cell++, i++)
            {
                states[i] = state.CellStates[cell];
                deviation[i] = values is not null ? values[cell]
                    : state.Snapshot.TryGet(cell, out var voltageV) && median is { } m ? (voltageV - m) * factor
                    : Doubtful(state, cell, median) * factor;
                if (states[i] == StateWord.NoData) deviation[i] = double.NaN;
            }

        return new RuleFrame(mode, columns, scale, median, deviation, states).FindEnds();
    }

    // A doubtful value is still shown, marked as such; a lost one never is.
    private static double Doubtful(PackState state, int cell, double? median) =>
        state.Snapshot.CellQuality[cell] is Quality.Stuck or Quality.Doubtful && median is { } m ? state.Snapshot.RawCellVoltageV[cell] - m : double.NaN;

    private static RuleFrame OfTemperature(PackState state)
    {
        var columns = RuleColumns.OfTemperatures(state.Layout);
        var values = new double[state.Layout.TemperatureCount];
        var states = new StateWord[values.Length];
        var i = 0;
        foreach (var column in columns)
            for (var sensor = column.First; sensor < column.First + column.Count; sensor++, i++)
            {
                var channel = state.Snapshot.Map.FirstTemperature + sensor;
                values[i] = state.Snapshot.TryGet(channel, out var degC) ? degC : double.NaN;
                states[i] = StateOf(state.Snapshot.Quality[channel], state.Snapshot.Proven[channel]);
            }

        var median = MedianOf(values);
        for (var k = 0; k < values.Length; k++) values[k] -= median ?? double.NaN;
        return new RuleFrame(RuleMode.Temperature, columns, RuleScale.TemperatureDifference, median, values, states).FindEnds();
    }

    private static RuleFrame OfResistance(PackState state)
    {
        var median = MedianOf([.. state.ResistanceMilliohm]);
        var differences = state.ResistanceMilliohm.Select(r => r - (median ?? double.NaN)).ToArray();
        return OfCells(state, RuleMode.Resistance, RuleScale.ResistanceDifference, median, differences, 1);
    }

    private static StateWord StateOf(Quality quality, bool proven) => quality switch
    {
        Quality.Good => proven ? StateWord.Normal : StateWord.NotProven,
        Quality.Missing or Quality.Stale or Quality.Open => StateWord.NoData,
        _ => StateWord.Doubtful,
    };

    private static double? MedianOf(double[] values)
    {
        var known = values.Where(double.IsFinite).Order().ToArray();
        if (known.Length == 0) return null;
        return known.Length % 2 == 1 ? known[known.Length / 2] : (known[known.Length / 2 - 1] + known[known.Length / 2]) / 2;
    }

    private RuleFrame FindEnds()
    {
        for (var i = 0; i < Deviation.Length; i++)
        {
            if (double.IsNaN(Deviation[i]) || States[i] is StateWord.Bleeding or StateWord.Doubtful) continue;
            if (Highest is not { } h || Deviation[i] > Deviation[h]) Highest = i;
            if (Lowest is not { } l || Deviation[i] < Deviation[l]) Lowest = i;
        }

        return this;
    }

    /// <summary>Position in the frame of a channel (cell or sensor index); null where it is not on this rule.</summary>
    public int? PositionOf(int? channel)
    {
        var position = 0;
        foreach (var column in Columns)
        {
            if (channel >= column.First && channel < column.First + column.Count) return position + channel.Value - column.First;
            position += column.Count;
        }

        return null;
    }

    /// <summary>Channel (cell or sensor index) at a position.</summary>
    public int ChannelAt(int position)
    {
        foreach (var column in Columns)
        {
            if (position < column.Count) return column.First + position;
            position -= column.Count;
        }

        throw new ArgumentOutOfRangeException(nameof(position), "The rule has no such mark.");
    }

    /// <summary>Name of the mark at a position: <c>B07.3</c>, or <c>B07 sensor 1</c>.</summary>
    public string NameAt(int position)
    {
        foreach (var column in Columns)
        {
            if (position < column.Count) return Mode == RuleMode.Temperature ? T($"{column.Id} sensor {position + 1}") : $"{column.Id}.{position + 1}";
            position -= column.Count;
        }

        throw new ArgumentOutOfRangeException(nameof(position), "The rule has no such mark.");
    }
}
