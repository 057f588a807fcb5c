namespace CellWatch.Core.Bench;

/// <summary>
/// How likely each module is the one that limits the pack, by random draws from the uncertainties of its groups: with errors of half a per
/// cent the "worst" is often three candidates. Draws are seeded, so a sheet can be made again to the last digit.
/// </summary>
public static class LimitingModule
{
    /// <summary>Draws of a sheet; the standard deviation of a probability near one half is then 0.5 %.</summary>
    public const int UsualDraws = 10_000;

    /// <summary>Probabilities, one a module, summing to 1; NaN for a module without groups.</summary>
    /// <param name="modules">Group capacities of each module, Ah, independent normal.</param>
    /// <param name="draws">Number of draws.</param>
    /// <param name="seed">Seed.</param>
    public static double[] Probabilities(IReadOnlyList<IReadOnlyList<Uncertain>> modules, int draws, ulong seed)
    {
        var owner = new List<int>();
        var mean = new List<double>();
        var sigma = new List<double>();
        for (var m = 0; m < modules.Count; m++)
            foreach (var group in modules[m])
            {
                if (!double.IsFinite(group.Value)) continue;
                owner.Add(m);
                mean.Add(group.Value);
                sigma.Add(double.IsFinite(group.Sigma) ? group.Sigma : 0);
            }

        var result = new double[modules.Count];
        for (var m = 0; m < result.Length; m++) if (!owner.Contains(m)) result[m] = double.NaN;
        if (owner.Count == 0) return result;
        int[] owners = [.. owner];
        double[] means = [.. mean], sigmas = [.. sigma];
        Prune(ref owners, ref means, ref sigmas);
        var draw = new SeededDraws(seed);
        var counts = new int[modules.Count];
        for (var d = 0; d < draws; d++)
        {
            var lowest = double.PositiveInfinity;
            var limiting = 0;
            for (var g = 0; g < means.Length; g++)
            {
                var ah = means[g] + sigmas[g] * draw.Normal();
                if (ah >= lowest) continue;
                lowest = ah;
                limiting = owners[g];
            }

            counts[limiting]++;
        }

        for (var m = 0; m < result.Length; m++) if (!double.IsNaN(result[m])) result[m] = (double)counts[m] / draws;
        return result;
    }

    /// <summary>Leaves out groups that would need a draw of eight standard deviations to be the lowest: their chance is below 1e-14.</summary>
    private static void Prune(ref int[] owners, ref double[] means, ref double[] sigmas)
    {
        var ceiling = double.PositiveInfinity;
        for (var g = 0; g < means.Length; g++) ceiling = Math.Min(ceiling, means[g] + 8 * sigmas[g]);
        var keep = new List<int>();
        for (var g = 0; g < means.Length; g++) if (means[g] - 8 * sigmas[g] <= ceiling) keep.Add(g);
        (var o, var m, var s) = (owners, means, sigmas);
        owners = [.. keep.Select(g => o[g])];
        means = [.. keep.Select(g => m[g])];
        sigmas = [.. keep.Select(g => s[g])];
    }
}

/// <summary>
/// A small random source whose sequence never changes between versions of the framework: SplitMix64 (S. Vigna's public-domain algorithm,
/// from memory) with normal draws by the polar method of Marsaglia.
/// </summary>
/// <param name="seed">Seed.</param>
public sealed class SeededDraws(ulong seed)
{
    private ulong state = seed;
    private double spare;
    private bool hasSpare;

    /// <summary>Uniform in [0, 1).</summary>
    public double Uniform()
    {
        state += 0x9E3779B97F4A7C15UL;
        var z = state;
        z = (z ^ (z >> 30)) * 0xBF58476D1CE4E5B9UL;
        z = (z ^ (z >> 27)) * 0x94D049BB133111EBUL;
        return ((z ^ (z >> 31)) >> 11) * (1.0 / (1UL << 53));
    }

    /// <summary>Standard normal.</summary>
    public double Normal()
    {
        if (hasSpare)
        {
            hasSpare = false;
            return spare;
        }

        double u, v, s;
        do
        {
            u = 2 * Uniform() - 1;
            v = 2 * Uniform() - 1;
            s = u * u + v * v;
        }
        while (s is >= 1 or 0);
        var factor = Math.Sqrt(-2 * Math.Log(s) / s);
        (spare, hasSpare) = (v * factor, true);
        return u * factor;
    }
}
