namespace CellWatch.Core.Bench;

/// <summary>Where in a longer recording the last discharge pulse lies: from a little before its edge to its end. Own rule.</summary>
public static class PulseWindow
{
    /// <summary>Rest kept before the pulse, s: what its step is measured from.</summary>
    public const double BeforeS = 10;

    /// <summary>Rows this far below zero carry the pulse, as a share of the largest discharge current.</summary>
    public const double OnShare = 0.5;

    /// <summary>Rows from and to, both included.</summary>
    /// <param name="timeS">Rising.</param>
    /// <param name="currentA">Positive charges; NaN where not known.</param>
    /// <param name="leastA">A discharge below this is no pulse, A.</param>
    /// <returns>Null where there is none.</returns>
    public static (int From, int To)? LastOf(ReadOnlySpan<double> timeS, ReadOnlySpan<double> currentA, double leastA = PulseTest.LeastA)
    {
        var peakA = 0.0;
        foreach (var a in currentA)
            if (-a > peakA) peakA = -a;
        if (peakA < leastA) return null;
        var to = currentA.Length - 1;
        while (!(-currentA[to] >= OnShare * peakA)) to--;
        var from = to;
        while (from > 0 && -currentA[from - 1] >= OnShare * peakA) from--;
        var edge = from;
        while (from > 0 && timeS[edge] - timeS[from - 1] <= BeforeS) from--;
        return (from, to);
    }
}
