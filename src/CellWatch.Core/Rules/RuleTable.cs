using System.Collections.Immutable;
using System.Globalization;

namespace CellWatch.Core.Rules;

/// <summary>A validated table of rules, in the order they are judged.</summary>
public sealed class RuleTable
{
    /// <exception cref="ArgumentException">A row is wrong; the message names the row, the value and the allowed range.</exception>
    public RuleTable(IEnumerable<Rule> rules)
    {
        Rules = [.. rules];
        for (var i = 0; i < Rules.Length; i++) Validate(i);
    }

    /// <summary>The rows.</summary>
    public ImmutableArray<Rule> Rules { get; }

    /// <summary>Row of that name; -1 where there is none.</summary>
    public int IndexOf(string name)
    {
        for (var i = 0; i < Rules.Length; i++)
            if (string.Equals(Rules[i].Name, name, StringComparison.Ordinal)) return i;
        return -1;
    }

    private void Validate(int index)
    {
        var rule = Rules[index];
        void Require(bool holds, string field, object? value, string allowed)
        {
            if (holds) return;
            throw new ArgumentException(string.Create(
                CultureInfo.InvariantCulture, $"Rule {index + 1} '{rule.Name}': {field} is {value ?? "nothing"}; allowed: {allowed}."));
        }

        Require(rule.Name.Length > 0 && rule.Name.All(c => char.IsAsciiLetterLower(c) || char.IsAsciiDigit(c) || c == '-'), "name", $"'{rule.Name}'", "lower-case letters, digits and hyphens");
        Require(IndexOf(rule.Name) == index, "name", $"'{rule.Name}', used twice", "a name of its own");
        Require(Enum.IsDefined(rule.Quantity), "quantity", rule.Quantity, string.Join(", ", Quantities.All));
        Require(double.IsFinite(rule.Limit) && Math.Abs(rule.Limit) < 1e9, "limit", rule.Limit, "a finite figure");
        Require(rule.Deadband is >= 0 and < 1e6, "deadband", rule.Deadband, "0 or above");
        Require(rule.OnDelayS is >= 0 and <= 86_400, "on-delay s", rule.OnDelayS, "0 to 86400");
        Require(rule.OffDelayS is >= 0 and <= 86_400, "off-delay s", rule.OffDelayS, "0 to 86400");
        Require(rule.Samples is >= 1 and <= 1000, "samples", rule.Samples, "1 to 1000");
        Require(rule.Applies != AppliesWhen.Never && (rule.Applies & ~AppliesWhen.Always) == AppliesWhen.Never, "applies", rule.Applies, "at least one of Rest, Charging, Discharging, Unknown");
        Require(rule.Priority != AlarmPriority.High || rule.Latching, "latching", rule.Latching, "true, because the most urgent must be reset by a person");
        Require(rule.Message.Length > 0, "message", "empty", "a sentence");
        Require(rule.DoFirst.Length > 0, "do first", "empty", "a sentence");
        if (rule.SuppressedBy is not { } other) return;
        var by = IndexOf(other);
        Require(by >= 0 && by < index, "suppressed by", $"'{other}'", "the name of an earlier row");
        Require(Quantities.PlaceOf(Rules[by].Quantity) == Quantities.PlaceOf(rule.Quantity), "suppressed by", $"'{other}', which is about another kind of place", "a row about the same kind of place");
        Require(!rule.Latching, "suppressed by", $"'{other}' on a latching row", "only rows that do not latch may be suppressed");
    }
}
