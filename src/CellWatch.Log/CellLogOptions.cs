using CellWatch.Core.Snapshots;
using CellWatch.Log.Store;

namespace CellWatch.Log;

/// <summary>How a cell log is kept. Every value has a default that suits one pack at 1 Hz on a memory card.</summary>
public sealed record CellLogOptions
{
    /// <summary>
    /// Time between two commits, s, 0.2 to 600; default 1. A longer one spares a memory card and risks as much as it is long when power
    /// fails or the program is killed.
    /// </summary>
    public double CommitEveryS { get; init; } = 1;

    /// <summary>
    /// Whether each commit waits until the disk has it (default). Without, a power cut may lose the last half minute; a killed program
    /// loses no more than with it.
    /// </summary>
    public bool SurvivePowerCut { get; init; } = true;

    /// <summary>In which steps each channel is kept, steps per unit; default <see cref="Resolutions.Usual"/>.</summary>
    public Func<ChannelMap, int, double> StepsPerUnit { get; init; } = Resolutions.Usual;

    /// <summary>How much may wait in memory, s of snapshots, when the file cannot be written; default 600. Then the oldest are given up, and the gap and its length are recorded.</summary>
    public double QueueS { get; init; } = 600;

    /// <summary>Most snapshots that may wait in memory; default 12,000 (ten minutes at 20 Hz; about 7 kB each for 108 cells).</summary>
    public int QueueSnapshots { get; init; } = 12_000;

    /// <summary>What is kept for how long.</summary>
    public Retention Retention { get; init; } = new();

    /// <summary>How much is kept at full rate before and after an alarm, s; default 600.</summary>
    public double FreezeAroundAlarmsS { get; init; } = 600;

    /// <summary>Time between two looks at the room left, s; default 60.</summary>
    public double LookAtRoomEveryS { get; init; } = 60;

    /// <summary>Free bytes on the disk of a path; a test may put its own here.</summary>
    internal Func<string, long> FreeBytes { get; init; } = path => new DriveInfo(path).AvailableFreeSpace;

    /// <summary>Most pages the file may have, asked each time it is opened; a test may stand for a full disk with it. 0 for no limit.</summary>
    internal Func<long> MostPages { get; init; } = () => 0;
}
