using CellWatch.Core.Commands;
using CellWatch.Core.Engine;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Charging;

/// <summary>
/// The charge permit: all clear AND fresh AND armed by a person, worked out anew every scan. It needs every cell, every temperature and
/// the current good, measured and proven, so that simulated, replayed or unproven data can never arm an output. The default is none.
/// This is supervision on top of hardware protection, never instead of it.
/// </summary>
internal sealed class Permit(Facts facts, AlarmRoll alarms)
{
    private bool _armed;
    private bool _bad;

    /// <summary>Whether the permit is given.</summary>
    public bool Given { get; private set; }

    /// <summary>When the hand cut-off was last tried, ms since 1970; null where it never was.</summary>
    public long? CutOffTriedUnixMs { get; private set; }

    /// <summary>A person arms or disarms.</summary>
    public CommandAnswer Arm(bool armed)
    {
        _armed = false;
        if (!armed)
        {
            Given = false;
            return new CommandAnswer(true, T("Disarmed."));
        }

        if (facts.Snapshot is not { } snapshot) return new CommandAnswer(false, T("Nothing has been measured yet."));
        var against = Against(snapshot);
        if (against.Length > 0) return new CommandAnswer(false, T($"Not armed: {against}"));
        _armed = true;
        return new CommandAnswer(true, T("Armed. It falls by itself as soon as anything is not in order."));
    }

    /// <summary>The hand cut-off was tried.</summary>
    public CommandAnswer CutOffTried()
    {
        CutOffTriedUnixMs = facts.Time.WallUnixMs;
        return new CommandAnswer(true, T("Noted."));
    }

    /// <summary>Works it out for this scan; a permit that falls must be armed anew.</summary>
    public void Step(Snapshot snapshot)
    {
        _bad = !AllGood(snapshot) || alarms.AnyHeld(RuleAction.WithdrawPermit) || facts.Limits is null;
        if (_bad) _armed = false;
        Given = _armed;
    }

    /// <summary>Why there is none; empty while it is given.</summary>
    public string Reason(Snapshot snapshot)
    {
        if (Given) return "";
        var against = Against(snapshot);
        return against.Length > 0 ? against : T("not armed by a person.");
    }

    private string Against(Snapshot snapshot)
    {
        if (facts.Limits is null) return T("no cell type is chosen.");
        if (snapshot.AnySimulated) return T("the data are simulated.");
        var held = alarms.FirstAgainstPermit();
        if (held.Length > 0) return T($"the alarm {held} is present or held.");
        for (var channel = 0; channel < snapshot.Map.FirstBleed; channel++)
        {
            if (channel == snapshot.Map.StringVoltage || IsGood(snapshot, channel)) continue;
            var name = snapshot.Map.NameOf(channel);
            if (snapshot.Quality[channel] != Quality.Good) return T($"{name} is not known.");
            return snapshot.Proven[channel] ? T($"{name} is not measured.") : T($"{name} is not proven.");
        }

        return "";
    }

    private static bool AllGood(Snapshot snapshot)
    {
        for (var channel = 0; channel < snapshot.Map.FirstBleed; channel++)
            if (channel != snapshot.Map.StringVoltage && !IsGood(snapshot, channel)) return false;
        return true;
    }

    private static bool IsGood(Snapshot snapshot, int channel) =>
        snapshot.Quality[channel] == Quality.Good && snapshot.Origin[channel] == Origin.Measured && snapshot.Proven[channel];
}
