using System.Buffers;
using System.Text.Json;
using System.Text.Json.Serialization;
using Microsoft.Extensions.Logging;
using MQTTnet;
using MQTTnet.Protocol;

namespace CellWatch.Mqtt;

/// <summary>
/// Keeps the embedded broker's retained messages over a restart: a JSON array, written to a new file and moved into place in one
/// step. Messages with an expiry are live values and are left out: they would be too old after any restart.
/// </summary>
/// <param name="path">The file.</param>
/// <param name="logger">For faults of the disk.</param>
internal sealed partial class RetainedFile(string path, ILogger logger) : IDisposable
{
    private readonly SemaphoreSlim _writing = new(1, 1);
    private MqttApplicationMessage[]? _pending;
    private bool _failing;

    /// <summary>Reads the file; a damaged one is put aside under the name <c>.damaged</c> and nothing is given back.</summary>
    public List<MqttApplicationMessage> Load()
    {
        if (!File.Exists(path)) return [];
        try
        {
            var kept = JsonSerializer.Deserialize(File.ReadAllBytes(path), RetainedJson.Default.KeptMessageArray) ?? [];
            return [.. kept.Select(k => k.ToMessage())];
        }
        catch (Exception e) when (e is JsonException or IOException or UnauthorizedAccessException)
        {
            logger.LogWarning("Retained messages of the embedded broker could not be read from {Path} and start empty: {Reason}", path, e.Message);
            if (e is JsonException) File.Move(path, path + ".damaged", overwrite: true);
            return [];
        }
    }

    /// <summary>
    /// Writes the messages; several calls in a row while the disk is busy make one write, of the newest.
    /// </summary>
    public async Task SaveAsync(IEnumerable<MqttApplicationMessage> messages)
    {
        Volatile.Write(ref _pending, [.. messages.Where(m => m.MessageExpiryInterval == 0 && !m.Payload.IsEmpty)]);
        await _writing.WaitAsync();
        try
        {
            if (Interlocked.Exchange(ref _pending, null) is { } newest) await WriteAsync(newest);
        }
        finally
        {
            _writing.Release();
        }
    }

    private async Task WriteAsync(MqttApplicationMessage[] messages)
    {
        try
        {
            if (Path.GetDirectoryName(Path.GetFullPath(path)) is { } folder) Directory.CreateDirectory(folder);
            var fresh = path + ".new";
            await using (var file = new FileStream(fresh, FileMode.Create, FileAccess.Write))
            {
                await JsonSerializer.SerializeAsync(file, [.. messages.Select(KeptMessage.Of)], RetainedJson.Default.KeptMessageArray);
                file.Flush(flushToDisk: true);
            }

            File.Move(fresh, path, overwrite: true);
            _failing = false;
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            if (!_failing) logger.LogWarning("Retained messages cannot be written to {Path}; they live in memory only: {Reason}", path, e.Message);
            _failing = true;
        }
    }

    /// <inheritdoc/>
    public void Dispose() => _writing.Dispose();

    /// <summary>One message as it stands in the file.</summary>
    internal sealed record KeptMessage(string Topic, byte[] Payload, int Qos, string? ContentType)
    {
        public static KeptMessage Of(MqttApplicationMessage m) =>
            new(m.Topic, m.Payload.ToArray(), (int)m.QualityOfServiceLevel, m.ContentType);

        public MqttApplicationMessage ToMessage() => new()
        {
            Topic = Topic,
            Payload = new ReadOnlySequence<byte>(Payload),
            QualityOfServiceLevel = (MqttQualityOfServiceLevel)Math.Clamp(Qos, 0, 2),
            ContentType = ContentType,
            Retain = true,
        };
    }

    [JsonSerializable(typeof(KeptMessage[]))]
    [JsonSourceGenerationOptions(PropertyNamingPolicy = JsonKnownNamingPolicy.CamelCase)]
    internal sealed partial class RetainedJson : JsonSerializerContext;
}
