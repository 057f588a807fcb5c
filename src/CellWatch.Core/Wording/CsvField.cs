namespace CellWatch.Core.Wording;

/// <summary>One field of a comma-separated line. Source: RFC 4180, section 2, rules 5 to 7.</summary>
public static class CsvField
{
    /// <summary>The field as it is written: in quotation marks where it holds a comma, a quotation mark or a line break.</summary>
    public static string Of(string text) =>
        text.AsSpan().IndexOfAny(",\"\r\n") < 0 ? text : $"\"{text.Replace("\"", "\"\"", StringComparison.Ordinal)}\"";
}
