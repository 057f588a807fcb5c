namespace CellWatch.Simulation.Model;

/// <summary>An input that repeats one value.</summary>
internal sealed record StuckInput(int Cell, double ValueV);

/// <summary>A tap that has come off between two cells; at a module's end one of them is -1.</summary>
internal sealed record OpenTap(int LowerCell, int UpperCell, long SinceTick);

/// <summary>A tap with too much resistance: taps of a module count from 0 at its negative end.</summary>
internal sealed record BadTap(int FirstCell, int Tap, double Ohm);

/// <summary>Cells (and sensors) of two modules whose harnesses are exchanged.</summary>
internal sealed record SwappedHarnesses(int FirstCellA, int FirstCellB, int Cells, int FirstSensorA, int FirstSensorB, int Sensors);

/// <summary>Noise that a charger brings into some cells' inputs.</summary>
internal sealed record ChargerNoise(int FirstCell, int Cells, double Factor, double FromA);

/// <summary>Faults of instruments and harness now in force. One thread at a time.</summary>
internal sealed class PackFaults
{
    public StuckInput? Stuck { get; set; }

    public OpenTap? OpenTap { get; set; }

    public BadTap? BadTap { get; set; }

    public SwappedHarnesses? Swapped { get; set; }

    public ChargerNoise? ChargerNoise { get; set; }

    public bool CurrentReversed { get; set; }

    public bool Smoke { get; set; }

    public void Clear()
    {
        (Stuck, OpenTap, BadTap, Swapped, ChargerNoise) = (null, null, null, null, null);
        (CurrentReversed, Smoke) = (false, false);
    }

    /// <summary>The cell that an input really hangs on.</summary>
    public int SourceOf(int cell) => Swapped is { } s ? Exchange(cell, s.FirstCellA, s.FirstCellB, s.Cells) : cell;

    /// <summary>The sensor that an input really hangs on.</summary>
    public int SourceOfSensor(int sensor) => Swapped is { } s ? Exchange(sensor, s.FirstSensorA, s.FirstSensorB, s.Sensors) : sensor;

    public double NoiseFactor(int cell, double packCurrentA) =>
        ChargerNoise is { } n && packCurrentA > n.FromA && cell >= n.FirstCell && cell < n.FirstCell + n.Cells ? n.Factor : 1;

    private static int Exchange(int index, int a, int b, int count)
    {
        if (index >= a && index < a + count) return b + index - a;
        return index >= b && index < b + count ? a + index - b : index;
    }
}
