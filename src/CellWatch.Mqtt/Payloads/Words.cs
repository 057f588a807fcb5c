using System.Text.Json;

namespace CellWatch.Mqtt;

/// <summary>The words of an enumeration as they stand in a payload: camel case, encoded once.</summary>
internal static class Words<T> where T : struct, Enum
{
    private static readonly Dictionary<T, JsonEncodedText> Texts =
        Enum.GetValues<T>().ToDictionary(v => v, v => JsonEncodedText.Encode(JsonNamingPolicy.CamelCase.ConvertName(v.ToString())));

    /// <summary>The word of a value.</summary>
    public static JsonEncodedText Of(T value) => Texts[value];
}

/// <summary>One door for the words, so that a caller need not name the enumeration.</summary>
internal static class Words
{
    /// <summary>The word of a value.</summary>
    public static JsonEncodedText Of<T>(T value) where T : struct, Enum => Words<T>.Of(value);
}
