namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// LCO / graphite. Computed from the electrode potentials, loadings and voltage limits of the parameter set in PyBaMM (commit
/// 7c9f5bd81d11, BSD-3-Clause): positive minus negative potential, both linear in charge, end points from lithium conservation.
/// <para>Paper behind the set: Marquis, Sulzer, Timms, Please, Chapman, J. Electrochem. Soc. (2019), doi 10.1149/2.0341915jes.</para>
/// <para>25 degC. Fits that go back to Dualfoil.</para>
/// </summary>
internal static class LcoGraphiteMarquis2019
{
    internal static OcvCurve Curve { get; } = OcvCurve.FromPairs(
        "lco-graphite-marquis2019",
        "LCO / graphite",
        "Marquis, Sulzer, Timms, Please, Chapman, J. Electrochem. Soc. (2019), doi 10.1149/2.0341915jes; parameter set in PyBaMM, commit 7c9f5bd81d11. 25 degC. Fits that go back to Dualfoil.",
        Table);

    /// <summary>Pairs: charge in percent, open-circuit voltage in V.</summary>
    private static ReadOnlySpan<double> Table =>
    [
        0, 3.105000, 0.5, 3.212095, 1, 3.301026, 2, 3.434093, 3, 3.522263, 4, 3.579975, 5, 3.617631, 10, 3.681797,
        15, 3.690817, 20, 3.692064, 25, 3.693815, 30, 3.697051, 35, 3.702244, 40, 3.715272, 45, 3.734546,
        50, 3.744982, 55, 3.753731, 60, 3.764789, 65, 3.779447, 70, 3.798504, 75, 3.822139, 80, 3.849027,
        85, 3.875574, 90, 3.903959, 95, 4.008425, 96, 4.035371, 97, 4.058292, 98, 4.076522, 99, 4.090166,
        99.5, 4.095492, 100, 4.100000,
    ];
}
