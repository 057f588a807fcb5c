using CellWatch.Core.FrontEnds;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Pages;

/// <summary>What is said of instruments: which state their link stands for, and what is being done about it.</summary>
public static class InstrumentWords
{
    /// <summary>What it is wired by, in words.</summary>
    public static string Wire(FrontEndHealth front) => front.Wire switch
    {
        "text lines" => T("text lines"),
        "plain lines" => T("plain lines"),
        "serial CAN" => T("serial CAN"),
        "Linux CAN" => T("Linux CAN"),
        _ => front.Wire,
    };

    /// <summary>The state word of a link.</summary>
    public static StateWord StateOf(FrontEndHealth front) => front.State switch
    {
        LinkState.Alive => front.BadPerMinute > 5 ? StateWord.Caution : StateWord.Normal,
        LinkState.WrongIdentity => StateWord.Doubtful,
        _ => StateWord.NoData,
    };

    /// <summary>Identity it answers with, or what is missing.</summary>
    public static string Identity(FrontEndHealth front)
    {
        if (front.Identity.Length == 0) return front.ExpectedIdentity.Length > 0 ? T($"not yet; expected {front.ExpectedIdentity}") : T("carries none");
        return front.State == LinkState.WrongIdentity ? T($"{front.Identity}, expected {front.ExpectedIdentity}") : front.Identity;
    }

    /// <summary>First line of the page.</summary>
    public static string Headline(IReadOnlyList<FrontEndHealth> fronts, long nowUnixMs, PackState state)
    {
        var alive = fronts.Count(f => f.State == LinkState.Alive);
        var worst = fronts.Where(f => f.State != LinkState.Alive).ToList();
        if (worst.Count == 0)
        {
            var oldest = fronts.Max(f => f.LastFrameAgeS ?? 0);
            return T($"{(alive == 1 ? T("The one instrument is") : T($"All {alive} instruments are"))} alive and who they should be; oldest frame {Figures.Age(oldest)}.")
                .Replace("The one instrument is alive and who they should be", "The one instrument is alive and who it should be", StringComparison.Ordinal);
        }

        var first = worst[0];
        var unseen = first.Channels.Count(c => c < state.Layout.CellCount);
        var text = T($"{alive} of {fronts.Count} instruments alive. Instrument {first.Name}: ");
        text += first.State == LinkState.WrongIdentity
            ? T($"another board answers ({first.Identity}); its data are not taken.")
            : T($"no data{(first.LastFrameAgeS is { } age ? T($" for {Figures.Duration(age)}") : T(" yet"))}, {Figures.Count(unseen, T("cell"), T("cells"))} unseen.");
        return text + (Next(first, nowUnixMs) is { Length: > 0 } next ? " " + next : "");
    }

    /// <summary>What a person does when an instrument goes silent, and what the program does by itself. Common practice, no source.</summary>
    public static IReadOnlyList<string> WhenGone =>
    [
        T("Do not charge: cells that nobody reads are not supervised. While charging, NO DATA is ACT NOW: use your hand cut-off first."),
        T("Look at its lead at the computer, then at its supply and its fuse. If all fell silent at once: the computer, the hub or the supply."),
        T("The program tries again by itself, with growing pauses; its row then says the attempt and when the next one comes."),
        T("Data count again only when the right identity answers. What came last, byte by byte: Raw lines, under its name."),
    ];

    /// <summary>What is wrong with one instrument and what happens next; empty when nothing is.</summary>
    public static string Trouble(FrontEndHealth front, long nowUnixMs)
    {
        if (front.State == LinkState.Alive) return "";
        var text = front.Fault.Length > 0 ? front.Fault : front.State switch
        {
            LinkState.Closed => T("Not opened yet."),
            LinkState.Listening => T("The port is open, but nothing valid has come."),
            LinkState.Silent => T("The port is open, but nothing valid comes any more: look at the board's supply and the rate of the port."),
            LinkState.WrongIdentity => T("Another board answers here; its data are not taken until the identity is right."),
            _ => T("The port is gone: look at its lead."),
        };
        return text + (Next(front, nowUnixMs) is { Length: > 0 } next ? " " + next : "");
    }

    private static string Next(FrontEndHealth front, long nowUnixMs)
    {
        if (front.NextAttemptUnixMs is not { } next) return "";
        var left = Math.Max(0, (next - nowUnixMs) / 1000.0);
        return left < 0.5 ? T($"Trying again now (attempt {front.Attempt}).") : T($"Trying again in {Figures.Duration(Math.Ceiling(left))} (attempt {front.Attempt}).");
    }
}
