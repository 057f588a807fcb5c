using System.Security.Cryptography;
using System.Text;

namespace CellWatch.Core.Bench;

/// <summary>A limit that can decide, as printed: its name, value, unit and where it comes from.</summary>
public sealed record LimitSetting(string Name, double Value, string Unit, string Source);

/// <summary>The limits of grading. Every one is a setting with its source; a sheet keeps the ones it was made with.</summary>
public sealed record GradeLimits
{
    private const string Practice = "common practice, no source";

    /// <summary>Rated capacity of a group, Ah.</summary>
    public double RatedGroupAh { get; init; } = 110;

    /// <summary>State of health at and above which nothing limits, %.</summary>
    public double HealthAcceptPercent { get; init; } = 80;

    /// <summary>State of health below which a module is rejected, %.</summary>
    public double HealthRejectPercent { get; init; } = 70;

    /// <summary>Modified z-score beyond which a group stands apart from its siblings.</summary>
    public double SiblingScore { get; init; } = Statistics.Robust.OutlierScore;

    /// <summary>Floor of the siblings' scatter, Ah: below it a capacity test does not tell two apart.</summary>
    public double CapacityResolutionAh { get; init; } = 0.6;

    /// <summary>Resistance over sibling median up to which nothing limits.</summary>
    public double ResistanceAcceptRatio { get; init; } = 1.25;

    /// <summary>Resistance over sibling median up to which it is usable with limits.</summary>
    public double ResistanceLimitRatio { get; init; } = 1.5;

    /// <summary>Excess leak at and below which nothing limits, mA.</summary>
    public double LeakAcceptMilliampere { get; init; } = 1;

    /// <summary>Excess leak above which a module is rejected, mA.</summary>
    public double LeakRejectMilliampere { get; init; } = 5;

    /// <summary>Isolation terminal to case at and above which nothing limits, MOhm.</summary>
    public double IsolationAcceptMegohm { get; init; } = 1;

    /// <summary>Isolation below which a module is rejected, MOhm.</summary>
    public double IsolationRejectMegohm { get; init; } = 0.1;

    /// <summary>Tests may differ by this in temperature and still compare, K.</summary>
    public double CompareWithinK { get; init; } = 5;

    /// <summary>All limits as a table.</summary>
    public IReadOnlyList<LimitSetting> Listed() =>
    [
        new("ratedGroupAh", RatedGroupAh, "Ah", "label or 44 kWh over 108 x 3.70 V; unknown until measured"),
        new("healthAcceptPercent", HealthAcceptPercent, "%", "70-80 % of the original as end of vehicle use, public abstract arXiv 2308.06786; " + Practice),
        new("healthRejectPercent", HealthRejectPercent, "%", "as above"),
        new("siblingScore", SiblingScore, "", "Iglewicz and Hoaglin, NIST/SEMATECH e-Handbook 1.3.5.17"),
        new("capacityResolutionAh", CapacityResolutionAh, "Ah", "0.5 % of the current over 110 Ah; own rule"),
        new("resistanceAcceptRatio", ResistanceAcceptRatio, "x sibling median", Practice),
        new("resistanceLimitRatio", ResistanceLimitRatio, "x sibling median", Practice),
        new("leakAcceptMilliampere", LeakAcceptMilliampere, "mA", Practice),
        new("leakRejectMilliampere", LeakRejectMilliampere, "mA", Practice),
        new("isolationAcceptMegohm", IsolationAcceptMegohm, "MOhm", Practice),
        new("isolationRejectMegohm", IsolationRejectMegohm, "MOhm", "own rule"),
        new("compareWithinK", CompareWithinK, "K", "25 +- 5 degC window, own rule"),
    ];

    /// <summary>Eight hexadecimal digits that change with any limit.</summary>
    public string Fingerprint()
    {
        var text = string.Join(";", Listed().Select(l => $"{l.Name}={l.Value:R}"));
        return Convert.ToHexStringLower(SHA256.HashData(Encoding.UTF8.GetBytes(text)))[..8];
    }
}
