using System.Collections.Immutable;

namespace CellWatch.Core.Settings;

/// <summary>How a setting is typed.</summary>
public enum SettingKind : byte
{
    /// <summary>A number with a unit and a range; written with a point.</summary>
    Number,

    /// <summary>Words.</summary>
    Text,

    /// <summary>One of a few words.</summary>
    Choice,

    /// <summary><c>yes</c> or <c>no</c>.</summary>
    YesNo,
}

/// <summary>One setting as a person reads and types it.</summary>
public sealed record SettingView
{
    /// <summary>Its name in the site file, with the part it stands in: <c>limits.chargeTargetV</c>.</summary>
    public required string Name { get; init; }

    /// <summary>The group it is shown in.</summary>
    public required string Group { get; init; }

    /// <summary>Its name in words: <c>charge target</c>.</summary>
    public required string Label { get; init; }

    /// <summary>What it does, in one sentence.</summary>
    public required string Says { get; init; }

    /// <summary>How it is typed.</summary>
    public required SettingKind Kind { get; init; }

    /// <summary>Unit in words; empty for none.</summary>
    public string Unit { get; init; } = "";

    /// <summary>Smallest number, or fewest characters of a text.</summary>
    public double Low { get; init; }

    /// <summary>Largest number, or most characters of a text.</summary>
    public double High { get; init; }

    /// <summary>The words of a choice.</summary>
    public ImmutableArray<string> Choices { get; init; } = [];

    /// <summary>What the site file says now, or what holds where it says nothing.</summary>
    public required string Written { get; init; }

    /// <summary>What the running program goes by.</summary>
    public required string Running { get; init; }

    /// <summary>What holds where the site file says nothing.</summary>
    public required string Usual { get; init; }

    /// <summary>Where the usual value comes from.</summary>
    public required string Source { get; init; }

    /// <summary>What may be typed, in words: <c>0.5 to 5 V</c>.</summary>
    public string Allowed => Kind switch
    {
        SettingKind.Number => T($"{Low} to {High} {Unit}").TrimEnd(),
        SettingKind.Text => Low > 0 ? T($"{Low:0} to {High:0} characters") : T($"at most {High:0} characters"),
        SettingKind.YesNo => T("yes or no"),
        _ => string.Join(", ", Choices.Select(c => c.Length == 0 ? T("none") : c)),
    };
}

/// <summary>What is wrong with a value that was typed.</summary>
/// <param name="Name">The setting, as in <see cref="SettingView.Name"/>; empty for a fault of the file as a whole.</param>
/// <param name="Message">The field, the value and what is allowed, in one sentence.</param>
public sealed record SettingFault(string Name, string Message);

/// <summary>
/// The settings of the site file for the pages. Changes go through the command door as <c>ChangeSettings</c>; nothing here writes.
/// Safe to call from any thread.
/// </summary>
public interface ISettingsDesk
{
    /// <summary>The site file; empty where there is none.</summary>
    string File { get; }

    /// <summary>Why nothing can be changed, in one sentence; null where it can.</summary>
    string? Closed { get; }

    /// <summary>All settings in the order they are shown, read from the file now.</summary>
    IReadOnlyList<SettingView> Read();

    /// <summary>What is wrong with some values typed together, by themselves and beside what the file says; empty where nothing is.</summary>
    /// <param name="typed">Values by name.</param>
    IReadOnlyList<SettingFault> Check(IReadOnlyDictionary<string, string> typed);
}
