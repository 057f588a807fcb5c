using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.RegularExpressions;
using Xunit;

namespace CellWatch.Mqtt.Tests.Payloads;

/// <summary>
/// The payloads shown in the document are those the code writes. To renew them:
/// <c>CELLWATCH_WRITE_MQTT_README=path/to/README.md dotnet test tests/CellWatch.Mqtt.Tests</c>.
/// </summary>
public sealed partial class DocumentTests
{
    private static readonly JsonSerializerOptions Indented = new() { WriteIndented = true, Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    [Fact]
    public void The_document_shows_every_payload_with_the_keys_it_has()
    {
        var path = Environment.GetEnvironmentVariable("CELLWATCH_WRITE_MQTT_README");
        var text = File.ReadAllText(path ?? Path.Combine(AppContext.BaseDirectory, "README.md"));
        var examples = Examples.All();
        if (path is not null)
        {
            text = Block().Replace(text, m => $"<!-- payload: {m.Groups["name"].Value} -->\n```json\n{Pretty(examples[m.Groups["name"].Value])}\n```");
            File.WriteAllText(path, text);
        }

        var shown = Block().Matches(text).ToDictionary(m => m.Groups["name"].Value, m => Keys(JsonDocument.Parse(m.Groups["json"].Value).RootElement), StringComparer.Ordinal);
        Assert.Equal(examples.Keys.Order(StringComparer.Ordinal), shown.Keys.Order(StringComparer.Ordinal));
        foreach (var (name, payload) in examples)
            Assert.Equal(Keys(JsonDocument.Parse(payload).RootElement), shown[name]);
    }

    /// <summary>Short arrays on one line, so that a person can read a module at a glance.</summary>
    private static string Pretty(byte[] payload) =>
        FlatArray().Replace(JsonSerializer.Serialize(JsonDocument.Parse(payload).RootElement, Indented), m => Gap().Replace(m.Value, " ").Replace("[ ", "[", StringComparison.Ordinal).Replace(" ]", "]", StringComparison.Ordinal));

    private static List<string> Keys(JsonElement element, string under = "") => element.ValueKind switch
    {
        JsonValueKind.Object => [.. element.EnumerateObject().SelectMany(p => Keys(p.Value, $"{under}.{p.Name}").Prepend($"{under}.{p.Name}"))],
        JsonValueKind.Array when element.GetArrayLength() > 0 => Keys(element[0], $"{under}[]"),
        _ => [],
    };

    [GeneratedRegex("<!-- payload: (?<name>[a-z ()]+) -->\\s*```json\\s*(?<json>.*?)```", RegexOptions.Singleline | RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex Block();

    [GeneratedRegex("\\[[^\\[\\]{}]*\\]", RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex FlatArray();

    [GeneratedRegex("\\s+", RegexOptions.ExplicitCapture, 5000)]
    private static partial Regex Gap();
}
