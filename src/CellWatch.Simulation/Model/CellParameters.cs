namespace CellWatch.Simulation.Model;

/// <summary>What one cell (group of parallel cells) of the model is.</summary>
public sealed record CellParameters
{
    /// <summary>Capacity, Ah.</summary>
    public required double CapacityAh { get; init; }

    /// <summary>Charge at the start, 0 to 1.</summary>
    public required double InitialCharge { get; init; }

    /// <summary>Resistance that answers at once, ohm.</summary>
    public double R0Ohm { get; init; } = 0.00105;

    /// <summary>Resistance that answers with <see cref="PackParameters.TimeConstantS"/>, ohm.</summary>
    public double R1Ohm { get; init; } = 0.00035;

    /// <summary>Self-discharge, A, always taken out.</summary>
    public double LeakA { get; init; }
}
