using System.Collections.Immutable;
using CellWatch.Core.Commands;
using CellWatch.Core.Live;

namespace CellWatch.Testing.Pages;

/// <summary>A live view whose states a test or the preview puts in by hand.</summary>
public sealed class ScriptedLiveView : ILiveView
{
    public PackState? Latest { get; private set; }

    public event Action? Changed;

    public void Show(PackState? state)
    {
        Latest = state;
        Changed?.Invoke();
    }
}

/// <summary>Keeps every command and answers as told.</summary>
public sealed class CollectingCommandDoor : ICommandDoor
{
    public List<PackCommand> Commands { get; } = [];

    public CommandAnswer Answer { get; set; } = new(true, "Done.");

    public Task<CommandAnswer> SubmitAsync(PackCommand command, CancellationToken cancellation = default)
    {
        Commands.Add(command);
        return Task.FromResult(Answer);
    }
}

/// <summary>A strip that only remembers what was pressed.</summary>
public sealed class CollectingSimulationStrip : ISimulationStrip
{
    private readonly List<string> _pressed = [];

    public IReadOnlyList<string> Pressed => _pressed;

    public ImmutableArray<SimulationPress> Presses =>
    [
        new("pull-lead", "Pull a lead", "Takes the USB lead of instrument 2 out, or puts it back.", _pressed.Count(p => p == "pull-lead") % 2 == 1),
        new("stick-channel", "Stick a channel", "One channel repeats its value.", false),
        new("loosen-link", "Loosen a link", "The link between two modules gains resistance.", false),
        new("ignore-taper", "Charger ignores taper", "The charger keeps its current at the target.", false),
        new("next-morning", "Go to next morning", "Jumps to the morning after the night's balancing.", false),
    ];

    public string Trigger(string key)
    {
        _pressed.Add(key);
        return $"Done: {key}.";
    }
}
