using System.Globalization;
using CellWatch.Core.Estimation;
using CellWatch.Core.Proofs;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.BenchPages;

/// <summary>An isolation test as typed: nothing is lost where it is refused, and each refusal knows its field.</summary>
public sealed class IsolationEntry
{
    private const double Kilo = 1e3;
    private const double Mega = 1e6;

    /// <summary>Texts of the fields, by the name of the reading they hold.</summary>
    public Dictionary<string, string> Typed { get; } = new(StringComparer.Ordinal) { [nameof(IsolationFinding.Readings.KnownAtMinus)] = "", [MeterOhm] = "10" };

    /// <summary>What to put right, by field.</summary>
    public Dictionary<string, string> Faults { get; } = new(StringComparer.Ordinal);

    /// <summary>Name of the field of the meter's resistance.</summary>
    public const string MeterOhm = nameof(Core.Bench.Project.IsolationKept.MeterOhm);

    /// <summary>Name of the field of the humidity.</summary>
    public const string HumidityPercent = nameof(Core.Bench.Project.IsolationKept.HumidityPercent);

    /// <summary>What was connected.</summary>
    public string Connected { get; set; } = "";

    /// <summary>Whether Ro was fitted between minus and body; null while no side is chosen.</summary>
    public bool? KnownAtMinus => Text(nameof(IsolationReadings.KnownAtMinus)) switch { "minus" => true, "plus" => false, _ => null };

    /// <summary>The side the readings so far ask for; null while they are not there or are the same.</summary>
    public bool? SideAskedFor => Parsed(nameof(IsolationReadings.MinusToBodyV)) is { } v1 && Parsed(nameof(IsolationReadings.PlusToBodyV)) is { } v2 ? IsolationTest.KnownBelongsAtMinus(v1, v2) : null;

    /// <summary>Text of a field.</summary>
    public string Text(string field) => Typed.GetValueOrDefault(field, "");

    /// <summary>Sentence at a field; empty where there is none.</summary>
    public string FaultOf(string field) => Faults.GetValueOrDefault(field, "");

    /// <summary>Takes a text.</summary>
    public void Set(string field, object? value)
    {
        Typed[field] = value?.ToString() ?? "";
        Faults.Remove(field);
    }

    /// <summary>The readings; false where a field is empty or no number, and then each of them says so.</summary>
    public bool TryRead(out IsolationReadings readings, out double meterOhm, out double? humidityPercent)
    {
        Faults.Clear();
        readings = new IsolationReadings(
            Number(nameof(IsolationReadings.PackV)), Number(nameof(IsolationReadings.MinusToBodyV)), Number(nameof(IsolationReadings.PlusToBodyV)),
            Kilo * Number(nameof(IsolationReadings.KnownOhm)), KnownAtMinus ?? false, Number(nameof(IsolationReadings.WithKnownV)));
        if (KnownAtMinus is null) Faults[nameof(IsolationReadings.KnownAtMinus)] = T("Choose the side the known resistor was fitted to.");
        meterOhm = Mega * Number(MeterOhm);
        humidityPercent = Text(HumidityPercent).Trim().Length == 0 ? null : Number(HumidityPercent);
        return Faults.Count == 0;
    }

    private double Number(string field)
    {
        if (Parsed(field) is { } value) return value;
        var typed = Text(field).Trim();
        Faults[field] = typed.Length == 0 ? T("Still to be measured.") : T($"“{typed}” is no number: type it like 39.86.");
        return double.NaN;
    }

    private double? Parsed(string field) => Figures.Typed(Text(field));
}
