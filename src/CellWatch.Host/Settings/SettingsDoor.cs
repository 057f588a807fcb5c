using CellWatch.Core.Commands;
using CellWatch.Host.Pipeline;

namespace CellWatch.Host.Settings;

/// <summary>
/// Stands before the one door. A change of settings is checked and written here, in the caller's task, because the pack's task waits for no
/// disk; then it passes through the door like every command, where it is recorded with who and when.
/// </summary>
public sealed class SettingsDoor(CommandDoor door, SettingsDesk desk) : ICommandDoor
{
    /// <inheritdoc/>
    public async Task<CommandAnswer> SubmitAsync(PackCommand command, CancellationToken cancellation = default)
    {
        if (command is not ChangeSettings change || string.IsNullOrWhiteSpace(command.By)) return await door.SubmitAsync(command, cancellation);
        var written = desk.Write(change);
        if (!written.Accepted) return written;
        var recorded = await door.SubmitAsync(command, cancellation);
        return recorded.Accepted ? written : new CommandAnswer(true, T($"{written.Message} But it is not in the record: {recorded.Message}"));
    }
}
