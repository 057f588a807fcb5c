using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;

namespace CellWatch.Mqtt;

public sealed partial class PayloadWriter
{
    /// <summary>
    /// One module's cells as arrays in the order of <c>cells</c>, counted from the module's negative end. <c>cellVoltageV</c> is null
    /// wherever <c>quality</c> is not <c>good</c>; <c>bleeding</c> is null where it is not known.
    /// </summary>
    /// <param name="state">The pack.</param>
    /// <param name="module">Module index.</param>
    public ReadOnlyMemory<byte> Cells(PackState state, int module)
    {
        var (first, last) = (state.Layout.FirstCell(module), state.Layout.FirstCell(module + 1));
        BeginModule(state, module);
        _json.WriteStartArray("cells");
        for (var c = first; c < last; c++) _json.WriteStringValue(_cellNames[c]);
        _json.WriteEndArray();
        WriteChannels(state.Snapshot, "cellVoltageV", first, last, JsonWriting.VoltageDigits);
        _json.WriteStartArray("bleeding");
        for (var c = first; c < last; c++)
        {
            if (state.Snapshot.TryGet(state.Snapshot.Map.FirstBleed + c, out var on)) _json.WriteBooleanValue(on > 0.5);
            else _json.WriteNullValue();
        }

        _json.WriteEndArray();
        _json.WriteStartArray("state");
        for (var c = first; c < last; c++) _json.WriteStringValue(Words.Of(state.CellStates[c]));
        _json.WriteEndArray();
        return End(state.Simulated);
    }

    /// <summary>One module's temperatures as arrays in the order of <c>sensors</c>; null wherever <c>quality</c> is not <c>good</c>.</summary>
    /// <param name="state">The pack.</param>
    /// <param name="module">Module index.</param>
    public ReadOnlyMemory<byte> Temperatures(PackState state, int module)
    {
        var (first, last) = (state.Layout.FirstTemperature(module), state.Layout.FirstTemperature(module + 1));
        BeginModule(state, module);
        _json.WriteStartArray("sensors");
        for (var t = first; t < last; t++) _json.WriteStringValue(_sensorNames[t]);
        _json.WriteEndArray();
        var offset = state.Snapshot.Map.FirstTemperature;
        WriteChannels(state.Snapshot, "temperatureDegC", offset + first, offset + last, JsonWriting.TemperatureDigits);
        return End(state.Simulated);
    }

    private void BeginModule(PackState state, int module)
    {
        Name(state.Layout);
        Begin(state.Layout.SiteName, state.Snapshot.Time.WallUnixMs);
        _json.WriteNumber("sequence", state.Snapshot.Sequence);
        _json.WriteString("module", state.Layout.Modules[module].Id.Text);
        _json.WriteNumber("slot", state.Layout.Modules[module].Slot);
        _json.WriteText("box", state.Layout.Modules[module].Box);
    }

    private void WriteChannels(Snapshot snapshot, string name, int first, int last, int digits)
    {
        _json.WriteStartArray(name);
        for (var c = first; c < last; c++)
        {
            snapshot.TryGet(c, out var value);
            _json.WriteFigureValue(value, digits);
        }

        _json.WriteEndArray();
        _json.WriteStartArray("quality");
        for (var c = first; c < last; c++) _json.WriteStringValue(Words.Of(snapshot.Quality[c]));
        _json.WriteEndArray();
        _json.WriteStartArray("origin");
        for (var c = first; c < last; c++) _json.WriteStringValue(Words.Of(snapshot.Origin[c]));
        _json.WriteEndArray();
        _json.WriteStartArray("proven");
        for (var c = first; c < last; c++) _json.WriteBooleanValue(snapshot.Proven[c]);
        _json.WriteEndArray();
        _json.WriteStartArray("ageS");
        for (var c = first; c < last; c++) _json.WriteAgeValue(snapshot.AgeUs[c]);
        _json.WriteEndArray();
    }
}
