using CellWatch.Core.Snapshots;

namespace CellWatch.Core.History.Runs;

/// <summary>
/// Recognises runs from current, bleed switches and elapsed time: charge, drive, balance, rest, storage. At most one is open at a time. A charge or a
/// drive ends whatever went before it; the others wait until it is over. What is not known never opens a run, and longer than a setting it
/// ends one where the data end. Nothing is allocated in a step.
/// </summary>
public sealed class RunRecogniser
{
    private readonly RunRecognition _rule;
    private readonly RunTrack _charge = new(RunKind.Charge), _drive = new(RunKind.Drive), _balance = new(RunKind.Balance), _rest = new(RunKind.Rest);
    private readonly RunTrack[] _tracks;
    private RunTrack? _open;
    private RunKind _openAs;
    private SnapshotTime _before;
    private double _beforeA = double.NaN;
    private bool _missed;

    /// <param name="rule">When a run is recognised.</param>
    /// <exception cref="ArgumentOutOfRangeException">A time or the current is not above 0; the message names it.</exception>
    public RunRecogniser(RunRecognition rule)
    {
        foreach (var (name, value) in (ReadOnlySpan<(string, double)>)
                 [
                     (nameof(rule.RestCurrentA), rule.RestCurrentA), (nameof(rule.DriveCurrentA), rule.DriveCurrentA), (nameof(rule.ChargeAfterS), rule.ChargeAfterS),
                     (nameof(rule.ChargeEndsAfterS), rule.ChargeEndsAfterS), (nameof(rule.ChargeEndsDriveAfterS), rule.ChargeEndsDriveAfterS),
                     (nameof(rule.DriveAfterS), rule.DriveAfterS), (nameof(rule.DriveEndsAfterS), rule.DriveEndsAfterS), (nameof(rule.RestAfterS), rule.RestAfterS),
                     (nameof(rule.RestEndsAfterS), rule.RestEndsAfterS), (nameof(rule.BalanceAfterS), rule.BalanceAfterS), (nameof(rule.BalanceEndsAfterS), rule.BalanceEndsAfterS),
                     (nameof(rule.StorageAfterDays), rule.StorageAfterDays), (nameof(rule.LongestGapS), rule.LongestGapS), (nameof(rule.LongestStepS), rule.LongestStepS),
                 ])
            if (!(value > 0) || value > 1e9) throw new ArgumentOutOfRangeException(nameof(rule), FormattableString.Invariant($"{name} is {value}; it must be above 0."));
        _rule = rule;
        _tracks = [_charge, _drive, _balance, _rest];
    }

    /// <summary>The kind of the run that is open; null where none is.</summary>
    public RunKind? Open => _open is null ? null : _openAs;

    /// <summary>Takes a snapshot, in order of elapsed time.</summary>
    /// <param name="snapshot">What the pack does now.</param>
    /// <param name="ended">A run that ended with it; it ends before the one that began.</param>
    /// <param name="began">A run that is now sure.</param>
    /// <returns>Whether anything changed.</returns>
    public bool Step(Snapshot snapshot, out RunEnded? ended, out RunBegan? began)
    {
        (ended, began) = (null, null);
        var now = snapshot.Time;
        var known = snapshot.TryGetPackCurrentA(out var currentA) && double.IsFinite(currentA);
        if (!double.IsNaN(_beforeA) && now.ElapsedUs - _before.ElapsedUs > RunRecognition.Us(_rule.LongestGapS))
        {
            ended = Stop();
        }

        if (!known)
        {
            _missed = true;
            return ended is not null;
        }

        Count(now, currentA);
        See(snapshot, currentA);
        (_before, _beforeA, _missed) = (now, currentA, false);

        foreach (var track in _tracks)
        {
            // A run that is open as storage is the rest it began as.
            var pauseUs = track == _open ? _rule.EndsAfterUs(track.Kind) : _rule.PauseUs(track.Kind);
            if (!track.Shows || now.ElapsedUs - track.Last.ElapsedUs < pauseUs) continue;
            if (track == _open) ended = End(RunEnd.Over);
            track.Clear();
        }

        if (FindReady(now) is { } ready) began = Begin(ready, ref ended);
        else if (_open == _rest && _openAs == RunKind.Rest && now.ElapsedUs - _rest.From.ElapsedUs >= RunRecognition.Us(_rule.StorageAfterDays * 86_400)) began = GoOnAsStorage(now, ref ended);
        return ended is not null || began is not null;
    }

    /// <summary>Ends the run that is open where the data end: nothing more will come.</summary>
    public RunEnded? Stop()
    {
        var ended = End(RunEnd.DataEnd);
        foreach (var track in _tracks) track.Clear();
        _beforeA = double.NaN;
        return ended;
    }

    private RunBegan Begin(RunTrack track, ref RunEnded? ended)
    {
        if (_open is { } other)
        {
            track.BeginAt(other.Last);
            ended = End(RunEnd.AnotherBegan);
            other.Clear();
        }

        (_open, _openAs) = (track, track.Kind);
        return new RunBegan(track.Kind, track.From);
    }

    private RunBegan GoOnAsStorage(SnapshotTime now, ref RunEnded? ended)
    {
        ended = End(RunEnd.AnotherBegan);
        _rest.Clear();
        _rest.See(now);
        (_open, _openAs) = (_rest, RunKind.Storage);
        return new RunBegan(RunKind.Storage, now);
    }

    private RunEnded? End(RunEnd why)
    {
        if (_open is not { } track) return null;
        _open = null;
        return new RunEnded(_openAs, track.From, track.Last, why, track.AtLast);
    }

    /// <summary>The run that is sure and may begin: a charge or a drive at any time, the others where none is open.</summary>
    private RunTrack? FindReady(SnapshotTime now)
    {
        foreach (var track in _tracks)
        {
            if (track == _open || !track.Shows || track.Last != now || (_open is not null && track != _charge && track != _drive)) continue;
            if (now.ElapsedUs - track.From.ElapsedUs >= _rule.OpensAfterUs(track.Kind, _open == _drive)) return track;
        }

        return null;
    }

    private void See(Snapshot snapshot, double currentA)
    {
        if (currentA >= _rule.RestCurrentA) _charge.See(snapshot.Time);
        else if (currentA <= -_rule.DriveCurrentA) _drive.See(snapshot.Time);
        else if (currentA <= -_rule.RestCurrentA) return;
        else if (AnyBleeds(snapshot)) _balance.See(snapshot.Time);
        else _rest.See(snapshot.Time);
    }

    private static bool AnyBleeds(Snapshot snapshot)
    {
        for (var cell = 0; cell < snapshot.Map.CellCount; cell++)
            if (snapshot.IsBleeding(cell)) return true;
        return false;
    }

    /// <summary>Counts charge between two known currents by the trapezoid rule; across a gap nothing.</summary>
    private void Count(SnapshotTime now, double currentA)
    {
        if (double.IsNaN(_beforeA)) return;
        var stepS = (now.ElapsedUs - _before.ElapsedUs) * 1e-6;
        var chargeAs = 0.5 * (currentA + _beforeA) * stepS;
        foreach (var track in _tracks)
        {
            if (!track.Shows) continue;
            if (_missed || stepS > _rule.LongestStepS) track.CountGap(stepS);
            else track.Count(Math.Max(0, chargeAs), Math.Max(0, -chargeAs));
        }
    }
}
