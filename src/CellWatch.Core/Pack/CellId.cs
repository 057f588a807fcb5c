using System.Globalization;

namespace CellWatch.Core.Pack;

/// <summary>
/// One measured cell: the module and the cell (or group of parallel cells) counted from that module's negative end, from 1.
/// Written <c>B07.3</c>.
/// </summary>
/// <param name="Module">The module it belongs to.</param>
/// <param name="Number">1 up to the module's series count.</param>
public readonly record struct CellId(ModuleId Module, int Number)
{
    /// <summary>Reads <c>B07.3</c>; false when the text has another form.</summary>
    public static bool TryParse(string? text, out CellId cell)
    {
        cell = default;
        var dot = text?.IndexOf('.', StringComparison.Ordinal) ?? -1;
        if (dot < 1 || !ModuleId.IsValid(text![..dot])) return false;
        if (!int.TryParse(text.AsSpan(dot + 1), NumberStyles.None, CultureInfo.InvariantCulture, out var number) || number < 1) return false;
        cell = new CellId(new ModuleId(text[..dot]), number);
        return true;
    }

    /// <inheritdoc/>
    public override string ToString() => string.Create(CultureInfo.InvariantCulture, $"{Module.Text}.{Number}");
}
