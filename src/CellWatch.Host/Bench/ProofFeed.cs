using CellWatch.Core.Proofs;
using CellWatch.Core.Snapshots;

namespace CellWatch.Host.Bench;

/// <summary>
/// Carries the proofs of the records to the pack's task, which applies them between two scans. A channel that the plan itself states as proven (a
/// simulated site) stays so until its module's proof is voided.
/// </summary>
public sealed class ProofFeed
{
    private bool[]? news;

    /// <summary>Begins with what the records hold now and follows them.</summary>
    /// <param name="door">The bench.</param>
    /// <param name="map">The pack's channels.</param>
    /// <param name="stated">Channels the plan states as proven.</param>
    public ProofFeed(BenchDoor door, ChannelMap map, IEnumerable<int> stated)
    {
        var byPlan = stated.ToHashSet();
        void Follow() => Volatile.Write(ref news, door.Read(p => Joined(p.ProofStates, map, byPlan)));
        Follow();
        door.Changed += Follow;
    }

    /// <summary>The flags by flat channel number if they changed since the last call; null else.</summary>
    public bool[]? Take() => Interlocked.Exchange(ref news, null);

    private static bool[] Joined(ProofRegister proofs, ChannelMap map, HashSet<int> byPlan)
    {
        var modules = proofs.LatestVoids().Select(v => v.Value.Module).ToHashSet(StringComparer.Ordinal);
        var joined = proofs.Flags(map);
        foreach (var channel in byPlan)
            joined[channel] |= ModuleOf(channel, map) is not { } module || !modules.Contains(module);
        return joined;
    }

    private static string? ModuleOf(int channel, ChannelMap map) => map.KindOf(channel) switch
    {
        ChannelKind.CellVoltage => map.Layout.Modules[map.Layout.ModuleOfCell(channel)].Id.Text,
        ChannelKind.Temperature => map.Layout.Modules[map.Layout.ModuleOfTemperature(channel - map.FirstTemperature)].Id.Text,
        _ => null,
    };
}
