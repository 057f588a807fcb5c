using System.Text.Json;
using System.Text.Json.Serialization;

namespace CellWatch.Core.Assess;

/// <summary>What a measured file is to be read for.</summary>
public enum AssessKind
{
    /// <summary>Charge and energy of every charge and discharge.</summary>
    Capacity,

    /// <summary>Resistance from pulses of current.</summary>
    Pulse,

    /// <summary>Is it still relaxing, does it leak.</summary>
    Rest,

    /// <summary>The falling current at the end of charges.</summary>
    Charge,

    /// <summary>Cells in series: who ended the run, what the others had left, and the links.</summary>
    String,
}

/// <summary>What the caller knows or wants.</summary>
/// <param name="CapacityAh">Of one cell or group; null = the largest charge counted in the file.</param>
/// <param name="BetweenA">Window of current a taper is fitted in, lower and upper bound, A; null = 0.1 to 0.9 of the charge current.</param>
/// <param name="CurveMvPerPercent">Slope of the curve at the level of a rest test; null = not known.</param>
public sealed record AssessOptions(double? CapacityAh = null, (double FromA, double ToA)? BetweenA = null, double? CurveMvPerPercent = null);

/// <summary>Something in the file that is not fit for use, or that a reader must know before using the figures.</summary>
/// <param name="Reason">Short and always the same for the same thing.</param>
/// <param name="AtS">Time of the first place, s; null where it concerns the whole file.</param>
/// <param name="Detail">In figures, with what to do.</param>
public sealed record Unfit(string Reason, double? AtS, string Detail);

/// <summary>Rows of the file: all that were read, those used, and those marked and not used (kept in the file).</summary>
public sealed record AssessRows(int Read, int Used, int Marked);

/// <summary>One stretch of current of one direction.</summary>
/// <param name="Record">Record of the file; null where the file is not split.</param>
/// <param name="StartS">Time of its first row.</param>
/// <param name="EndS">Time of its last row.</param>
/// <param name="ChargeAh">Positive; trapezoid over its rows. Null with <paramref name="Why"/> where a gap under current hides some of it.</param>
/// <param name="EnergyWh">Positive; null as above.</param>
/// <param name="EndedBy">Cell that ended it, from 1: the lowest of a discharge, the highest of a charge.</param>
/// <param name="EndV">Voltage of that cell in the last row.</param>
/// <param name="MeanTemperatureDegC">Mean of all temperature columns over its rows; null where the file has none.</param>
/// <param name="TesterAh">What the tester's own counter says; null where there is none.</param>
/// <param name="Why">Reason of a missing charge.</param>
public sealed record CurrentRun(
    string? Record, double StartS, double EndS, double? ChargeAh, double? EnergyWh, int EndedBy, double EndV, double? MeanTemperatureDegC, double? TesterAh, string? Why);

/// <summary>One pulse of current.</summary>
/// <param name="Record">Record of the file; null where the file is not split.</param>
/// <param name="StartS">Time of the last row before the step.</param>
/// <param name="CurrentA">Mean under load, positive = charging.</param>
/// <param name="DurationS">From that row to the last row under load.</param>
/// <param name="RestV">Voltage of that row.</param>
/// <param name="Resistance2sMilliohm">At 2 s, interpolated; null with <paramref name="Why"/>.</param>
/// <param name="Resistance10sMilliohm">At 10 s, interpolated.</param>
/// <param name="ResistanceEndMilliohm">At the last row under load.</param>
/// <param name="PlusMinusMilliohm">What one step of the voltage's resolution is worth.</param>
/// <param name="CutShort">True when a voltage limit cut the current back.</param>
/// <param name="Why">Reasons of missing figures, in words; null where none is missing.</param>
public sealed record Pulse(
    string? Record, double StartS, double CurrentA, double DurationS, double RestV, double? Resistance2sMilliohm, double? Resistance10sMilliohm,
    double? ResistanceEndMilliohm, double PlusMinusMilliohm, bool CutShort, string? Why);

/// <summary>The falling current of one charge at constant voltage.</summary>
public sealed record TaperEntry(
    string? Record, double StartS, double EndS, double? TimeConstantS, double EndCurrentA, double? FitFromA, double? FitToA, double? RSquared, int FitRows, string? Why);

/// <summary>One cell of a string at the end of its run.</summary>
/// <param name="Index">From 1.</param>
/// <param name="EndV">In the last row of the run.</param>
/// <param name="RemainingAh">What it would still give at this current to this end voltage; null with <paramref name="Why"/>.</param>
/// <param name="RemainingSigmaAh">Its standard deviation, for this current.</param>
/// <param name="Resistance10sMilliohm">At the step that began the run.</param>
/// <param name="RestV">In the last row of rest before it.</param>
/// <param name="Why">Reason of a missing figure.</param>
public sealed record StringCell(int Index, double EndV, double? RemainingAh, double? RemainingSigmaAh, double? Resistance10sMilliohm, double? RestV, string? Why);

