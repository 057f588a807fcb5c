namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// nickel-cobalt oxide / graphite, pouch. Computed from the electrode potentials, loadings and voltage limits of the parameter set in PyBaMM (commit
/// 7c9f5bd81d11, BSD-3-Clause): positive minus negative potential, both linear in charge, end points from lithium conservation.
/// <para>Paper behind the set: Ecker, Tran, Dechent, Kabitz, Warnecke, Sauer, J. Electrochem. Soc. 162 (2015) A1836-A1848, doi 10.1149/2.0551509jes.</para>
/// <para>23 degC. The set calls the cathode LiNiCo (often filed under NMC).</para>
/// </summary>
internal static class NcoGraphiteEcker2015
{
    internal static OcvCurve Curve { get; } = OcvCurve.FromPairs(
        "nco-graphite-ecker2015",
        "nickel-cobalt oxide / graphite, pouch",
        "Ecker, Tran, Dechent, Kabitz, Warnecke, Sauer, J. Electrochem. Soc. 162 (2015) A1836-A1848, doi 10.1149/2.0551509jes; parameter set in PyBaMM, commit 7c9f5bd81d11. 23 degC. The set calls the cathode LiNiCo (often filed under NMC).",
        Table);

    /// <summary>Pairs: charge in percent, open-circuit voltage in V.</summary>
    private static ReadOnlySpan<double> Table =>
    [
        0, 2.500000, 0.5, 2.757086, 1, 2.879668, 2, 3.034361, 3, 3.145371, 4, 3.229448, 5, 3.293798, 10, 3.458570,
        15, 3.527676, 20, 3.586986, 25, 3.656547, 30, 3.709373, 35, 3.742991, 40, 3.770015, 45, 3.780542,
        50, 3.787250, 55, 3.797871, 60, 3.815455, 65, 3.841673, 70, 3.882251, 75, 3.940010, 80, 3.986843,
        85, 4.030440, 90, 4.078896, 95, 4.135292, 96, 4.147616, 97, 4.160273, 98, 4.173241, 99, 4.186494,
        99.5, 4.193218, 100, 4.200000,
    ];
}
