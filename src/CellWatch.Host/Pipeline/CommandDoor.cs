using System.Threading.Channels;
using CellWatch.Core.Commands;

namespace CellWatch.Host.Pipeline;

/// <summary>A command on its way to the pack's task, with the place its answer goes to.</summary>
/// <param name="Command">What is asked.</param>
/// <param name="Answer">Completed by the pack's task.</param>
public readonly record struct PendingCommand(PackCommand Command, TaskCompletionSource<CommandAnswer> Answer);

/// <summary>The one door: hands commands over to the pack's own task, which applies them between two snapshots.</summary>
public sealed class CommandDoor : ICommandDoor
{
    /// <summary>Commands that may wait; a person cannot press faster than a scan.</summary>
    public const int Capacity = 64;

    private readonly Channel<PendingCommand> _waiting = Channel.CreateBounded<PendingCommand>(Capacity);

    /// <summary>What waits for the pack's task.</summary>
    public ChannelReader<PendingCommand> Waiting => _waiting.Reader;

    /// <inheritdoc/>
    public async Task<CommandAnswer> SubmitAsync(PackCommand command, CancellationToken cancellation = default)
    {
        if (string.IsNullOrWhiteSpace(command.By)) return new CommandAnswer(false, T("Type your name first: every command is kept with who gave it."));
        var pending = new PendingCommand(command, new TaskCompletionSource<CommandAnswer>(TaskCreationOptions.RunContinuationsAsynchronously));
        if (!_waiting.Writer.TryWrite(pending)) return new CommandAnswer(false, T("Too many commands are waiting. The pack's task does not answer: look at the log."));
        return await pending.Answer.Task.WaitAsync(cancellation);
    }
}
