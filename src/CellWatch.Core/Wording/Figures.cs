namespace CellWatch.Core.Wording;

/// <summary>Figures as a person reads them, with the prefix that suits them.</summary>
public static class Figures
{
    /// <summary>A resistance: <c>267 kOhm</c>, <c>1.1 MOhm</c>, <c>47 ohm</c>.</summary>
    public static string Ohm(double ohm) => ohm switch
    {
        >= 9.995e6 => $"{ohm / 1e6:0} MOhm",
        >= 999_500 => $"{ohm / 1e6:0.0} MOhm",
        >= 999.5 => $"{ohm / 1e3:0} kOhm",
        _ => $"{ohm:0} ohm",
    };

    /// <summary>Names joined by commas, the last by "and".</summary>
    public static string List(IReadOnlyList<string> names) => names.Count switch
    {
        0 => T("none"),
        1 => names[0],
        _ => T($"{string.Join(", ", names.Take(names.Count - 1))} and {names[^1]}"),
    };
}
