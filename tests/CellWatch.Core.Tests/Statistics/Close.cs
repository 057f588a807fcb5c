using Xunit;

namespace CellWatch.Core.Tests.Statistics;

/// <summary>Comparison by relative error, for values whose digits are certified.</summary>
internal static class Close
{
    public static void Relative(double expected, double actual, double tolerance = 1e-9) =>
        Assert.True(Math.Abs(actual - expected) <= tolerance * Math.Abs(expected), $"expected {expected:R}, got {actual:R}");
}
