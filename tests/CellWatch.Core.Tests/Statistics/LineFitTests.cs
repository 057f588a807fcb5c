using CellWatch.Core.Statistics;
using Xunit;

namespace CellWatch.Core.Tests.Statistics;

public class LineFitTests
{
    // NIST StRD, linear regression, "Norris": data and certified values.
    private static readonly double[] X = [0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777, 558.2, 0.4, 0.6, 775.5, 666.9, 338, 447.5, 11.6, 556, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999, 779, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5];

    private static readonly double[] Y = [0.1, 338.8, 118.1, 888, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8, 557.7, 228.3, 998, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2];

    [Fact]
    public void Norris_comes_out_to_the_certified_digits()
    {
        var fit = LineFit.Through(X, Y)!.Value;
        Close.Relative(-0.262323073774029, fit.Intercept, 1e-10);
        Close.Relative(0.232818234301152, fit.InterceptSigma, 1e-10);
        Close.Relative(1.00211681802045, fit.Slope, 1e-10);
        Close.Relative(0.429796848199937e-3, fit.SlopeSigma, 1e-10);
        Close.Relative(0.884796396144373, fit.ResidualSigma, 1e-10);
        Close.Relative(0.999993745883712, fit.RSquared, 1e-10);
        Close.Relative(26.6173985294224, fit.ResidualSumOfSquares, 1e-10);
        Close.Relative(5436385.54079785, fit.F, 1e-8);
        Assert.Equal(34, fit.DegreesOfFreedom);
    }

    [Fact]
    public void The_running_line_agrees_with_the_line_through_all_points()
    {
        var running = new RunningLine();
        for (var i = 0; i < X.Length; i++) running.Add(X[i], Y[i]);
        var fit = running.Fit()!.Value;
        Close.Relative(1.00211681802045, fit.Slope, 1e-10);
        Close.Relative(-0.262323073774029, fit.Intercept, 1e-9);
        Close.Relative(0.884796396144373, fit.ResidualSigma, 1e-6);
    }

    [Fact]
    public void No_line_goes_through_one_point_or_through_points_at_one_x()
    {
        Assert.Null(LineFit.Through([1], [1]));
        Assert.Null(LineFit.Through([2, 2, 2], [1, 2, 3]));
        Assert.Null(new RunningLine().Fit());
    }

    [Fact]
    public void Two_points_give_a_line_but_no_interval()
    {
        var fit = LineFit.Through([0, 2], [1, 5])!.Value;
        Assert.Equal(2, fit.Slope);
        Assert.True(double.IsNaN(fit.SlopeSigma));
        Assert.True(double.IsNaN(fit.SlopeHalfWidth()));
    }
}
