using System.Collections.Immutable;
using CellWatch.Core.Commands;
using CellWatch.Core.Inputs;
using CellWatch.Core.Live;
using CellWatch.FrontEnds.Inputs;

namespace CellWatch.Host.Pipeline;

/// <summary>A wired input and what it hangs on.</summary>
/// <param name="Name">Its name; also who its presses are kept under.</param>
/// <param name="Purpose">What a press asks for.</param>
/// <param name="Line">Where it is wired.</param>
public sealed record WiredInput(string Name, InputPurpose Purpose, IContactLine Line);

/// <summary>
/// Reads the wired inputs, each on a task of its own, and takes their presses to the one door like any other press. An input that cannot be
/// read is shown on Instruments and noted in the service log; it takes nothing else along.
/// </summary>
public sealed partial class InputWorker : BackgroundService, IInputDesk
{
    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    private readonly ICommandDoor _door;
    private readonly ILiveView _live;
    private readonly ILogger<InputWorker> _log;
    private readonly ImmutableArray<ContactReader> _readers;

    /// <param name="inputs">The inputs in the order of the site file.</param>
    /// <param name="door">Takes the presses.</param>
    /// <param name="live">Knows which alarm is the most pressing.</param>
    /// <param name="time">All times and pauses.</param>
    /// <param name="log">Service log.</param>
    public InputWorker(IReadOnlyList<WiredInput> inputs, ICommandDoor door, ILiveView live, TimeProvider time, ILogger<InputWorker> log)
    {
        (_door, _live, _log) = (door, live, log);
        _readers = [.. inputs.Select(i => new ContactReader(i.Name, i.Purpose, i.Line, time, PressAsync, Changed))];
    }

    /// <inheritdoc/>
    public ImmutableArray<InputView> Inputs => [.. _readers.Select(r => r.View)];

    /// <inheritdoc/>
    protected override Task ExecuteAsync(CancellationToken stoppingToken) => Task.WhenAll(_readers.Select(r => Task.Run(() => r.RunAsync(stoppingToken), CancellationToken.None)));

    private async Task<string> PressAsync(InputView input)
    {
        var answer = PressedBy.CommandOf(input.Purpose, _live.Latest, input.Name) is { } command ? await SubmitAsync(command) : PressedBy.NothingToSee;
        LogPressed(input.Name, input.Purpose, answer.Message);
        return answer.Message;
    }

    private async Task<CommandAnswer> SubmitAsync(PackCommand command)
    {
        using var patience = new CancellationTokenSource(Patience);
        try
        {
            return await _door.SubmitAsync(command, patience.Token);
        }
        catch (OperationCanceledException)
        {
            return new CommandAnswer(false, "No answer from the pack's task within 5 s.");
        }
    }

    private void Changed(InputView input)
    {
        if (input.Fault.Length > 0) LogFault(input.Name, input.Place, input.Fault);
        else LogState(input.Name, input.Place, input.State);
    }

    [LoggerMessage(Level = LogLevel.Information, Message = "Input {Name} pressed ({Purpose}): {Answer}")]
    private partial void LogPressed(string name, InputPurpose purpose, string answer);

    [LoggerMessage(Level = LogLevel.Warning, Message = "Input {Name} on {Place}: {Fault}")]
    private partial void LogFault(string name, string place, string fault);

    [LoggerMessage(Level = LogLevel.Information, Message = "Input {Name} on {Place}: {State}")]
    private partial void LogState(string name, string place, InputState state);
}
