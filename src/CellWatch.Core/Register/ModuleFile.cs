namespace CellWatch.Core.Register;

/// <summary>What a module's photograph or file belongs to.</summary>
public enum ModuleFileAbout
{
    /// <summary>Arrival and removal: the label in place, dents, coolant side.</summary>
    Intake,

    /// <summary>The incoming inspection: taps, swelling, marks.</summary>
    Inspection,

    /// <summary>A joint of the joint sheet.</summary>
    Joint,

    /// <summary>A picture of a thermal camera.</summary>
    ThermalPicture,
}

/// <summary>A photograph or file as it is handed in.</summary>
/// <param name="Name">Name of the file, without a folder.</param>
/// <param name="MediaType">Its kind, one of <see cref="History.AttachmentRules"/>.</param>
/// <param name="Content">The file.</param>
/// <param name="Caption">What it shows; printed with it.</param>
/// <param name="About">What it belongs to.</param>
/// <param name="Joint">Number of the joint; null where it is about none.</param>
public sealed record ModuleFileEntry(string Name, string MediaType, ReadOnlyMemory<byte> Content, string Caption, ModuleFileAbout About, int? Joint = null);

/// <summary>A photograph or file as it is kept: who and when stand in its record, the content under its digest.</summary>
/// <param name="Module">Identity of the module.</param>
/// <param name="Name">Name of the file.</param>
/// <param name="MediaType">Its kind.</param>
/// <param name="Bytes">Its length.</param>
/// <param name="Sha256">Its SHA-256, lower-case hexadecimal: an exchanged file is noticed.</param>
/// <param name="Caption">What it shows.</param>
/// <param name="About">What it belongs to.</param>
/// <param name="Joint">Number of the joint; null where it is about none.</param>
/// <param name="Evidence">The record it belongs to with its revision; empty where there was none yet.</param>
public sealed record ModuleFile(string Module, string Name, string MediaType, long Bytes, string Sha256, string Caption, ModuleFileAbout About, int? Joint, string Evidence)
{
    /// <summary>Whether it is a picture.</summary>
    public bool IsPicture => PictureFile.IsPicture(MediaType);

    /// <summary>What it belongs to, in words.</summary>
    public string AboutWords => About switch
    {
        ModuleFileAbout.Intake => "intake",
        ModuleFileAbout.Inspection => "inspection",
        ModuleFileAbout.Joint => T($"joint {Joint}"),
        _ => Joint is { } joint ? T($"thermal picture, joint {joint}") : T("thermal picture"),
    };
}
