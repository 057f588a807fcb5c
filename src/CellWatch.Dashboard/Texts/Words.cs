using CellWatch.Core.Live;
using CellWatch.Core.Rules;

namespace CellWatch.Dashboard.Texts;

/// <summary>The state words of all pages, their class in the style sheet and the word of a mode.</summary>
public static class Words
{
    /// <summary>The word as shown.</summary>
    public static string Of(StateWord state) => state switch
    {
        StateWord.Bleeding => T("BLEEDING"),
        StateWord.NotProven => T("NOT PROVEN"),
        StateWord.Caution => T("CAUTION"),
        StateWord.Doubtful => T("DOUBTFUL"),
        StateWord.NoData => T("NO DATA"),
        StateWord.ActNow => T("ACT NOW"),
        _ => T("NORMAL"),
    };

    /// <summary>The word of a part of the pack as every page says it: while the pack charges, lost data counts as ACT NOW.</summary>
    public static StateWord OfPart(StateWord part, PackMode mode) => part == StateWord.NoData && mode == PackMode.Charging ? StateWord.ActNow : part;

    /// <summary>Class of the style sheet that gives a state its colour; shape and word carry it too.</summary>
    public static string Class(StateWord state) => state switch
    {
        StateWord.Caution => "caution",
        StateWord.Doubtful or StateWord.NoData => "lost",
        StateWord.ActNow => "urgent",
        _ => "",
    };

    /// <summary>The state an alarm's word stands for.</summary>
    public static StateWord StateOf(AlarmView alarm) => alarm.Word switch
    {
        "ACT NOW" => StateWord.ActNow,
        "NO DATA" => StateWord.NoData,
        "DOUBTFUL" => StateWord.Doubtful,
        "NOT PROVEN" => StateWord.NotProven,
        "CAUTION" => StateWord.Caution,
        _ => alarm.Priority switch
        {
            AlarmPriority.High => StateWord.ActNow,
            AlarmPriority.Medium => StateWord.Caution,
            _ => StateWord.Normal,
        },
    };

    /// <summary>A text in which names such as <c>board-2</c> are not broken over two lines at their hyphen.</summary>
    public static string Whole(string text)
    {
        if (!text.Contains('-', StringComparison.Ordinal)) return text;
        var letters = text.ToCharArray();
        for (var i = 0; i + 1 < letters.Length; i++)
            if (letters[i] == '-' && char.IsAsciiDigit(letters[i + 1])) letters[i] = '\u2011';
        return new string(letters);
    }

    /// <summary>What the pack is doing, as said beside the current.</summary>
    public static string Of(PackMode mode) => mode switch
    {
        PackMode.Rest => T("at rest"),
        PackMode.Charging => T("charging"),
        PackMode.Discharging => T("discharging"),
        _ => T("direction not known"),
    };

    /// <summary>The same beside a countdown, short: <c>clock 8×</c>; empty when the clocks agree.</summary>
    public static string ClockRateShort(double timeFactor) =>
        Math.Abs(timeFactor - 1) < 0.005 ? "" : T($"clock {Figures.Number(timeFactor, timeFactor % 1 > 0.05 ? 1 : 0)}×");

    /// <summary>The pack's clock against the wall's, in words; empty when they agree.</summary>
    public static string ClockRate(double timeFactor)
    {
        if (Math.Abs(timeFactor - 1) < 0.005) return "";
        return timeFactor > 1
            ? T($"clock runs {Figures.Number(timeFactor, timeFactor % 1 > 0.05 ? 1 : 0)} times as fast")
            : T($"clock runs {Figures.Number(1 / timeFactor, 1)} times slower");
    }
}
