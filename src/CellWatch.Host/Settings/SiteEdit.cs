using System.Text;
using System.Text.Json;

namespace CellWatch.Host.Settings;

/// <summary>
/// Puts a value into the text of a site file and leaves every other byte as it is: comments, order and white space are a person's work.
/// </summary>
public static class SiteEdit
{
    /// <summary>The text with one value put in, over the old one or, where there was none, at the head of its part.</summary>
    /// <param name="utf8">A site file that can be read.</param>
    /// <param name="name">Name of the setting: <c>capacityAh</c>, or with its part <c>limits.chargeTargetV</c>.</param>
    /// <param name="rawValue">The value as JSON.</param>
    /// <exception cref="JsonException">The text is no JSON.</exception>
    public static byte[] Put(byte[] utf8, string name, string rawValue)
    {
        var parts = name.Split('.');
        var reader = new Utf8JsonReader(utf8, new JsonReaderOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
        reader.Read();
        for (var depth = 0; ; depth++)
        {
            var open = (int)reader.BytesConsumed;
            var (found, isEmpty) = Find(ref reader, parts[depth]);
            if (!found) return Splice(utf8, open, open, Written(parts[depth..], rawValue, depth, isEmpty));
            var start = (int)reader.TokenStartIndex;
            if (depth == parts.Length - 1 || reader.TokenType != JsonTokenType.StartObject)
            {
                reader.Skip();
                var value = depth == parts.Length - 1 ? rawValue : $"{{{Written(parts[(depth + 1)..], rawValue, depth + 1, isEmpty: true)}}}";
                return Splice(utf8, start, (int)reader.BytesConsumed, value);
            }
        }
    }

    // Stands on the value of the property where there is one; else behind the object.
    private static (bool Found, bool IsEmpty) Find(ref Utf8JsonReader reader, string name)
    {
        var isEmpty = true;
        while (reader.Read() && reader.TokenType == JsonTokenType.PropertyName)
        {
            isEmpty = false;
            var isIt = reader.ValueTextEquals(name);
            reader.Read();
            if (isIt) return (true, false);
            reader.Skip();
        }

        return (false, isEmpty);
    }

    private static string Written(string[] parts, string rawValue, int depth, bool isEmpty)
    {
        var indent = new string(' ', 2 * (depth + 1));
        var value = parts.Length == 1 ? rawValue : $"{{{Written(parts[1..], rawValue, depth + 1, isEmpty: true)}}}";
        return $"\n{indent}\"{parts[0]}\": {value}{(isEmpty ? "\n" + new string(' ', 2 * depth) : ",")}";
    }

    private static byte[] Splice(byte[] utf8, int start, int end, string text) => [.. utf8[..start], .. Encoding.UTF8.GetBytes(text), .. utf8[end..]];
}
