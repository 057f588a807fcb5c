namespace CellWatch.Core.History.Runs;

/// <summary>
/// When a run is recognised from what the pack does. Every time is common practice, no source, and a setting; the reason stands beside each.
/// Capacity and pulse tests are never recognised: their purpose cannot be read from a current.
/// </summary>
public sealed record RunRecognition
{
    /// <summary>Below this current the pack is at rest, A, above 0: more than the usual current sensor's offset.</summary>
    public double RestCurrentA { get; init; } = 0.5;

    /// <summary>From this current on the pack drives something, A, above 0; between the two a house load draws, which is neither a drive nor a rest.</summary>
    public double DriveCurrentA { get; init; } = 2.5;

    /// <summary>Charging for so long opens a charge, s: a charger that is tried and taken off again is none.</summary>
    public double ChargeAfterS { get; init; } = 60;

    /// <summary>Without charging for so long a charge is over, s: chargers pause to look at the pack, and a person to look at a joint.</summary>
    public double ChargeEndsAfterS { get; init; } = 300;

    /// <summary>Charging for so long ends a drive that is open, s: a long descent gives back for minutes and belongs to it.</summary>
    public double ChargeEndsDriveAfterS { get; init; } = 300;

    /// <summary>Discharging for so long opens a drive, s: a pump or a test of the motor is none.</summary>
    public double DriveAfterS { get; init; } = 60;

    /// <summary>Without discharging for so long a drive is over, s: a lock, a quay, a red light and slow braking belong to it.</summary>
    public double DriveEndsAfterS { get; init; } = 900;

    /// <summary>At rest for so long opens a rest, s: the fast part of relaxation is over, and a stop on the way was shorter.</summary>
    public double RestAfterS { get; init; } = 1800;

    /// <summary>Current for so long ends a rest, s: one wrong reading does not, and any load that lasts spoils a rest test.</summary>
    public double RestEndsAfterS { get; init; } = 5;

    /// <summary>Bleeding at rest for so long opens a balancing, s: switches are tried for less.</summary>
    public double BalanceAfterS { get; init; } = 600;

    /// <summary>Without any bleeding for so long a balancing is over, s: switches pause to measure, to cool, and in turns.</summary>
    public double BalanceEndsAfterS { get; init; } = 1800;

    /// <summary>A rest of so many days goes on as storage: nobody rests a pack in use for a week.</summary>
    public double StorageAfterDays { get; init; } = 7;

    /// <summary>
    /// Longest time without a known current that a run goes on across, s; it is counted in the run's figures. A longer one ends the run where
    /// the data end: what happened meanwhile is not known, and is never spliced over.
    /// </summary>
    public double LongestGapS { get; init; } = 60;

    /// <summary>Two scans further apart than this count as a gap, s, as one without a current does, and no charge is counted across it.</summary>
    public double LongestStepS { get; init; } = 15;

    /// <summary>
    /// Whether a run of this kind is left to a person: one opened by hand of the same kind says it already, a capacity or pulse test makes its own
    /// currents, and a pack put into storage rests.
    /// </summary>
    public static bool GivesWay(RunKind kind, RunRecord byHand) =>
        byHand is { ToUnixMs: null } && !IsRecognised(byHand)
        && (byHand.Kind == kind || byHand.Kind is RunKind.Capacity or RunKind.Pulse || (byHand.Kind == RunKind.Storage && kind == RunKind.Rest) || (byHand.Kind == RunKind.Rest && kind == RunKind.Storage));

    /// <summary>Who opens and closes a run that no person did.</summary>
    public const string By = "recognised";

    /// <summary>Whether a run was opened by the program and not by a person.</summary>
    public static bool IsRecognised(RunRecord run) => run.OpenedBy == By;

    internal long OpensAfterUs(RunKind kind, bool inDrive = false) => Us(kind switch
    {
        RunKind.Charge when inDrive => Math.Max(ChargeAfterS, ChargeEndsDriveAfterS),
        RunKind.Charge => ChargeAfterS,
        RunKind.Drive => DriveAfterS,
        RunKind.Balance => BalanceAfterS,
        _ => RestAfterS,
    });

    internal long EndsAfterUs(RunKind kind) => Us(kind switch
    {
        RunKind.Charge => ChargeEndsAfterS,
        RunKind.Drive => DriveEndsAfterS,
        RunKind.Balance => BalanceEndsAfterS,
        _ => RestEndsAfterS,
    });

    /// <summary>Before a run is open it must show itself without longer pauses than this: a fifth of what it has to last, and no more than what would end it.</summary>
    internal long PauseUs(RunKind kind) => Math.Min(OpensAfterUs(kind) / 5, EndsAfterUs(kind));

    internal static long Us(double s) => (long)(s * 1e6);
}
