using CellWatch.Core.Commands;
using CellWatch.Core.Live;

namespace CellWatch.Core.Inputs;

/// <summary>Turns a press of a pedal or a wired switch, which has no page to choose from, into a command for the one door.</summary>
public static class PressedBy
{
    /// <summary>The answer where no alarm waits to be seen.</summary>
    public static CommandAnswer NothingToSee { get; } = new(false, T("No alarm waits to be seen."));

    /// <summary>The command; null where "seen" finds nothing that was not seen.</summary>
    /// <param name="purpose">What the press asks for.</param>
    /// <param name="state">The newest state.</param>
    /// <param name="by">Who: the person, or the name of the input.</param>
    public static PackCommand? CommandOf(InputPurpose purpose, PackState? state, string by) => purpose switch
    {
        InputPurpose.Presence => new ConfirmPresence(by),
        _ => StandingAlarms.FirstUnseen(state) is { } alarm ? new AcknowledgeAlarm(alarm.Id, by) : null,
    };
}
