using System.Collections;
using System.Globalization;
using System.Text.Json;
using System.Text.Json.Serialization.Metadata;
using CellWatch.Core.Wording;

namespace CellWatch.Host.Site;

/// <summary>
/// Walks a JSON tree beside the type it will become and refuses every name the type does not have and every word an enumeration
/// does not have, with the nearest valid name. The serializer alone would stop at the first and suggest nothing.
/// </summary>
internal static class NameCheck
{
    public static void Run(JsonElement element, Type type, string path, JsonSerializerOptions options, Action<string, string> refuse)
    {
        type = Nullable.GetUnderlyingType(type) ?? type;
        switch (element.ValueKind)
        {
            case JsonValueKind.Object when options.GetTypeInfo(type) is { Kind: JsonTypeInfoKind.Object } info:
                foreach (var member in element.EnumerateObject())
                {
                    var known = info.Properties.FirstOrDefault(p => p.Name == member.Name);
                    if (known is null)
                        refuse($"{path}.{member.Name}", $"'{member.Name}' is not known here{NearestName.Suggestion(member.Name, info.Properties.Select(p => p.Name))}");
                    else
                        Run(member.Value, known.PropertyType, $"{path}.{member.Name}", options, refuse);
                }

                break;
            case JsonValueKind.Array when ElementType(type) is { } elementType:
                var index = 0;
                foreach (var item in element.EnumerateArray())
                    Run(item, elementType, string.Create(CultureInfo.InvariantCulture, $"{path}[{index++}]"), options, refuse);
                break;
            case JsonValueKind.String when type.IsEnum:
                var names = Enum.GetNames(type).Select(JsonNamingPolicy.CamelCase.ConvertName).ToList();
                var word = element.GetString()!;
                if (!names.Contains(word, StringComparer.OrdinalIgnoreCase))
                    refuse(path, $"'{word}' is not one of {string.Join(", ", names)}{NearestName.Suggestion(word, names)}");
                break;
        }
    }

    private static Type? ElementType(Type type) =>
        type.IsArray ? type.GetElementType()
        : type.IsGenericType && typeof(IEnumerable).IsAssignableFrom(type) ? type.GetGenericArguments()[0]
        : null;
}
