using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Stories;

/// <summary>One stretch of a story. It ends after <see cref="ForS"/>, when the clock passes <see cref="UntilClockH"/>, or by itself.</summary>
/// <param name="Name">What happens, in words.</param>
public abstract record Scene(string Name)
{
    /// <summary>Longest duration, s.</summary>
    public double ForS { get; init; } = 24 * 3600;

    /// <summary>Hour of the simulated day at which it ends, 0 to 24; null where the clock does not end it.</summary>
    public double? UntilClockH { get; init; }
}

/// <summary>No current, contactor open.</summary>
/// <param name="Name">What happens, in words.</param>
public sealed record RestScene(string Name) : Scene(Name);

/// <summary>A charge; ends when the charger has ended it.</summary>
/// <param name="Name">What happens, in words.</param>
/// <param name="Order">Current, target and end.</param>
public sealed record ChargeScene(string Name, ChargeOrder Order) : Scene(Name);

/// <summary>The motor at work; see <see cref="DriveProfile"/>.</summary>
/// <param name="Name">What happens, in words.</param>
public sealed record DriveScene(string Name) : Scene(Name);

/// <summary>A steady discharge; ends when the lowest cell reaches a voltage.</summary>
/// <param name="Name">What happens, in words.</param>
/// <param name="CurrentA">Current taken out, A, above 0.</param>
/// <param name="EndV">Voltage of the lowest cell that ends it, V.</param>
public sealed record DischargeScene(string Name, double CurrentA, double EndV) : Scene(Name);

/// <summary>Bleeding. The boards take out of each cell what the plan says and then open its switch.</summary>
/// <param name="Name">What happens, in words.</param>
/// <param name="PlanAh">
/// Charge to take from each cell, Ah, in string order; empty: each cell that is more than 0.3 Ah above the median cell, by what it is above,
/// at most what the night allows.
/// </param>
public sealed record BalanceScene(string Name, IReadOnlyList<double> PlanAh) : Scene(Name);