/// <summary>What came out of a file. Serialises to one object by <see cref="ToJson"/>.</summary>
public abstract record AssessReport
{
    private static readonly JsonSerializerOptions Web = new(JsonSerializerDefaults.Web)
    {
        WriteIndented = true,
        Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping,
    };

    /// <summary>capacity, pulse, rest, charge or string.</summary>
    [JsonPropertyOrder(-9)]
    public required string Kind { get; init; }

    /// <summary>Name of the file as given.</summary>
    [JsonPropertyOrder(-8)]
    public required string File { get; init; }

    /// <summary>True when the file is fit for this question. Things found on the way stand in <see cref="Unfit"/> also when it is.</summary>
    [JsonPropertyOrder(-7)]
    public required bool Fit { get; init; }

    /// <summary>What is not fit for use, or must be known before using the figures.</summary>
    [JsonPropertyOrder(-6)]
    public required IReadOnlyList<Unfit> Unfit { get; init; }

    /// <summary>Rows read, used, marked.</summary>
    [JsonPropertyOrder(-5)]
    public required AssessRows Rows { get; init; }

    /// <summary>How the figures are defined.</summary>
    [JsonPropertyOrder(-4)]
    public required string Definition { get; init; }

    /// <summary>One JSON object, camelCase, missing figures null.</summary>
    public string ToJson() => JsonSerializer.Serialize(this, GetType(), Web);
}

/// <summary>A file that is no time series of a cell: nothing is computed.</summary>
public sealed record RefusedReport : AssessReport;

/// <summary>Answer of <see cref="AssessKind.Capacity"/>.</summary>
public record CapacityReport : AssessReport
{
    /// <summary>In the order of the file.</summary>
    public required IReadOnlyList<CurrentRun> Discharges { get; init; }

    /// <summary>In the order of the file.</summary>
    public required IReadOnlyList<CurrentRun> Charges { get; init; }
}

/// <summary>Answer of <see cref="AssessKind.String"/>.</summary>
public sealed record StringReport : CapacityReport
{
    /// <summary>Cells at the end of the longest discharge.</summary>
    public required IReadOnlyList<StringCell> Cells { get; init; }

    /// <summary>Cell that limits the string, from 1; null with its reason in <see cref="WeakestBecause"/>.</summary>
    public required int? Weakest { get; init; }

    /// <summary>Why, in figures.</summary>
    public required string WeakestBecause { get; init; }

    /// <summary>Resistance of all links between cells and string terminals; null where the file does not tell it.</summary>
    public required double? LinkResistanceMilliohm { get; init; }

    /// <summary>Its standard deviation.</summary>
    public required double? LinkResistanceSigmaMilliohm { get; init; }

    /// <summary>Sum of cells minus string voltage without current: an offset of the meters.</summary>
    public required double? LinkOffsetV { get; init; }
}

/// <summary>Answer of <see cref="AssessKind.Pulse"/>.</summary>
public sealed record PulseReport : AssessReport
{
    /// <summary>In the order of the file.</summary>
    public required IReadOnlyList<Pulse> Pulses { get; init; }
}

/// <summary>Answer of <see cref="AssessKind.Charge"/>.</summary>
public sealed record ChargeReport : AssessReport
{
    /// <summary>One a charge that ends at constant voltage.</summary>
    public required IReadOnlyList<TaperEntry> Tapers { get; init; }
}

/// <summary>Answer of <see cref="AssessKind.Rest"/>, for the longest rest of the file.</summary>
public sealed record RestReport : AssessReport
{
    /// <summary>First row of the rest.</summary>
    public required double? StartS { get; init; }

    /// <summary>Last row of the rest.</summary>
    public required double? EndS { get; init; }

    /// <summary>True while the voltage still settles after current; null where no rest is long enough to tell.</summary>
    public required bool? Relaxing { get; init; }

    /// <summary>Slope over the rest without its first part: 24 h, or 48 h of a long one, or half of a short one.</summary>
    public required double? SlopeMvPerDay { get; init; }

    /// <summary>Standard deviation of that slope.</summary>
    public required double? SlopeSigmaMvPerDay { get; init; }

    /// <summary>Excess leak of the worst cell against its siblings; null with <see cref="Why"/>.</summary>
    public required double? LeakMilliampere { get; init; }

    /// <summary>Reason of a missing leak.</summary>
    public required string? Why { get; init; }
}
