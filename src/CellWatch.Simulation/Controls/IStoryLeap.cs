using CellWatch.Core.Snapshots;

namespace CellWatch.Simulation.Controls;

/// <summary>
/// Who scans the pack, told of a leap of the story: hours pass at once, so the scans must stand still, what passes must be recorded, and the
/// scans go on at the new time. Called in this order on one thread: begin, any number of snapshots with rising times, end.
/// </summary>
public interface IStoryLeap
{
    /// <summary>The story is about to leap: returns when no scan is being taken, and none is taken until <see cref="End"/>.</summary>
    void Begin();

    /// <summary>One snapshot of the time that passes; the buffer is reused.</summary>
    void Take(SnapshotBuffer snapshot);

    /// <summary>The clock stands at the new time and all boards have just spoken: scan again.</summary>
    void End();
}
