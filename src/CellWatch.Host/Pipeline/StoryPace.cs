using CellWatch.Core.Live;

namespace CellWatch.Host.Pipeline;

/// <summary>With a simulated pack: tells its clock of every scan, so that on a machine too busy for its pace the story waits for the program.</summary>
/// <param name="scanned">Told after each scan.</param>
public sealed class StoryPace(Action scanned) : IPackStateSink
{
    /// <inheritdoc/>
    public string Name => "pace of the story";

    /// <inheritdoc/>
    public void Offer(PackState state) => scanned();
}
