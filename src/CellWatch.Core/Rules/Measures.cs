using CellWatch.Core.Pack;

namespace CellWatch.Core.Rules;

/// <summary>What is known of one value a rule compares.</summary>
public enum Availability : byte
{
    /// <summary>It does not exist in this state of the pack (no charge, no target reached): counts as well.</summary>
    Absent,

    /// <summary>Known and fresh.</summary>
    Known,

    /// <summary>Not fresh or not believed: never clears anything.</summary>
    Stale,

    /// <summary>No number: a fault of the program or of a channel; never clears anything.</summary>
    Error,
}

/// <summary>
/// The values of all quantities of one step, by place. Written by checks, estimators and charge supervision, read by the rules;
/// reused for ever.
/// </summary>
public sealed class Measures
{
    private readonly double[][] _values;
    private readonly Availability[][] _availability;
    private readonly int[] _placeCounts;

    /// <param name="layout">The pack.</param>
    /// <param name="instruments">Instruments, at least one.</param>
    /// <param name="smokeInputs">Smoke inputs among the auxiliaries.</param>
    public Measures(PackLayout layout, int instruments, int smokeInputs)
    {
        _placeCounts = [layout.CellCount, layout.TemperatureCount, layout.Modules.Length, instruments, smokeInputs, 1];
        _values = new double[Quantities.All.Count][];
        _availability = new Availability[Quantities.All.Count][];
        foreach (var quantity in Quantities.All)
        {
            var count = PlaceCount(Quantities.PlaceOf(quantity));
            _values[(int)quantity] = new double[count];
            _availability[(int)quantity] = new Availability[count];
        }
    }

    /// <summary>How many places of a kind there are.</summary>
    public int PlaceCount(PlaceKind kind) => _placeCounts[(int)kind];

    /// <summary>Values of a quantity by place.</summary>
    public Span<double> Values(Quantity quantity) => _values[(int)quantity];

    /// <summary>What is known of them.</summary>
    public Span<Availability> Availabilities(Quantity quantity) => _availability[(int)quantity];

    /// <summary>Sets one value; a value that is no number becomes <see cref="Availability.Error"/>.</summary>
    public void Set(Quantity quantity, int place, double value)
    {
        _values[(int)quantity][place] = value;
        _availability[(int)quantity][place] = double.IsFinite(value) ? Availability.Known : Availability.Error;
    }

    /// <summary>Sets that there is no value, and why.</summary>
    public void SetNone(Quantity quantity, int place, Availability why)
    {
        _values[(int)quantity][place] = double.NaN;
        _availability[(int)quantity][place] = why;
    }
}
