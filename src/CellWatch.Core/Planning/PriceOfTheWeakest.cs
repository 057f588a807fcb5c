using CellWatch.Core.Wording;

namespace CellWatch.Core.Planning;

/// <summary>A module as the price list sees it: the capacity of each of its groups, Ah, negative end first.</summary>
public sealed record ModuleCapacity(string Identity, IReadOnlyList<double> GroupAh)
{
    /// <summary>Its smallest group.</summary>
    public double LowestAh => GroupAh.Min();

    /// <summary>The name of that group.</summary>
    public string LowestCell => $"{Identity}.{Enumerable.Range(0, GroupAh.Count).MinBy(i => GroupAh[i]) + 1}";
}

/// <summary>One swap of the staircase.</summary>
/// <param name="Step">From 1.</param>
/// <param name="Out">Cell that limits before, and so names the module to take out.</param>
/// <param name="SpareIn">Spare that goes in; empty when none is left, then one at least as good as the next limit is assumed.</param>
/// <param name="FromAh">Usable before.</param>
/// <param name="ToAh">Usable after.</param>
/// <param name="GainKwh">Gain at the nominal voltage.</param>
/// <param name="NextLimit">Cell that limits afterwards.</param>
/// <param name="Pays">Whether the gain is worth the work.</param>
public sealed record SwapStep(int Step, string Out, string SpareIn, double FromAh, double ToAh, double GainKwh, string NextLimit, bool Pays)
{
    /// <summary>Gain, Ah.</summary>
    public double GainAh => ToAh - FromAh;
}

/// <summary>What the weakest cell costs the pack.</summary>
/// <param name="UsableAh">Usable charge as it is: the smallest group.</param>
/// <param name="UsableKwh">At the nominal voltage.</param>
/// <param name="LimitedBy">Cell that limits.</param>
/// <param name="Steps">Swaps, first to last.</param>
/// <param name="Sentence">The staircase in one line.</param>
public sealed record PriceList(double UsableAh, double UsableKwh, string LimitedBy, IReadOnlyList<SwapStep> Steps, string Sentence);

/// <summary>
/// A string balanced at the top delivers the capacity of its smallest group, no more. So each swap of the module that holds the minimum
/// gains the next minimum less this one. Source: arithmetic of cells in series.
/// </summary>
public static class PriceOfTheWeakest
{
    /// <summary>A swap that gains less than this share of the pack does not pay (own rule).</summary>
    public const double PaysShare = 0.005;

    /// <summary>Works out the staircase.</summary>
    /// <param name="pack">Modules in the pack; at least one.</param>
    /// <param name="spares">Spares at hand.</param>
    /// <param name="nominalV">Nominal voltage of the pack, V.</param>
    /// <param name="steps">Most steps to show.</param>
    public static PriceList Of(IReadOnlyList<ModuleCapacity> pack, IReadOnlyList<ModuleCapacity> spares, double nominalV, int steps = 3)
    {
        Register.RefusedException.Unless(pack.Count > 0, T("No module with a known capacity is in the pack: test one first."));
        var rest = pack.OrderBy(m => m.LowestAh).ToList();
        var left = spares.OrderByDescending(m => m.LowestAh).ToList();
        var weakest = rest[0];
        var found = new List<SwapStep>();
        while (found.Count < steps && rest.Count > 1)
        {
            var leaving = rest[0];
            rest.RemoveAt(0);
            var spare = left.FirstOrDefault();
            if (spare is not null)
            {
                if (spare.LowestAh <= leaving.LowestAh) break;
                left.RemoveAt(0);
                rest.Add(spare);
                rest.Sort((a, b) => a.LowestAh.CompareTo(b.LowestAh));
            }

            double from = leaving.LowestAh, to = rest[0].LowestAh;
            found.Add(new SwapStep(found.Count + 1, leaving.LowestCell, spare?.Identity ?? "", from, to, (to - from) * nominalV / 1000, rest[0].LowestCell, to - from >= PaysShare * from));
        }

        return new PriceList(weakest.LowestAh, weakest.LowestAh * nominalV / 1000, weakest.LowestCell, found, Sentence(weakest, found));
    }

    /// <summary>The spare to fit in place of a module: the one whose smallest group is largest; null when none is better.</summary>
    public static ModuleCapacity? Spare(ModuleCapacity leaving, IReadOnlyList<ModuleCapacity> spares) =>
        spares.Where(s => s.LowestAh > leaving.LowestAh).MaxBy(s => s.LowestAh);

    private static string Sentence(ModuleCapacity weakest, List<SwapStep> steps)
    {
        var text = T($"{weakest.LowestAh:0.0} Ah usable, limited by {weakest.LowestCell}");
        foreach (var s in steps)
        {
            var with = s.SpareIn.Length > 0 ? s.SpareIn : T("another as good");
            text += T($" -(swap {s.Out.Split('.')[0]} for {with})-> {s.ToAh:0.0} ({s.GainAh:+0.0} Ah, {s.GainKwh:+0.0} kWh, then {s.NextLimit})");
            if (!s.Pays) return text + T(" stop here");
        }

        return text + (steps.Count == 0 ? T("; no swap helps") : "");
    }
}

/// <summary>Sag of one cell at peak current.</summary>
/// <param name="Cell">Its name.</param>
/// <param name="LoadedV">Voltage under the peak.</param>
/// <param name="SagV">Fall from rest.</param>
/// <param name="BelowLimit">Whether it passes the low limit under load.</param>
public sealed record CellSag(string Cell, double LoadedV, double SagV, bool BelowLimit);

/// <summary>What the pack does at peak current.</summary>
/// <param name="Cells">All cells, lowest first.</param>
/// <param name="PackSagV">Sum of the sags.</param>
/// <param name="PeakKw">Power at the terminals.</param>
/// <param name="Sentence">Who falls first, in words.</param>
public sealed record PeakSag(IReadOnlyList<CellSag> Cells, double PackSagV, double PeakKw, string Sentence)
{
    /// <summary>Works out the sag from rest voltage and 10 s resistance of each cell. Source: Ohm's law; 10 s resistance holds for 10 s.</summary>
    /// <param name="cells">Name, rest voltage (V) and 10 s resistance (mOhm) of each cell.</param>
    /// <param name="peakA">Peak current drawn, A, as a positive figure.</param>
    /// <param name="lowestV">Low limit under load, V.</param>
    /// <param name="chargePercent">Charge level the rest voltages stand for.</param>
    public static PeakSag At(IReadOnlyList<(string Cell, double RestV, double Milliohm)> cells, double peakA, double lowestV, double chargePercent)
    {
        var sags = cells.Select(c => new CellSag(c.Cell, c.RestV - peakA * c.Milliohm / 1000, peakA * c.Milliohm / 1000, c.RestV - peakA * c.Milliohm / 1000 < lowestV)).OrderBy(c => c.LoadedV).ToList();
        var packV = sags.Sum(c => c.LoadedV);
        var below = sags.Where(c => c.BelowLimit).Select(c => c.Cell).ToList();
        var first = sags[0];
        var sentence = T($"At {peakA:0} A and {chargePercent:0} %: {first.Cell} falls first, to {first.LoadedV:0.00} V (sag {1000 * first.SagV:0} mV). ") +
            (below.Count == 0 ? T($"None passes {lowestV:0.00} V.") : T($"Below {lowestV:0.00} V: {Figures.List(below)}. Limit the current or move the module."));
        return new PeakSag(sags, sags.Sum(c => c.SagV), packV * peakA / 1000, sentence);
    }
}
