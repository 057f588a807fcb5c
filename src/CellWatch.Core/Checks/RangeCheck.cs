using CellWatch.Core.Engine;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Checks;

/// <summary>
/// Values that the quantity cannot have. A cell below 0.5 V or above 5 V is a wiring fault or an open tap, not a cell; a sensor
/// below −30 degC is open, above 90 degC shorted (common practice).
/// </summary>
internal sealed class RangeCheck(CellLimits limits)
{
    public void Step(SnapshotBuffer snapshot, Facts facts)
    {
        var map = snapshot.Map;
        var values = snapshot.Values;
        var qualities = snapshot.Qualities;
        for (var cell = 0; cell < map.CellCount; cell++)
            if (qualities[cell] == Quality.Good && !(values[cell] >= limits.PlausibleLowV && values[cell] <= limits.PlausibleHighV)) facts.Doubts.Lower(snapshot, cell, Doubt.OutOfRange, Quality.OutOfRange);

        for (var channel = map.FirstTemperature; channel < map.FirstTemperature + map.TemperatureCount; channel++)
            if (qualities[channel] == Quality.Good && !(values[channel] >= limits.PlausibleColdDegC && values[channel] <= limits.PlausibleHotDegC)) qualities[channel] = Quality.Open;

        if (qualities[map.PackCurrent] == Quality.Good && !(Math.Abs(values[map.PackCurrent]) <= MostA)) qualities[map.PackCurrent] = Quality.OutOfRange;
        var highestV = map.CellCount * limits.PlausibleHighV;
        if (qualities[map.StringVoltage] == Quality.Good && !(values[map.StringVoltage] >= 0 && values[map.StringVoltage] <= highestV)) qualities[map.StringVoltage] = Quality.OutOfRange;
    }

    /// <summary>No pack of one string carries more; a short circuit of 400 V modules gives some 3 kA.</summary>
    private const double MostA = 10_000;
}
