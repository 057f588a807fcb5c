namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// NMC811 / graphite-SiOx, 21700, 5 Ah. Computed from the electrode potentials, loadings and voltage limits of the parameter set in PyBaMM (commit
/// 7c9f5bd81d11, BSD-3-Clause): positive minus negative potential, both linear in charge, end points from lithium conservation.
/// <para>Paper behind the set: Chen, Brosa Planella, O'Regan, Gastol, Widanage, Kendrick, J. Electrochem. Soc. 167 (2020) 080534, doi 10.1149/1945-7111/ab9050.</para>
/// <para>25 degC. The silicon-bearing anode shows hysteresis, which the curve leaves out.</para>
/// </summary>
internal static class Nmc811GraphiteSiOxChen2020
{
    internal static OcvCurve Curve { get; } = OcvCurve.FromPairs(
        "nmc811-graphite-siox-chen2020",
        "NMC811 / graphite-SiOx, 21700, 5 Ah",
        "Chen, Brosa Planella, O'Regan, Gastol, Widanage, Kendrick, J. Electrochem. Soc. 167 (2020) 080534, doi 10.1149/1945-7111/ab9050; parameter set in PyBaMM, commit 7c9f5bd81d11. 25 degC. The silicon-bearing anode shows hysteresis, which the curve leaves out.",
        Table);

    /// <summary>Pairs: charge in percent, open-circuit voltage in V.</summary>
    private static ReadOnlySpan<double> Table =>
    [
        0, 2.500000, 0.5, 2.614640, 1, 2.711428, 2, 2.862492, 3, 2.971191, 4, 3.050397, 5, 3.109446, 10, 3.295907,
        15, 3.433895, 20, 3.485189, 25, 3.528563, 30, 3.581446, 35, 3.629048, 40, 3.667007, 45, 3.705397,
        50, 3.750874, 55, 3.798348, 60, 3.840577, 65, 3.889587, 70, 3.947906, 75, 3.994304, 80, 4.042080,
        85, 4.080912, 90, 4.096656, 95, 4.123553, 96, 4.135071, 97, 4.148809, 98, 4.164486, 99, 4.181703,
        99.5, 4.190746, 100, 4.200000,
    ];
}
