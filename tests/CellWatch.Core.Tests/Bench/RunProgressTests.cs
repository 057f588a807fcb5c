using CellWatch.Core.Bench;
using CellWatch.Core.Estimation.Ocv;

namespace CellWatch.Core.Tests.Bench;

/// <summary>A discharge while it runs, against a model whose capacities are known.</summary>
public sealed class RunProgressTests
{
    private const double LoadA = 36.7, Ohm = 0.001;
    private static readonly OcvCurve Curve = OcvCurves.Named(CellWatch.Core.Pack.CellType.Nmc420.OcvCurve!);
    private static readonly double[] TrueAh = [104, 103.5, 96, 104, 103, 103.8];

    [Fact]
    public void The_weak_group_and_the_end_are_foreseen_half_way_within_a_twentieth()
    {
        var endS = TrueAh[2] / LoadA * 3600;
        var progress = RunProgress.Of(Discharge(0.5 * endS), new CapacitySettings(), Curve, null);
        Assert.Equal(3, progress.LowestCell);
        Assert.False(progress.Ended);
        Assert.True(progress.IsFit, string.Join("; ", progress.Fitness.Where(f => !f.Fit)));
        Assert.Equal(3, progress.Forecast!.Cell);
        Assert.Equal(0.5 * endS, progress.Forecast.LeftS, 0.05 * endS);
        Assert.Equal(0.5 * TrueAh[2], progress.OwnAh, 0.2);
    }

    [Fact]
    public void Before_a_group_has_fallen_far_the_siblings_say_when_and_no_group_is_named()
    {
        var progress = RunProgress.Of(Discharge(600), new CapacitySettings(), Curve, 100);
        Assert.Equal((0, true), (progress.Forecast!.Cell, progress.Forecast.FromSiblings));
        Assert.Equal((100 - progress.OwnAh) / LoadA * 3600, progress.Forecast.LeftS, 1);
        Assert.Null(RunProgress.Of(Discharge(600), new CapacitySettings(), Curve, null).Forecast);
    }

    [Fact]
    public void A_hole_under_current_makes_it_unfit()
    {
        var r = Discharge(3600);
        var late = r.TimeS.Select((t, i) => i > 150 ? t + 900 : t).ToArray();
        var progress = RunProgress.Of(r with { TimeS = late }, new CapacitySettings(), Curve, null);
        Assert.False(progress.IsFit);
        Assert.Equal(910, progress.LongestHoleS, 1);
    }

    [Fact]
    public void A_load_that_went_off_has_ended_and_nothing_more_is_foreseen()
    {
        var r = Discharge(3600);
        var off = r.CurrentA.Select((a, i) => i > r.TimeS.Length - 4 ? 0.0 : a).ToArray();
        var progress = RunProgress.Of(r with { CurrentA = off }, new CapacitySettings(), Curve, 100);
        Assert.True(progress.Ended);
        Assert.Null(progress.Forecast);
    }

    private static DischargeRecording Discharge(double loadedS)
    {
        var rows = (int)(loadedS / 10) + 7;
        var (t, a, degC) = (new double[rows], new double[rows], new double[rows]);
        var v = TrueAh.Select(_ => new double[rows]).ToArray();
        for (var i = 0; i < rows; i++)
        {
            t[i] = 10 * i;
            var on = i > 6;
            a[i] = on ? -LoadA : 0;
            degC[i] = 22;
            for (var g = 0; g < v.Length; g++)
            {
                var level = 100 - 100 * (on ? LoadA * 10 * (i - 6) / 3600 : 0) / TrueAh[g];
                v[g][i] = Curve.VoltageAt(Math.Max(level, Curve.BottomSocPercent)) + a[i] * Ohm;
            }
        }

        return new DischargeRecording(t, a, v, degC, null);
    }
}
