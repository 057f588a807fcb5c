using System.Collections.Immutable;

namespace CellWatch.Core.Bench;

/// <summary>One reading a person is asked for.</summary>
/// <param name="Name">Its name, with the unit.</param>
/// <param name="Ask">What to do, said so that it can be done with the meter in hand.</param>
/// <param name="Lowest">Below this it cannot be.</param>
/// <param name="Highest">Above this it cannot be.</param>
/// <param name="Expected">What the program expects from what it knows; NaN where it knows nothing.</param>
/// <param name="Within">A reading further than this from the expected is asked for twice.</param>
public sealed record ReadingStep(string Name, string Ask, double Lowest, double Highest, double Expected = double.NaN, double Within = double.NaN);

/// <summary>A reading that was taken.</summary>
/// <param name="Name">Of its step.</param>
/// <param name="Value">In the unit of the step.</param>
/// <param name="Confirmed">Entered a second time although it was not what was expected.</param>
public sealed record TakenReading(string Name, double Value, bool Confirmed);

/// <summary>
/// Hand entry, one reading a step: each is checked at once against what can be and what is expected; the last can be taken back. Immutable; each
/// entry gives the next state. A printed sheet typed in later goes through the same steps.
/// </summary>
/// <param name="Steps">All steps, in order.</param>
/// <param name="Taken">Readings so far.</param>
/// <param name="Doubted">A reading that waits to be confirmed; null when none does.</param>
public sealed record HandEntry(ImmutableArray<ReadingStep> Steps, ImmutableArray<TakenReading> Taken, double? Doubted)
{
    /// <summary>Starts empty.</summary>
    public static HandEntry Of(IEnumerable<ReadingStep> steps) => new([.. steps], [], null);

    /// <summary>Whether every reading is there.</summary>
    public bool Complete => Taken.Length == Steps.Length;

    /// <summary>The step now; null when complete.</summary>
    public ReadingStep? Now => Complete ? null : Steps[Taken.Length];

    /// <summary>The values in order.</summary>
    public double[] Values => [.. Taken.Select(t => t.Value)];

    /// <summary>Enters a reading. It comes back unchanged but for the doubt where the reading is to be repeated.</summary>
    /// <param name="value">The reading.</param>
    /// <param name="answer">What to say.</param>
    /// <exception cref="Register.RefusedException">It cannot be, or all readings are there.</exception>
    public HandEntry Enter(double value, out string answer)
    {
        if (Now is not { } step) throw new Register.RefusedException(T("All readings are there: take the last back to change it."));
        Register.RefusedException.Unless(double.IsFinite(value) && value >= step.Lowest && value <= step.Highest,
            T($"{step.Name}: {value:0.###} cannot be ({step.Lowest:0.###} to {step.Highest:0.###}). {step.Ask}"));
        var surprising = double.IsFinite(step.Expected) && Math.Abs(value - step.Expected) > step.Within;
        if (surprising && Doubted != value)
        {
            answer = T($"{step.Name}: {value:0.###}, but {step.Expected:0.###} was expected. Measure again; enter the same once more if it stands.");
            return this with { Doubted = value };
        }

        var next = this with { Taken = Taken.Add(new TakenReading(step.Name, value, surprising)), Doubted = null };
        answer = next.Now is { } following ? T($"Next: {following.Ask}") : T("All readings are there.");
        return next;
    }

    /// <summary>Takes the last reading back.</summary>
    /// <exception cref="Register.RefusedException">There is none.</exception>
    public HandEntry Undo() => Taken.IsEmpty ? throw new Register.RefusedException(T("There is no reading to take back.")) : this with { Taken = Taken.RemoveAt(Taken.Length - 1), Doubted = null };

    /// <summary>The steps of the connector check: each pin against the lowest, expected one cell above the last.</summary>
    public static HandEntry ForStack(int cells, double expectedCellV) => Of(Enumerable.Range(0, cells + 1).Select(i => new ReadingStep(
        T($"lead {i}, V"), i == 0 ? T("Both meter leads on the lowest pin: it must read 0.") : T($"Black lead on the lowest pin, red on lead {i}."),
        -1000, 1000, i * expectedCellV, i == 0 ? 0.05 : 0.15 * i + 0.2)));

    /// <summary>The steps of an incoming inspection with a hand meter: every group, the terminals, swelling, temperature, leakage to the case.</summary>
    /// <param name="cells">Groups of the module.</param>
    /// <param name="expectedCellV">What the front end or the siblings say; NaN where nothing is known.</param>
    public static HandEntry ForInspection(int cells, double expectedCellV) => Of(
    [
        .. Enumerable.Range(1, cells).Select(g => new ReadingStep(T($"group {g}, V"), T($"Meter across group {g}, counted from the negative end."), -5, 5, expectedCellV, 0.1)),
        new(T("terminals, V"), T("Meter across the module's two terminals."), -100, 100, cells * expectedCellV, 0.1 * cells),
        new(T("swelling, mm"), T("Straight edge across the flat face: largest gap, in mm."), 0, 50),
        new(T("temperature, degC"), T("Thermometer on the case, in degC."), -40, 60),
        new(T("case, MOhm"), T("Terminal to case, in megohm; 999 where the meter shows more than it can."), 0, 1e6),
    ]);

    /// <summary>The finished readings of an inspection as its entry.</summary>
    /// <exception cref="Register.RefusedException">Not every reading is there.</exception>
    public InspectionEntry Inspection(int cells, bool leak, bool heatMark, string words, string instrument)
    {
        Register.RefusedException.Unless(Complete && Steps.Length == cells + 4, T("Not every reading is there yet."));
        var v = Values;
        return new InspectionEntry(v[..cells], [], v[cells], v[cells + 1], v[cells + 2], v[cells + 3], leak, heatMark, words, instrument);
    }
}
