using CellWatch.Core.Estimation;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Tests.Statistics;
using Xunit;

namespace CellWatch.Core.Tests.Estimation;

public class SocFilterStepTests
{
    // battery-maths check 6.1, computed there with independent code (plain and Joseph form agree).
    [Fact]
    public void One_step_agrees_to_every_printed_digit()
    {
        double z = 0.5, v1 = 0, p11 = 0.01, p12 = 0, p22 = 1e-4;
        var a = Math.Exp(-1.0 / 20);
        SocFilterStep.Predict(ref z, ref v1, ref p11, ref p12, ref p22, -100.0 / 3600 / 50, a, 0.8e-3, -100, 1e-8, 1e-7);
        Close.Relative(0.951229424501, a, 1e-12);
        Close.Relative(0.499444444444, z, 1e-12);
        Close.Relative(-0.00390164603994, v1, 1e-12);
        Close.Relative(0.01000001, p11, 1e-12);
        Close.Relative(9.05837418036e-05, p22, 1e-12);
        double ocv = 3.30 + 0.70 * z + 0.20 * z * z, slope = 0.70 + 0.40 * z;
        Close.Relative(3.69950006173, ocv, 1e-12);
        Close.Relative(0.899777777778, slope, 1e-12);
        var (e, s, gain) = SocFilterStep.Update(ref z, ref v1, ref p11, ref p12, ref p22, 3.5975, ocv, slope, 1.2e-3, -100, 2.5e-5);
        Close.Relative(0.0219015843115, e, 2e-12 * 10);
        Close.Relative(0.00821159233163, s, 1e-12);
        Close.Relative(1.09574202081, gain, 1e-11);
        Close.Relative(0.523442930697, z, 1e-12);
        Close.Relative(-0.00366004521781, v1, 1e-11);
        Close.Relative(0.000140756935707, p11, 1e-10);
        Close.Relative(-9.92564122967e-05, p12, 1e-10);
        Close.Relative(8.9584494161e-05, p22, 1e-11);
        Assert.Equal(1.18641028, 100 * Math.Sqrt(p11), 8);
    }

    // battery-maths check 6.2; limits from SLUUCH2 and SLUUB65B.
    [Fact]
    public void Three_microvolts_a_second_are_relaxed_by_the_common_limit_and_not_by_the_strict_one()
    {
        var slope = RestReset.SlopeMicrovoltPerS(3.7000, 3.6982, 600);
        Assert.Equal(-3.0, slope, 6);
        Assert.True(RestReset.IsRelaxed(slope));
        Assert.False(RestReset.IsRelaxed(slope, RestReset.StrictMicrovoltPerS));
    }

    [Fact]
    public void A_rest_tells_the_charge_with_its_doubt_and_refuses_on_the_plateau()
    {
        var (soc, sigma) = RestReset.SocAt(OcvCurves.Named("nca-graphite-kim2011"), 4.05, 0.002)!.Value;
        Assert.Equal(87.0171, soc, 4);
        Assert.InRange(sigma, 0.19, 0.21); // 2 mV over 10.16 mV per percent
        Assert.Null(RestReset.SocAt(OcvCurves.Named("lfp-graphite-prada2013"), 3.3135, 0.001));
        Assert.Equal(5.5, RestReset.HighestRestA(110));
    }
}
