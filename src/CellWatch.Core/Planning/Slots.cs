namespace CellWatch.Core.Planning;

/// <summary>A place for a module. Metres from one datum: x aft, y to port, z up.</summary>
/// <param name="Number">From 1, in electrical order from the pack's negative end.</param>
/// <param name="Box">Box in words.</param>
/// <param name="X">Aft of the datum, m.</param>
/// <param name="Y">To port of the middle, m.</param>
/// <param name="Z">Above the datum, m.</param>
/// <param name="CoolingRank">1 is the coolest.</param>
/// <param name="WarmerK">Expected temperature above the coolest slot, K.</param>
/// <param name="Reachable">Whether a module there can be reached without taking others out.</param>
public sealed record Slot(int Number, string Box, double X, double Y, double Z, int CoolingRank, double WarmerK, bool Reachable);

/// <summary>A module that may be placed.</summary>
/// <param name="Identity">Its identity.</param>
/// <param name="Grade">Its grade.</param>
/// <param name="LowestAh">Its smallest group, Ah.</param>
/// <param name="Milliohm">Sum of its groups' 10 s resistances, mOhm.</param>
/// <param name="MassKg">Mass, kg.</param>
/// <param name="CoolestOnly">Whether its limit is "coolest slots only".</param>
public sealed record Candidate(string Identity, Bench.Grade Grade, double LowestAh, double Milliohm, double MassKg, bool CoolestOnly);

/// <summary>What weighs how much. Every weight is a setting; the parts are shown, never only their sum.</summary>
public sealed record PlanWeights
{
    /// <summary>Thermal: points for one kelvin above the coolest slot on a module with no capacity in hand at all (own rule).</summary>
    public double ThermalPerK { get; init; } = 1;

    /// <summary>Electrical: points for each Ah that the smallest placed group stays below the best possible.</summary>
    public double PerAhLost { get; init; } = 10;

    /// <summary>Electrical: points for each mOhm that a placed module adds.</summary>
    public double PerMilliohm { get; init; } = 0.5;

    /// <summary>Mass: points for each millimetre that the centre of gravity lies off its target, along and across added.</summary>
    public double PerMillimetre { get; init; } = 0.2;

    /// <summary>Slots with a cooling rank up to this are "coolest" for modules with that limit.</summary>
    public int CoolestRanks { get; init; } = 6;
}

/// <summary>
/// A task: slots, candidates, the target of the centre of gravity (null: the middle of the permitted box, or of the slots) and where it may lie at
/// all. The search pulls the centre to its target and stays inside the box; a plan whose centre lies outside it is a conflict, whoever made it.
/// </summary>
public sealed record PlanTask(IReadOnlyList<Slot> Slots, IReadOnlyList<Candidate> Candidates, PlanWeights Weights, (double X, double Y)? TargetM = null, CentreBox? Permitted = null)
{
    /// <summary>Where the centre of gravity should lie.</summary>
    public (double X, double Y) Target => TargetM ?? (Permitted is { } box ? ((box.MinX + box.MaxX) / 2, (box.MinY + box.MaxY) / 2) : (Slots.Average(s => s.X), Slots.Average(s => s.Y)));
}
