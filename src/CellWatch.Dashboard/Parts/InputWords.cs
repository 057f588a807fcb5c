using CellWatch.Core.Inputs;
using CellWatch.Core.Live;

namespace CellWatch.Dashboard.Parts;

/// <summary>What is said of switches wired to the machine.</summary>
public static class InputWords
{
    /// <summary>The state word of a switch.</summary>
    public static StateWord StateOf(InputView input) => input.State switch
    {
        InputState.Well => StateWord.Normal,
        InputState.Stuck or InputState.Fluttering => StateWord.Doubtful,
        _ => StateWord.NoData,
    };

    /// <summary>What a press asks for, as the press on the page is named.</summary>
    public static string Of(InputPurpose purpose) => purpose == InputPurpose.Presence ? T("I am here") : T("Seen");

    /// <summary>Switches that count for nothing now.</summary>
    public static IEnumerable<InputView> Troubled(IInputDesk? desk) => desk is null ? [] : desk.Inputs.Where(i => i.State != InputState.Well);

    /// <summary>One sentence about them; empty where all are well.</summary>
    public static string Sentence(IInputDesk? desk) => Troubled(desk).ToList() switch
    {
        [] => "",
        [var one] => T($"The switch {one.Name} {What(one)}: its presses count for nothing."),
        var many => T($"{many.Count} switches count for nothing now: {string.Join(", ", many.Select(i => $"{i.Name} {What(i)}"))}."),
    };

    private static string What(InputView input) => input.State switch
    {
        InputState.Stuck => T("is held or stuck"),
        InputState.Fluttering => T("has a loose contact"),
        InputState.Closed => T("is not opened yet"),
        _ => T("cannot be read"),
    };
}
