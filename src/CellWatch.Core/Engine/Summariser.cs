using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Engine;

/// <summary>
/// Figures over the whole pack from one scan: median, highest, lowest and spread over good cells that are not bleeding; a sum only
/// when every cell is known. No allocation.
/// </summary>
internal sealed class Summariser(ChannelMap map)
{
    /// <summary>Channels never seen count as unseen only after this, so that a start is not an alarm.</summary>
    private const double StartS = 5;

    private readonly double[] _scratch = new double[Math.Max(1, map.CellCount)];

    public void Step(Snapshot snapshot, Facts facts, Measures measures)
    {
        Cells(snapshot, facts, measures);
        Temperatures(snapshot, facts, measures);
        Unseen(snapshot, facts, measures);
    }

    private void Cells(Snapshot snapshot, Facts facts, Measures measures)
    {
        var values = snapshot.RawCellVoltageV;
        var quality = snapshot.CellQuality;
        var ages = snapshot.AgeUs;
        var proven = snapshot.Proven;
        var measured = measures.Values(Quantity.CellVoltage);
        var available = measures.Availabilities(Quantity.CellVoltage);

        int known = 0, provenCells = 0, bleeding = 0, steady = 0, highest = -1, lowest = -1, top = -1;
        double sum = 0;
        long oldest = 0;
        for (var cell = 0; cell < values.Length; cell++)
        {
            if (proven[cell]) provenCells++;
            if (quality[cell] != Quality.Good)
            {
                available[cell] = Availability.Stale;
                continue;
            }

            var v = values[cell];
            measured[cell] = v;
            available[cell] = double.IsFinite(v) ? Availability.Known : Availability.Error;
            known++;
            sum += v;
            oldest = Math.Max(oldest, ages[cell]);
            if (top < 0 || v > values[top]) top = cell;
            if (snapshot.IsBleeding(cell))
            {
                bleeding++;
                continue;
            }

            _scratch[steady++] = v;
            if (highest < 0 || v > values[highest]) highest = cell;
            if (lowest < 0 || v < values[lowest]) lowest = cell;
        }

        facts.KnownCells = known;
        facts.ProvenCells = provenCells;
        facts.BleedingCells = bleeding;
        facts.MedianV = Statistics.Robust.MedianInPlace(_scratch.AsSpan(0, steady));
        (facts.HighestCell, facts.HighestV) = (highest, highest < 0 ? double.NaN : values[highest]);
        (facts.LowestCell, facts.LowestV) = (lowest, lowest < 0 ? double.NaN : values[lowest]);
        (facts.TopCell, facts.TopV) = (top, top < 0 ? double.NaN : values[top]);
        facts.SumV = known == values.Length ? sum : double.NaN;
        facts.OldestS = oldest * 1e-6;

        // The spread of what is seen is a lower bound: it may raise an alarm, but with a cell unseen it may not clear one.
        if (steady == 0) measures.SetNone(Quantity.Spread, 0, Availability.Stale);
        else measures.Set(Quantity.Spread, 0, facts.SpreadV);
        if (known < values.Length && !(facts.SpreadV >= (facts.Limits?.SpreadWarnV ?? double.MaxValue))) measures.SetNone(Quantity.Spread, 0, Availability.Stale);
        if (known < values.Length && !(facts.OldestS >= (facts.Limits?.DataAgeWarnS ?? double.MaxValue))) measures.SetNone(Quantity.DataAge, 0, Availability.Stale);
        else measures.Set(Quantity.DataAge, 0, facts.OldestS);
    }

    private static void Temperatures(Snapshot snapshot, Facts facts, Measures measures)
    {
        var values = snapshot.RawTemperatureDegC;
        var quality = snapshot.TemperatureQuality;
        var measured = measures.Values(Quantity.Temperature);
        var available = measures.Availabilities(Quantity.Temperature);
        int known = 0, hottest = -1, coldest = -1;
        for (var sensor = 0; sensor < values.Length; sensor++)
        {
            if (quality[sensor] != Quality.Good)
            {
                available[sensor] = Availability.Stale;
                continue;
            }

            measured[sensor] = values[sensor];
            available[sensor] = Availability.Known;
            known++;
            if (hottest < 0 || values[sensor] > values[hottest]) hottest = sensor;
            if (coldest < 0 || values[sensor] < values[coldest]) coldest = sensor;
        }

        facts.KnownTemperatures = known;
        (facts.HottestSensor, facts.HottestDegC) = (hottest, hottest < 0 ? double.NaN : values[hottest]);
        (facts.ColdestSensor, facts.ColdestDegC) = (coldest, coldest < 0 ? double.NaN : values[coldest]);
        if (known == 0) measures.SetNone(Quantity.TemperatureSpread, 0, values.IsEmpty ? Availability.Absent : Availability.Stale);
        else measures.Set(Quantity.TemperatureSpread, 0, facts.HottestDegC - facts.ColdestDegC);
    }

    private static void Unseen(Snapshot snapshot, Facts facts, Measures measures)
    {
        var unseen = measures.Values(Quantity.Unseen);
        unseen.Clear();
        measures.Availabilities(Quantity.Unseen).Fill(Availability.Known);
        var started = (facts.Time.ElapsedUs - facts.FirstElapsedUs) * 1e-6 >= StartS;
        var quality = snapshot.Quality;
        var channels = snapshot.Map.FirstTemperature + snapshot.Map.TemperatureCount;
        for (var channel = 0; channel < channels; channel++)
        {
            var q = quality[channel];
            if (q == Quality.Stale || q == Quality.Missing && (started || snapshot.AgeUs[channel] != long.MaxValue))
                unseen[facts.Instruments.OfChannel(channel)]++;
        }
    }
}
