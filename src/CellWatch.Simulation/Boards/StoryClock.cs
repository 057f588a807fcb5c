namespace CellWatch.Simulation.Boards;

/// <summary>Turns a clock's elapsed time into a story's: 0 at the moment it was made, which is when the story opens.</summary>
/// <param name="clock">The clock everything runs by.</param>
public sealed class StoryClock(TimeProvider clock)
{
    private readonly long _opened = clock.GetTimestamp();

    /// <summary>Time of the story now, s.</summary>
    public double StoryTimeS => clock.GetElapsedTime(_opened).TotalSeconds;
}
