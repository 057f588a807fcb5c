using CellWatch.Core.Live;

namespace CellWatch.Mqtt;

public sealed partial class PayloadWriter
{
    /// <summary>
    /// Figures over the whole pack. <c>alarms</c> lists every alarm that is not normal now: a retained alarm that is not in it was
    /// left by an earlier run of the program.
    /// </summary>
    public ReadOnlyMemory<byte> Pack(PackState state)
    {
        var (snapshot, summary, map) = (state.Snapshot, state.Summary, state.Snapshot.Map);
        Name(state.Layout);
        Begin(state.Layout.SiteName, snapshot.Time.WallUnixMs);
        _json.WriteNumber("sequence", snapshot.Sequence);
        _json.WriteFigure("elapsedS", snapshot.Time.ElapsedS, JsonWriting.TimeDigits);
        _json.WriteString("state", Words.Of(state.Verdict.State));
        _json.WriteString("sentence", state.Verdict.Sentence);
        _json.WriteString("mode", Words.Of(summary.Mode));
        _json.WriteFigure("modeForS", summary.ModeForS, JsonWriting.TimeDigits);
        _json.WriteFigure("packCurrentA", summary.PackCurrentA, JsonWriting.CurrentDigits);
        _json.WriteFigure("stringVoltageV", summary.StringVoltageV, JsonWriting.VoltageDigits);
        _json.WriteFigure("sumVoltageV", summary.SumV, JsonWriting.VoltageDigits);
        _json.WriteFigure("medianVoltageV", summary.MedianV, JsonWriting.VoltageDigits);
        _json.WriteText("highestCell", CellName(summary.HighestCell));
        _json.WriteFigure("highestVoltageV", summary.HighestV, JsonWriting.VoltageDigits);
        _json.WriteText("lowestCell", CellName(summary.LowestCell));
        _json.WriteFigure("lowestVoltageV", summary.LowestV, JsonWriting.VoltageDigits);
        _json.WriteFigure("spreadV", summary.SpreadV, JsonWriting.VoltageDigits);
        _json.WriteFigure("spreadAh", summary.SpreadAh, 3);
        _json.WriteText("hottestSensor", SensorName(summary.HottestSensor));
        _json.WriteFigure("hottestDegC", summary.HottestDegC, JsonWriting.TemperatureDigits);
        _json.WriteText("coldestSensor", SensorName(summary.ColdestSensor));
        _json.WriteFigure("coldestDegC", summary.ColdestDegC, JsonWriting.TemperatureDigits);
        _json.WriteFigure("soc", summary.Soc, 4);
        _json.WriteNumber("cells", map.CellCount);
        _json.WriteNumber("knownCells", summary.KnownCells);
        _json.WriteNumber("provenCells", summary.ProvenCells);
        _json.WriteNumber("temperatures", map.TemperatureCount);
        _json.WriteNumber("knownTemperatures", summary.KnownTemperatures);
        _json.WriteFigure("oldestS", summary.OldestS, JsonWriting.TimeDigits);
        _json.WriteStartObject("quality");
        _json.WriteString("packCurrentA", Words.Of(snapshot.Quality[map.PackCurrent]));
        _json.WriteString("stringVoltageV", Words.Of(snapshot.Quality[map.StringVoltage]));
        _json.WriteEndObject();
        WriteAuxiliaries(state);
        WriteAlarmList(state);
        _json.WriteBoolean("recording", state.Recording.IsRecording);
        _json.WriteString("recordingSentence", state.Recording.Sentence);
        return End(state.Simulated);
    }

    private void WriteAuxiliaries(PackState state)
    {
        var snapshot = state.Snapshot;
        _json.WriteStartArray("auxiliaries");
        for (var a = 0; a < state.Layout.Auxiliaries.Length; a++)
        {
            var auxiliary = state.Layout.Auxiliaries[a];
            var channel = snapshot.Map.FirstAuxiliary + a;
            snapshot.TryGet(channel, out var value);
            _json.WriteStartObject();
            _json.WriteString("name", auxiliary.Name);
            _json.WriteString("kind", Words.Of(auxiliary.Kind));
            _json.WriteFigure("value", value, JsonWriting.VoltageDigits);
            _json.WriteText("unit", auxiliary.Unit);
            _json.WriteString("quality", Words.Of(snapshot.Quality[channel]));
            _json.WriteEndObject();
        }

        _json.WriteEndArray();
    }

    private void WriteAlarmList(PackState state)
    {
        _json.WriteStartArray("alarms");
        foreach (var alarm in state.Alarms)
        {
            _json.WriteStartObject();
            _json.WriteString("id", alarm.Id);
            _json.WriteString("priority", Words.Of(alarm.Priority));
            _json.WriteString("state", Words.Of(alarm.State));
            _json.WriteEndObject();
        }

        _json.WriteEndArray();
    }
}
