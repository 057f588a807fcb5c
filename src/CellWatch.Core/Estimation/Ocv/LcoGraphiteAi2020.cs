namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// LCO / graphite, pouch, 2.28 Ah. Computed from the electrode potentials, loadings and voltage limits of the parameter set in PyBaMM (commit
/// 7c9f5bd81d11, BSD-3-Clause): positive minus negative potential, both linear in charge, end points from lithium conservation.
/// <para>Paper behind the set: Ai, Kraft, Sturm, Jossen, Wu, J. Electrochem. Soc. (2019/2020), doi 10.1149/2.0122001JES; cathode points after Rieger, Erhard, Rumpf, Jossen (2016).</para>
/// <para>25 degC. From the measured points of the set, interpolated linearly.</para>
/// </summary>
internal static class LcoGraphiteAi2020
{
    internal static OcvCurve Curve { get; } = OcvCurve.FromPairs(
        "lco-graphite-ai2020",
        "LCO / graphite, pouch, 2.28 Ah",
        "Ai, Kraft, Sturm, Jossen, Wu, J. Electrochem. Soc. (2019/2020), doi 10.1149/2.0122001JES; cathode points after Rieger, Erhard, Rumpf, Jossen (2016); parameter set in PyBaMM, commit 7c9f5bd81d11. 25 degC. From the measured points of the set, interpolated linearly.",
        Table);

    /// <summary>Pairs: charge in percent, open-circuit voltage in V.</summary>
    private static ReadOnlySpan<double> Table =>
    [
        0, 3.000000, 0.5, 3.133673, 1, 3.219401, 2, 3.338539, 3, 3.424070, 4, 3.489333, 5, 3.535324, 10, 3.639111,
        15, 3.665389, 20, 3.695340, 25, 3.716738, 30, 3.733094, 35, 3.748100, 40, 3.762160, 45, 3.776308,
        50, 3.792527, 55, 3.812190, 60, 3.836474, 65, 3.867569, 70, 3.908872, 75, 3.951920, 80, 3.994444,
        85, 4.040852, 90, 4.087948, 95, 4.138379, 96, 4.148779, 97, 4.159356, 98, 4.170029, 99, 4.183609,
        99.5, 4.191804, 100, 4.200000,
    ];
}
