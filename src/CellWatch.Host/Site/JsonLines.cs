using System.Globalization;
using System.Text.Json;

namespace CellWatch.Host.Site;

/// <summary>Knows on which line each value of a JSON text stands, so that a message about a value can say where it is.</summary>
public sealed class JsonLines
{
    private readonly Dictionary<string, int> _lineOf = new(StringComparer.Ordinal);

    private JsonLines()
    {
    }

    /// <summary>
    /// Walks a text once. Paths are written <c>$.modules[3].topology</c>, as the framework's own messages do.
    /// </summary>
    /// <param name="utf8">The text; comments and trailing commas are allowed.</param>
    /// <exception cref="JsonException">The text is no JSON; the exception carries the line.</exception>
    public static JsonLines Of(ReadOnlySpan<byte> utf8)
    {
        var lines = new JsonLines();
        var reader = new Utf8JsonReader(utf8, new JsonReaderOptions { CommentHandling = JsonCommentHandling.Skip, AllowTrailingCommas = true });
        var path = new Stack<(string Path, int Index)>();
        var counted = 0;
        var line = 1;
        var next = "$";
        while (reader.Read())
        {
            // Line breaks are counted only up to the token, so the walk stays linear.
            var at = (int)reader.TokenStartIndex;
            line += utf8[counted..at].Count((byte)'\n');
            counted = at;
            if (reader.TokenType == JsonTokenType.PropertyName)
            {
                next = $"{path.Peek().Path}.{reader.GetString()}";
                lines._lineOf[next] = line;
                continue;
            }

            if (reader.TokenType is JsonTokenType.EndArray or JsonTokenType.EndObject)
            {
                path.Pop();
                continue;
            }

            var here = next;
            if (path.TryPeek(out var parent) && parent.Index >= 0)
            {
                here = string.Create(CultureInfo.InvariantCulture, $"{parent.Path}[{parent.Index}]");
                path.Pop();
                path.Push((parent.Path, parent.Index + 1));
            }

            lines._lineOf.TryAdd(here, line);
            if (reader.TokenType == JsonTokenType.StartArray) path.Push((here, 0));
            else if (reader.TokenType == JsonTokenType.StartObject) path.Push((here, -1));
        }

        return lines;
    }

    /// <summary>The line of a value, from 1; of the nearest value around it where it does not stand in the text itself.</summary>
    public int LineOf(string path)
    {
        while (true)
        {
            if (_lineOf.TryGetValue(path, out var line)) return line;
            var cut = path.LastIndexOfAny(['.', '[']);
            if (cut <= 0) return 1;
            path = path[..cut];
        }
    }
}
