using CellWatch.Core.Commands;
using CellWatch.Core.Engine;

namespace CellWatch.Core.Rules;

/// <summary>What a person may do with one alarm.</summary>
internal readonly struct AlarmDoor(AlarmRoll roll, AlarmLife life, AlarmPictures pictures, Facts facts, int row, int place)
{
    private ref AlarmSlot Slot => ref roll.Slot(row, place);

    private Rule Rule => roll.Rows[row].Rule;

    public CommandAnswer Acknowledge(string by)
    {
        AlarmState to;
        switch (Slot.State)
        {
            case AlarmState.Unacknowledged: to = AlarmState.Acknowledged; break;
            case AlarmState.ReturnedUnacknowledged: to = AlarmState.Normal; break;
            case AlarmState.LatchedUnacknowledged: to = AlarmState.LatchedAcknowledged; break;
            default: return new(false, T("There is nothing to mark as seen: this alarm is not waiting for it."));
        }

        Slot.Record!.SeenUnixMs = facts.Time.WallUnixMs;
        Slot.Record.SeenBy = by;
        life.Move(row, place, to, $"acknowledged by {by}");
        return new(true, T("Seen."));
    }

    public CommandAnswer Shelve(double minutes, string reason, string by)
    {
        if (!(minutes is >= 1 and <= 480)) return new(false, T($"{minutes} minutes: allowed are 1 to 480."));
        if (string.IsNullOrWhiteSpace(reason)) return new(false, T("Say why it is put aside."));
        if (!Rule.MayBeShelved || pictures.PriorityOf(Rule) == AlarmPriority.High) return new(false, T("The most urgent alarms are never put aside. Remove the cause."));
        if (Slot.IsSetAside) return new(false, T("It is set aside already."));
        var record = Slot.Record ??= new AlarmRecord();
        record.ShelvedUntilUs = facts.Time.ElapsedUs + (long)(minutes * 60e6);
        record.ShelvedUntilUnixMs = facts.Time.WallUnixMs + (long)(minutes * 60e3);
        record.Reason = reason;
        life.Move(row, place, AlarmState.Shelved, $"shelved by {by}: {reason}");
        return new(true, T($"Put aside until {Say.Clock(record.ShelvedUntilUnixMs, facts.Options.TimeZone)}."));
    }

    public CommandAnswer Unshelve(string by)
    {
        if (Slot.State != AlarmState.Shelved) return new(false, T("It is not put aside."));
        life.JudgeAfresh(row, place, $"unshelved by {by}");
        return new(true, T("Taken back."));
    }

    public CommandAnswer Reset(string by)
    {
        switch (Slot.State)
        {
            case AlarmState.LatchedAcknowledged:
                life.Move(row, place, AlarmState.Normal, $"reset by {by}");
                return new(true, T("Reset."));
            case AlarmState.LatchedUnacknowledged: return new(false, T("Mark it as seen first."));
            case AlarmState.Unacknowledged or AlarmState.Acknowledged: return new(false, T("Its condition is still present; it cannot be reset."));
            default: return new(false, T("It is not held."));
        }
    }

    public CommandAnswer SetOutOfService(bool outOfService, string reason, string by)
    {
        if (!outOfService)
        {
            if (Slot.State != AlarmState.OutOfService) return new(false, T("It is in service."));
            life.JudgeAfresh(row, place, $"returned to service by {by}");
            return new(true, T("Back in service."));
        }

        if (string.IsNullOrWhiteSpace(reason)) return new(false, T("Say why it is taken out of service."));
        if (!Rule.MayBeShelved || Rule.PriorityWhileCharging == AlarmPriority.High) return new(false, T("The most urgent alarms are never taken out of service."));
        if (Slot.State == AlarmState.OutOfService) return new(false, T("It is out of service already."));
        (Slot.Record ??= new AlarmRecord()).Reason = reason;
        life.Move(row, place, AlarmState.OutOfService, $"out of service by {by}: {reason}");
        return new(true, T("Out of service."));
    }
}
