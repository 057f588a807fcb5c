using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Tests.Proofs;

/// <summary>The pack of the stories: 18 modules of 6 groups, B01 at the negative end, slots 1 to 18.</summary>
internal static class SomePack
{
    public static PackLayout Layout { get; } = new(
        "petrel",
        Enumerable.Range(1, 18).Select(i => new PackModule(new ModuleId($"B{i:00}"), new ModuleTopology(6, 2), 2, i, i <= 12 ? "fore" : "aft")));

    public static ChannelMap Map { get; } = new(Layout);
}

/// <summary>Seeded normal noise by Box and Muller's method.</summary>
internal sealed class Noise(int seed)
{
    private readonly Random random = new(seed);

    public double Next() => Math.Sqrt(-2 * Math.Log(1 - random.NextDouble())) * Math.Cos(2 * Math.PI * random.NextDouble());
}
