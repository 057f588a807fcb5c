using System.Buffers;
using System.Text.Encodings.Web;
using System.Text.Json;
using CellWatch.Core.Pack;

namespace CellWatch.Mqtt;

/// <summary>
/// Writes the JSON of every topic into one buffer that it keeps, so that a live message costs no memory once the buffer has grown.
/// Every figure has its unit in its name; a value whose quality is not good is null; times are RFC 3339 UTC to the millisecond.
/// What a method returns is valid until the next call. Not safe for use from two tasks: each has its own.
/// </summary>
public sealed partial class PayloadWriter : IDisposable
{
    private readonly ArrayBufferWriter<byte> _buffer = new(4096);
    private readonly Utf8JsonWriter _json;
    private PackLayout? _layout;
    private string[] _cellNames = [];
    private string[] _sensorNames = [];

    /// <summary>An empty writer.</summary>
    public PayloadWriter() =>
        // The texts go to JSON readers, not into a page: a minus sign or a degree may stand as it is.
        _json = new Utf8JsonWriter(_buffer, new JsonWriterOptions { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping });

    /// <inheritdoc/>
    public void Dispose() => _json.Dispose();

    private void Begin(string site, long? timeUnixMs)
    {
        _buffer.ResetWrittenCount();
        _json.Reset();
        _json.WriteStartObject();
        _json.WriteString("site", site);
        _json.WriteTime("time", timeUnixMs);
    }

    private ReadOnlyMemory<byte> End(bool? simulated)
    {
        _json.WriteFlag("simulated", simulated);
        _json.WriteEndObject();
        _json.Flush();
        return _buffer.WrittenMemory;
    }

    /// <summary>Makes the names of a pack's channels once.</summary>
    private void Name(PackLayout layout)
    {
        if (ReferenceEquals(_layout, layout)) return;
        _cellNames = [.. Enumerable.Range(0, layout.CellCount).Select(c => layout.CellAt(c).ToString())];
        _sensorNames = [.. Enumerable.Range(0, layout.TemperatureCount).Select(t => $"{layout.Modules[layout.ModuleOfTemperature(t)].Id}.t{layout.SensorNumber(t)}")];
        _layout = layout;
    }

    private string? CellName(int? cell) => cell is { } c ? _cellNames[c] : null;

    private string? SensorName(int? sensor) => sensor is { } s ? _sensorNames[s] : null;
}
