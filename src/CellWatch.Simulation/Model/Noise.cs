namespace CellWatch.Simulation.Model;

/// <summary>
/// Seeded noise that depends only on (seed, channel, tick): whoever asks, in whatever order, gets the same figure, so that two runs of a
/// story are equal to the last digit. Bits by SplitMix64 (Steele, Lea, Flood 2014, from memory); the normal figure is the sum of four even ones
/// of 16 bits each, near enough for an instrument's noise (it never passes 3.5 sigma).
/// </summary>
/// <param name="seed">Any number; equal seeds give equal noise.</param>
public readonly struct Noise(ulong seed)
{
    // Variance of one even figure of 0..65535 is (2^32 - 1)/12; of the sum of four, four times that.
    private static readonly double Scale = 1 / Math.Sqrt((4294967296.0 - 1) / 3);

    /// <summary>Zero mean, standard deviation 1.</summary>
    public double Normal(int channel, long tick)
    {
        var bits = Mix(seed + (ulong)channel * 0xD1342543DE82EF95 + (ulong)tick * 0x9E3779B97F4A7C15);
        var sum = (bits & 0xFFFF) + (bits >> 16 & 0xFFFF) + (bits >> 32 & 0xFFFF) + (bits >> 48);
        return (sum - 2 * 65535.0) * Scale;
    }

    private static ulong Mix(ulong z)
    {
        z = (z ^ z >> 30) * 0xBF58476D1CE4E5B9;
        z = (z ^ z >> 27) * 0x94D049BB133111EB;
        return z ^ z >> 31;
    }
}
