using System.Collections.Immutable;

namespace CellWatch.Core.Register;

/// <summary>Where a module is in its course.</summary>
public enum ModuleStatus
{
    /// <summary>In the vehicle it came in, or under watch after removal.</summary>
    Quarantined,

    /// <summary>Being inspected and tested.</summary>
    OnBench,

    /// <summary>Graded, waiting for a place.</summary>
    Graded,

    /// <summary>In the pack.</summary>
    Fitted,

    /// <summary>Kept as a spare.</summary>
    Spare,

    /// <summary>Not to be used; on its way to recycling.</summary>
    Rejected,
}

/// <summary>Where a module comes from. A gap in it is shown with every grade, never hidden.</summary>
public sealed record ModuleOrigin
{
    /// <summary>The donor in words; no more than the builder wants to write.</summary>
    public string Donor { get; init; } = "";

    /// <summary>Year of make; null where not known.</summary>
    public int? YearOfMake { get; init; }

    /// <summary>Distance or hours run, in words with the unit.</summary>
    public string Use { get; init; } = "";

    /// <summary>Whether the donor was damaged in a crash; null where not known.</summary>
    public bool? CrashDamaged { get; init; }

    /// <summary>Place in the donor: row, slot, polarity direction.</summary>
    public string OriginalPlace { get; init; } = "";

    /// <summary>What is not known, in words; empty when the course of the module is known.</summary>
    public string Gap =>
        string.Join(", ", new[]
        {
            Donor.Length == 0 ? "donor" : "", YearOfMake is null ? T("year of make") : "", Use.Length == 0 ? "use" : "", CrashDamaged is null ? T("crash history") : "",
        }.Where(s => s.Length > 0));
}

/// <summary>A stay in a slot.</summary>
/// <param name="Slot">Slot number, from 1; null when it was taken out.</param>
/// <param name="Box">Box in words.</param>
/// <param name="From">Since when.</param>
/// <param name="Reason">Why it was moved.</param>
public sealed record SlotStay(int? Slot, string Box, DateTimeOffset From, string Reason);

/// <summary>A remark.</summary>
public sealed record ModuleNote(string By, DateTimeOffset At, string Text);

/// <summary>A photograph or file kept beside the record: its name, what it shows and its SHA-256, so that an exchanged file is noticed.</summary>
public sealed record ModuleAttachment(string FileName, string Shows, string Sha256);

/// <summary>One module as the register holds it. Its identity never changes; everything else may, by a new revision.</summary>
public sealed record ModuleRecord
{
    /// <summary>Lightest module that is believed, kg (a brick that people lift; common practice, no source).</summary>
    public const double LightestKg = 1;

    /// <summary>Heaviest module that is believed, kg: above it no one lifts it by hand.</summary>
    public const double HeaviestKg = 40;

    /// <summary>Identity, upper case.</summary>
    public required string Identity { get; init; }

    /// <summary>How its cells are joined, for example <c>6S2P</c>.</summary>
    public string Topology { get; init; } = "6S2P";

    /// <summary>Where it comes from.</summary>
    public ModuleOrigin Origin { get; init; } = new();

    /// <summary>What its maker's label says; empty where unreadable.</summary>
    public string SerialLabel { get; init; } = "";

    /// <summary>Mass, kg, 1 to 40; null until weighed.</summary>
    public double? MassKg { get; init; }

    /// <summary>Number of its harness connector, in words.</summary>
    public string Connector { get; init; } = "";

    /// <summary>Where it is in its course.</summary>
    public ModuleStatus Status { get; init; } = ModuleStatus.Quarantined;

    /// <summary>Stays, oldest first.</summary>
    public ImmutableArray<SlotStay> Slots { get; init; } = [];

    /// <summary>Remarks, oldest first.</summary>
    public ImmutableArray<ModuleNote> Notes { get; init; } = [];

    /// <summary>Photographs and files.</summary>
    public ImmutableArray<ModuleAttachment> Attachments { get; init; } = [];

    /// <summary>Slot it is in now; null when in none.</summary>
    public int? Slot => Slots.IsDefaultOrEmpty ? null : Slots[^1].Slot;
}
