using System.Collections.Immutable;

namespace CellWatch.Core.Commands;

/// <summary>
/// Something a person asks of the pack's own task. Commands enter by one door, are checked, applied between two snapshots,
/// logged with who and when, and answered.
/// </summary>
/// <param name="By">The name the person typed.</param>
public abstract record PackCommand(string By);

/// <summary>An alarm was seen.</summary>
public sealed record AcknowledgeAlarm(string AlarmId, string By) : PackCommand(By);

/// <summary>Puts an alarm aside for a time.</summary>
/// <param name="AlarmId">The alarm.</param>
/// <param name="Minutes">1 to 480.</param>
/// <param name="Reason">Why; required.</param>
/// <param name="By">Who.</param>
public sealed record ShelveAlarm(string AlarmId, double Minutes, string Reason, string By) : PackCommand(By);

/// <summary>Takes a shelved alarm back.</summary>
public sealed record UnshelveAlarm(string AlarmId, string By) : PackCommand(By);

/// <summary>Resets an alarm that is held after its condition went.</summary>
public sealed record ResetAlarm(string AlarmId, string By) : PackCommand(By);

/// <summary>Takes an alarm out of service, or back.</summary>
public sealed record SetOutOfService(string AlarmId, bool OutOfService, string Reason, string By) : PackCommand(By);

/// <summary>"I am here": a person is present at the charge.</summary>
public sealed record ConfirmPresence(string By) : PackCommand(By);

/// <summary>A remark on the time line.</summary>
public sealed record MarkEvent(string Text, string By) : PackCommand(By);

/// <summary>The hand cut-off was tried and the current was seen to fall to zero.</summary>
public sealed record HandCutOffTried(string By) : PackCommand(By);

/// <summary>Arms or disarms the charge permit.</summary>
public sealed record ArmPermit(bool Armed, string By) : PackCommand(By);

/// <summary>One setting that is to be another.</summary>
/// <param name="Name">As in the site file: <c>limits.chargeTargetV</c>.</param>
/// <param name="From">What the person saw; refused where it is another by now.</param>
/// <param name="To">What was typed.</param>
public sealed record SettingChange(string Name, string From, string To);

/// <summary>Writes settings into the site file. They hold from the next start of the program.</summary>
/// <param name="Changes">At least one.</param>
/// <param name="By">Who.</param>
public sealed record ChangeSettings(ImmutableArray<SettingChange> Changes, string By) : PackCommand(By);

/// <summary>The answer to a command.</summary>
/// <param name="Accepted">Whether it was applied.</param>
/// <param name="Message">What happened, or why not and what to do.</param>
public sealed record CommandAnswer(bool Accepted, string Message);

/// <summary>The one door for commands.</summary>
public interface ICommandDoor
{
    /// <summary>Hands a command to the pack's task and waits for its answer.</summary>
    Task<CommandAnswer> SubmitAsync(PackCommand command, CancellationToken cancellation = default);
}
