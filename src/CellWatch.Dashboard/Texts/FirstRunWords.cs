using System.Text;

namespace CellWatch.Dashboard.Texts;

/// <summary>One step of the first run: what to type, and what it does.</summary>
/// <param name="Command">As typed in a terminal; empty where nothing is typed.</param>
/// <param name="Says">What it does or what to look for.</param>
public sealed record FirstStep(string Command, string Says);

/// <summary>One answer to "what have you got?".</summary>
/// <param name="Id">For links.</param>
/// <param name="Have">The answer.</param>
/// <param name="Steps">What to do, in order.</param>
public sealed record FirstAnswer(string Id, string Have, IReadOnlyList<FirstStep> Steps);

/// <summary>The first run in words, for the page and for the terminal alike. Cautions come first.</summary>
public static class FirstRunWords
{
    /// <summary>Before anything is connected.</summary>
    public static IReadOnlyList<string> Cautions { get; } =
    [
        T("More than 60 V DC can kill. 18 modules in series are about 400 V: cover what is live, work with one hand, never alone, and leave to a licensed person what your rules leave to one."),
        T("A fuse belongs in every sense lead, at the cell. A front end that is not isolated puts the pack on your laptop."),
        T("This program supervises and advises. It switches nothing off: an independent hardware cut-off and a hand cut-off within reach must exist and be tried."),
        T("Warm, swollen, hissing or sweet smell: get everyone out, stay upwind, call the fire service."),
    ];

    /// <summary>The three answers.</summary>
    public static IReadOnlyList<FirstAnswer> Answers { get; } =
    [
        new("front-end", T("A front end: a board that measures cells"),
        [
            new("", T("Power the board from the bench with no pack on it first. See hardware-notes for the wires, byte by byte.")),
            new("cellwatch ports", T("Lists what is plugged in, by a name that stays when the port changes. Pull the lead and ask again: what vanished is your board.")),
            new("cellwatch new site.json", T("Asks what stands on the bench, shows the lines that arrive now, and writes a commented site file.")),
            new("cellwatch check site.json", T("Says what is wrong with it, by line, or what it describes: compare that with the bench.")),
            new("cellwatch serve --site site.json", T("Reads, judges, keeps and shows. Until the channel proof is done every cell is NOT PROVEN: go on at Proofs.")),
        ]),
        new("log-file", T("A log file: measured data, or a capture of a bus"),
        [
            new("cellwatch decode --database X.dbc FILE", T("Only for a bus capture: shows what a candump log or a serial CAN capture holds.")),
            new("cellwatch assess KIND FILE", T("One test (capacity, pulse, rest, charge, string): what it shows, or why it cannot be used.")),
            new("cellwatch log import FILE --into bench.cells.db", T("Takes a table or a capture into a cell log.")),
            new("cellwatch log check bench.cells.db", T("Says what of it reads. Name the log in a site file to see it on Traces.")),
        ]),
        new("nothing", T("Nothing yet: only the wish to see what it does"),
        [
            new("cellwatch demo", T("A simulated pack, 18 salvaged modules in a harbour launch, before a charge. Every page says SIMULATED.")),
            new("cellwatch demo --story night", T("The same pack after a night of balancing.")),
            new("cellwatch demo --story bench", T("The modules on the bench, with tests and grades.")),
            new("cellwatch simulate", T("The emulated boards on ports of their own, to practise new and serve without hardware.")),
        ]),
    ];

    /// <summary>The guide for a terminal.</summary>
    public static string Plain()
    {
        var text = new StringBuilder(T("First, before anything is connected:\n"));
        foreach (var caution in Cautions) text.Append("  - ").Append(caution).Append('\n');
        text.Append(T("\nWhat have you got?\n"));
        foreach (var answer in Answers)
        {
            text.Append('\n').Append(answer.Have).Append('\n');
            foreach (var step in answer.Steps) text.Append(step.Command.Length > 0 ? $"  {step.Command}\n      {step.Says}\n" : $"  {step.Says}\n");
        }

        return text.ToString();
    }
}
