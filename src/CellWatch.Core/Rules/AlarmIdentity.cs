namespace CellWatch.Core.Rules;

/// <summary>How an alarm is named: by its rule and its place, the same in every language.</summary>
public static class AlarmIdentity
{
    /// <summary>Identity of a rule's alarm at a place. It becomes part of a topic, so what a topic may not hold is written as a hyphen.</summary>
    /// <param name="rule">Name of the rule: <c>no-data</c>.</param>
    /// <param name="place">Name of the place as the site file or the layout writes it: <c>board-1</c>, <c>B11.2</c>.</param>
    public static string Of(string rule, string place) =>
        $"{rule}.{string.Concat(place.Select(c => char.IsAsciiLetterOrDigit(c) || c is '.' or '-' or '_' ? c : '-'))}";
}
