using CellWatch.Core.Live;

namespace CellWatch.Dashboard.Texts;

/// <summary>What each page answers, for its help; a state's mark in words.</summary>
public static class PageQuestions
{
    /// <summary>Three questions a page, by its address.</summary>
    public static IReadOnlyDictionary<string, string> Of { get; } = new Dictionary<string, string>(StringComparer.Ordinal)
    {
        ["whole-pack"] = T("Is every cell known and inside limits? Which one stands out? Is anything changing?"),
        ["module-sheet"] = T("Is each of its cells healthy? What is to be done here? What is proven about its wiring?"),
        ["charging"] = T("How far to the limit, in mV and minutes? Which cell will limit, and does the current obey? When is it finished?"),
        ["bench"] = T("What is this step doing and when does it end? Are the data fit to be used? What grade, because of which line?"),
        ["night-review"] = T("Did the spread shrink, in Ah? Which cells did not come in, and why? How many nights more?"),
        ["alarms"] = T("What must I do first? Is it the cell or the measurement? What else has the same cause?"),
        ["traces"] = T("What happened just before? Who moved first? Is it in the data or in the sensor?"),
        ["fitting-plan"] = T("Where does each module go, and why? What does it do to mass and balance? What changes if I swap two?"),
        ["proofs"] = T("Where are we? What is the next step and what must be measured? What was re-opened, and why?"),
        ["instruments"] = T("Is every instrument alive and who it says it is? How good are its data? What do I do when it is gone?"),
        ["reports"] = T("What can I hand over? What changed since the last? Which limits and versions applied?"),
        ["settings"] = T("What does the program go by? What may a value be? What is written but not in force yet?"),
    };

    /// <summary>The states, the most pressing first, with what each means and how it sounds.</summary>
    public static IReadOnlyList<(StateWord State, string Shape, string Means, string Sound)> States { get; } =
    [
        (StateWord.ActNow, T("solid triangle, red"), T("A limit, a missing taper, unexplained heat or a stop rule; while charging also missing data. Do what the sentence says."), T("repeats until seen, and again after 60 s")),
        (StateWord.NoData, T("hatched square, purple, in the tray under the scale"), T("Older than its limit, or its port is gone. Nothing is known of it."), T("one tone; while charging as ACT NOW")),
        (StateWord.Doubtful, T("square with ?, purple"), T("Stuck, an impossible step, mirrored by a neighbour or out of band. Shown, but used for nothing."), T("none")),
        (StateWord.Caution, T("diamond, yellow"), T("Outside a warning, or on the way to a limit."), T("one soft tone")),
        (StateWord.NotProven, T("dotted tick, grey"), T("No valid proof that this channel is this cell."), T("none")),
        (StateWord.Bleeding, T("tick with a foot, grey"), T("Its bleed is on: shown, but kept out of the spread."), T("none")),
        (StateWord.Normal, T("plain tick, grey"), T("Proven, fresh, inside limits."), T("none")),
    ];
}
