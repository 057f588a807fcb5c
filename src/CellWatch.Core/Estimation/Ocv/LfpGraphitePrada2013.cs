namespace CellWatch.Core.Estimation.Ocv;

/// <summary>
/// LFP / graphite, 2.3 Ah. Computed from the electrode potentials, loadings and voltage limits of the parameter set in PyBaMM (commit
/// 7c9f5bd81d11, BSD-3-Clause): positive minus negative potential, both linear in charge, end points from lithium conservation.
/// <para>Paper behind the set: Prada, Di Domenico, Creff, Bernard, Sauvant-Moynot, Huet, J. Electrochem. Soc. (2013), doi 10.1149/2.053304jes; potentials after Afshar, Morris, Khajepour, arXiv 1709.03970 (LFP) and Chen 2020 (graphite).</para>
/// <para>298 K. The shape of the plateau is approximate: the two small graphite steps of a real LFP cell are only roughly placed.</para>
/// </summary>
internal static class LfpGraphitePrada2013
{
    internal static OcvCurve Curve { get; } = OcvCurve.FromPairs(
        "lfp-graphite-prada2013",
        "LFP / graphite, 2.3 Ah",
        "Prada, Di Domenico, Creff, Bernard, Sauvant-Moynot, Huet, J. Electrochem. Soc. (2013), doi 10.1149/2.053304jes; potentials after Afshar, Morris, Khajepour, arXiv 1709.03970 (LFP) and Chen 2020 (graphite); parameter set in PyBaMM, commit 7c9f5bd81d11. 298 K. The shape of the plateau is approximate: the two small graphite steps of a real LFP cell are only roughly placed.",
        Table);

    /// <summary>Pairs: charge in percent, open-circuit voltage in V.</summary>
    private static ReadOnlySpan<double> Table =>
    [
        0, 2.000000, 0.5, 2.143039, 1, 2.265470, 2, 2.460021, 3, 2.602760, 4, 2.707735, 5, 2.785319, 10, 2.978092,
        15, 3.108029, 20, 3.168489, 25, 3.185703, 30, 3.205821, 35, 3.232364, 40, 3.252499, 45, 3.262144,
        50, 3.266030, 55, 3.267765, 60, 3.268822, 65, 3.269957, 70, 3.274028, 75, 3.292575, 80, 3.309691,
        85, 3.313180, 90, 3.314167, 95, 3.316387, 96, 3.319306, 97, 3.327379, 98, 3.350173, 99, 3.415021,
        99.5, 3.483802, 100, 3.600000,
    ];
}
