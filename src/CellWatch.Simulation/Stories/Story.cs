using System.Collections.Immutable;
using CellWatch.Core.Pack;
using CellWatch.Simulation.Model;

namespace CellWatch.Simulation.Stories;

/// <summary>A simulated pack with a past, a present and a stated truth.</summary>
public sealed record Story
{
    /// <summary>Its name on the command line: <c>first-charge</c>.</summary>
    public required string Name { get; init; }

    /// <summary>What one will see, in a sentence or two.</summary>
    public required string Description { get; init; }

    /// <summary>How much faster than real time it runs unless told otherwise.</summary>
    public required double TimeFactor { get; init; }

    /// <summary>Hour of the simulated day at which it opens, 0 to 24.</summary>
    public required double OpensAtClockH { get; init; }

    /// <summary>How much past it has when it opens, s.</summary>
    public required double PastS { get; init; }

    /// <summary>The pack.</summary>
    public required PackLayout Layout { get; init; }

    /// <summary>The chemistry profile with the limits of this site.</summary>
    public required CellType CellType { get; init; }

    /// <summary>Boards that measure it.</summary>
    public required ImmutableArray<BoardPlan> Boards { get; init; }

    /// <summary>Cells as they were when the past began, in string order.</summary>
    public required ImmutableArray<CellParameters> Cells { get; init; }

    /// <summary>Figures of the whole pack.</summary>
    public PackParameters Parameters { get; init; } = new();

    /// <summary>Temperature of the air at its mean, degC; it swings by 1.5 K over the day.</summary>
    public double MeanAirDegC { get; init; } = 20;

    /// <summary>Cells whose bleed switch does not open again from <see cref="BleedStuckFromS"/> on, by cell index.</summary>
    public ImmutableArray<int> BleedStuckOn { get; init; } = [];

    /// <summary>Time of the story at which those switches stick, s; the past is negative.</summary>
    public double BleedStuckFromS { get; init; }

    /// <summary>What happens, from the beginning of the past; after the last scene it goes on with <see cref="LoopFrom"/>.</summary>
    public required ImmutableArray<Scene> Scenes { get; init; }

    /// <summary>Scene the story goes on with after the last.</summary>
    public required int LoopFrom { get; init; }

    /// <summary>What is really wrong.</summary>
    public required ImmutableArray<StatedFault> Truth { get; init; }

    /// <summary>Termination current of the charges, A.</summary>
    public double TerminationA { get; init; } = 3.3;

    /// <summary>Minutes after which a person must confirm presence at a charge: longer than any charge of a story that nobody attends.</summary>
    public double PresenceMinutes { get; init; } = 60;

    /// <summary>Name of the hand cut-off, as a site file would hold it.</summary>
    public string HandCutOff { get; init; } = "red button on the charger";

    /// <summary>Hour of the simulated day at which the night is reviewed.</summary>
    public double MorningClockH { get; init; } = 6 + 10 / 60.0;

    /// <summary>Hour of the simulated day at a time of the story.</summary>
    /// <param name="timeS">0 when it opens, s; the past is negative.</param>
    public double ClockHAt(double timeS)
    {
        var hour = (OpensAtClockH + timeS / 3600) % 24;
        return hour < 0 ? hour + 24 : hour;
    }

    /// <summary>Seconds from a time of the story to the next passing of an hour of the day; above 0.</summary>
    public double SecondsUntilClock(double timeS, double clockH)
    {
        var hours = (clockH - ClockHAt(timeS)) % 24;
        return 3600 * (hours <= 1e-9 ? hours + 24 : hours);
    }
}

/// <summary>The wire a simulated board speaks.</summary>
public enum BoardWire
{
    /// <summary>Text lines with checksum and sequence.</summary>
    TextLines,

    /// <summary>A serial CAN adapter.</summary>
    SerialCan,
}

/// <summary>One simulated board.</summary>
/// <param name="Name">Its name as a site file would hold it.</param>
/// <param name="Wire">What it speaks.</param>
/// <param name="Serial">The serial it answers with.</param>
/// <param name="FirstModule">Index of the first module it measures.</param>
/// <param name="Modules">How many modules it measures.</param>
/// <param name="MeasuresString">Whether it carries the string's current and voltage.</param>
/// <param name="CarriesAuxiliaries">Whether it carries the channels beside the pack.</param>
public sealed record BoardPlan(string Name, BoardWire Wire, string Serial, int FirstModule, int Modules, bool MeasuresString, bool CarriesAuxiliaries);
