namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// NCA / graphite. Computed from the electrode potentials, loadings and voltage limits of the parameter set in PyBaMM (commit
/// 7c9f5bd81d11, BSD-3-Clause): positive minus negative potential, both linear in charge, end points from lithium conservation.
/// <para>Paper behind the set: Kim, Smith, Lee, Santhanagopalan, Pesaran, J. Electrochem. Soc. 158 (2011) A955-A969, doi 10.1149/1.3597614.</para>
/// <para>25 degC. Nominal design.</para>
/// </summary>
internal static class NcaGraphiteKim2011
{
    internal static OcvCurve Curve { get; } = OcvCurve.FromPairs(
        "nca-graphite-kim2011",
        "NCA / graphite",
        "Kim, Smith, Lee, Santhanagopalan, Pesaran, J. Electrochem. Soc. 158 (2011) A955-A969, doi 10.1149/1.3597614; parameter set in PyBaMM, commit 7c9f5bd81d11. 25 degC. Nominal design.",
        Table);

    /// <summary>Pairs: charge in percent, open-circuit voltage in V.</summary>
    private static ReadOnlySpan<double> Table =>
    [
        0, 2.700000, 0.5, 2.901702, 1, 3.012686, 2, 3.118097, 3, 3.161001, 4, 3.181584, 5, 3.193904, 10, 3.247134,
        15, 3.309921, 20, 3.372073, 25, 3.433072, 30, 3.491772, 35, 3.547199, 40, 3.597802, 45, 3.643021,
        50, 3.684568, 55, 3.725251, 60, 3.767814, 65, 3.816282, 70, 3.874153, 75, 3.929994, 80, 3.980262,
        85, 4.029534, 90, 4.080265, 95, 4.135387, 96, 4.147338, 97, 4.159712, 98, 4.172570, 99, 4.185976,
        99.5, 4.192906, 100, 4.200000,
    ];
}
