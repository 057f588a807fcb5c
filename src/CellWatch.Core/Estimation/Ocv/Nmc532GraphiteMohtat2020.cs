namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// NMC532 / graphite, pouch, 5 Ah. Computed from the electrode potentials, loadings and voltage limits of the parameter set in PyBaMM (commit
/// 7c9f5bd81d11, BSD-3-Clause): positive minus negative potential, both linear in charge, end points from lithium conservation.
/// <para>Paper behind the set: Mohtat, Lee, Sulzer, Siegel, Stefanopoulou, J. Electrochem. Soc. (2020), doi 10.1149/1945-7111/aba5d1.</para>
/// <para>25 degC. Closest stand-in of this set for an older EV NMC cell; not that cell.</para>
/// </summary>
internal static class Nmc532GraphiteMohtat2020
{
    internal static OcvCurve Curve { get; } = OcvCurve.FromPairs(
        "nmc532-graphite-mohtat2020",
        "NMC532 / graphite, pouch, 5 Ah",
        "Mohtat, Lee, Sulzer, Siegel, Stefanopoulou, J. Electrochem. Soc. (2020), doi 10.1149/1945-7111/aba5d1; parameter set in PyBaMM, commit 7c9f5bd81d11. 25 degC. Closest stand-in of this set for an older EV NMC cell; not that cell.",
        Table);

    /// <summary>Pairs: charge in percent, open-circuit voltage in V.</summary>
    private static ReadOnlySpan<double> Table =>
    [
        0, 2.800000, 0.5, 2.980984, 1, 3.114228, 2, 3.285153, 3, 3.379133, 4, 3.431734, 5, 3.462028, 10, 3.510675,
        15, 3.539546, 20, 3.584696, 25, 3.620204, 30, 3.638857, 35, 3.653757, 40, 3.670981, 45, 3.691423,
        50, 3.715500, 55, 3.744636, 60, 3.796780, 65, 3.839852, 70, 3.879687, 75, 3.923205, 80, 3.970514,
        85, 4.021640, 90, 4.076708, 95, 4.135995, 96, 4.148397, 97, 4.160992, 98, 4.173786, 99, 4.186786,
        99.5, 4.193366, 100, 4.200000,
    ];
}
