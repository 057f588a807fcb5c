namespace CellWatch.Core.Bench;

/// <summary>Rules of the capacity test; every one is a setting.</summary>
public sealed record CapacitySettings
{
    /// <summary>Lower limit at which the first group ends the discharge, V.</summary>
    public double LowestV { get; init; } = 3.0;

    /// <summary>Rated capacity of a group, Ah.</summary>
    public double RatedAh { get; init; } = 110;

    /// <summary>Uncertainty of the current, share (0.5 %, needed accuracy).</summary>
    public double CurrentShare { get; init; } = 0.005;

    /// <summary>
    /// Resistance times capacity above which a voltage step cannot come from a cell, mOhm Ah (own rule: vehicle groups measure 60 to 110,
    /// a 5 Ah round cell 170; ten times the usual is not believable).
    /// </summary>
    public double HighestMilliohmAh { get; init; } = 1000;

    /// <summary>Current must stay within this share of its median, so that tests compare (common practice, no source).</summary>
    public double FlatShare { get; init; } = 0.02;

    /// <summary>Coldest and hottest group temperature at which a test compares with others, degC (25 +- 5, common practice, no source).</summary>
    public double ColdestDegC { get; init; } = 18;

    /// <summary>See <see cref="ColdestDegC"/>; discharge warms a module by several kelvin.</summary>
    public double HottestDegC { get; init; } = 35;
}

/// <summary>A discharge as recorded. Arrays have one entry a row; positive current charges.</summary>
/// <param name="TimeS">Seconds as stamped; rows whose time goes back are marked and kept, not used.</param>
/// <param name="CurrentA">Current.</param>
/// <param name="CellV">One array a group.</param>
/// <param name="TemperatureDegC">Hottest probe; null when not recorded.</param>
/// <param name="TesterAh">The tester's own counter; null where there is none.</param>
public sealed record DischargeRecording(double[] TimeS, double[] CurrentA, double[][] CellV, double[]? TemperatureDegC, double[]? TesterAh);

/// <summary>Capacity of one group.</summary>
/// <param name="Cell">Counted from the negative end, from 1.</param>
/// <param name="EndV">Its voltage when the discharge ended.</param>
/// <param name="CapacityAh">Its capacity: the module's for the one that ended it, with what was left in it for the others.</param>
/// <param name="RemainingAh">What was left, with its uncertainty; 0 for the one that ended it.</param>
/// <param name="Resistance10sMilliohm">10 s after the load came on; NaN where the record does not show it.</param>
public sealed record GroupCapacity(int Cell, double EndV, Uncertain CapacityAh, Uncertain RemainingAh, double Resistance10sMilliohm);

/// <summary>Apparent resistance at the steps of current, smallest and largest, mOhm: too large for any cell.</summary>
public sealed record SenseFault(double LowMilliohm, double HighMilliohm);

/// <summary>Outcome of a capacity test.</summary>
public sealed record CapacityOutcome
{
    /// <summary>Charge out until the first group was down, Ah, by the trapezoid rule over time that goes forward.</summary>
    public required Uncertain ModuleAh { get; init; }

    /// <summary>Energy out, Wh.</summary>
    public double EnergyWh { get; init; }

    /// <summary>The tester's counter, Ah out; NaN where there is none.</summary>
    public double TesterAh { get; init; } = double.NaN;

    /// <summary>Group that ended it, from 1; 0 when none reached the limit.</summary>
    public int EndedBy { get; init; }

    /// <summary>All groups.</summary>
    public IReadOnlyList<GroupCapacity> Groups { get; init; } = [];

    /// <summary>Indices of rows whose clock went back: marked, kept, not used.</summary>
    public IReadOnlyList<int> ClockBackRows { get; init; } = [];

    /// <summary>Apparent resistance at the steps of current, smallest and largest, mOhm, where it is not believable for a cell; null where it is.</summary>
    public SenseFault? SenseFault { get; init; }

    /// <summary>Whether the record is fit to be used.</summary>
    public IReadOnlyList<FitnessPoint> Fitness { get; init; } = [];

    /// <summary>Why the weak group is weak, in words; empty where there is nothing to say.</summary>
    public string Cause { get; init; } = "";

    /// <summary>The finding.</summary>
    public string Sentence { get; init; } = "";

    /// <summary>True when every fitness point holds.</summary>
    public bool IsFit => Fitness.All(f => f.Fit);
}
