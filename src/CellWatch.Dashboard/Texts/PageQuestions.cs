using CellWatch.Core.Live;

namespace CellWatch.Dashboard.Texts;

/// <summary>What each page answers, for its help; a state's mark in words.</summary>
public static class PageQuestions
{
    /// <summary>Three questions a page, by its address.</summary>
    public static IReadOnlyDictionary<string, string> Of { get; } = new Dictionary<string, string>(StringComparer.Ordinal)
    {
        ["whole-pack"] = "Is every cell known and inside limits? Which one stands out? Is anything changing?",
        ["module-sheet"] = "Is each of its cells healthy? What is to be done here? What is proven about its wiring?",
        ["charging"] = "How far to the limit, in mV and minutes? Which cell will limit, and does the current obey? When is it finished?",
        ["bench"] = "What is this step doing and when does it end? Are the data fit to be used? What grade, because of which line?",
        ["night-review"] = "Did the spread shrink, in Ah? Which cells did not come in, and why? How many nights more?",
        ["alarms"] = "What must I do first? Is it the cell or the measurement? What else has the same cause?",
        ["traces"] = "What happened just before? Who moved first? Is it in the data or in the sensor?",
        ["fitting-plan"] = "Where does each module go, and why? What does it do to mass and balance? What changes if I swap two?",
        ["proofs"] = "Where are we? What is the next step and what must be measured? What was re-opened, and why?",
        ["instruments"] = "Is every instrument alive and who it says it is? How good are its data? What do I do when it is gone?",
        ["reports"] = "What can I hand over? What changed since the last? Which limits and versions applied?",
        ["settings"] = "What does the program go by? What may a value be? What is written but not in force yet?",
    };

    /// <summary>The states, the most pressing first, with what each means and how it sounds.</summary>
    public static IReadOnlyList<(StateWord State, string Shape, string Means, string Sound)> States { get; } =
    [
        (StateWord.ActNow, "solid triangle, red", "A limit, a missing taper, unexplained heat or a stop rule; while charging also missing data. Do what the sentence says.", "repeats until seen, and again after 60 s"),
        (StateWord.NoData, "hatched square, purple, in the tray under the scale", "Older than its limit, or its port is gone. Nothing is known of it.", "one tone; while charging as ACT NOW"),
        (StateWord.Doubtful, "square with ?, purple", "Stuck, an impossible step, mirrored by a neighbour or out of band. Shown, but used for nothing.", "none"),
        (StateWord.Caution, "diamond, yellow", "Outside a warning, or on the way to a limit.", "one soft tone"),
        (StateWord.NotProven, "dotted tick, grey", "No valid proof that this channel is this cell.", "none"),
        (StateWord.Bleeding, "tick with a foot, grey", "Its bleed is on: shown, but kept out of the spread.", "none"),
        (StateWord.Normal, "plain tick, grey", "Proven, fresh, inside limits.", "none"),
    ];
}
