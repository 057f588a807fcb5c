using System.Security.Cryptography;
using CellWatch.Core.History;
using CellWatch.Core.Pack;
using CellWatch.Core.Register;

namespace CellWatch.Core.Bench.Project;

/// <summary>
/// Photographs and files of the modules. They lie with the records, under their SHA-256, and are never changed or removed: a better picture is
/// another one.
/// </summary>
/// <param name="store">Where they are kept.</param>
/// <param name="register">The modules.</param>
/// <param name="runs">Inspections and removals, to say which record a picture belongs to.</param>
/// <param name="plans">The joint sheet.</param>
public sealed class FileBook(IRecordStore store, ModuleRegister register, RunBook runs, PlanBook plans)
{
    private const int LongestCaption = 200;
    private readonly Shelf<ModuleFile> files = new(store, "module-file");

    /// <summary>Keeps a file of a module.</summary>
    /// <exception cref="RefusedException">There is no such module or joint, the file is damaged, too large or of a kind that is not taken, or it is kept already.</exception>
    public Kept<ModuleFile> Add(ModuleId module, ModuleFileEntry entry, Stamp who)
    {
        register.Get(module);
        var caption = (entry.Caption ?? "").Trim();
        RefusedException.Unless(AttachmentRules.TryKind(entry.MediaType, out var refusal), refusal);
        RefusedException.Unless(AttachmentRules.TryName(entry.Name, entry.MediaType, out refusal), refusal);
        RefusedException.Unless(caption.Length is > 0 and <= LongestCaption, T($"Say in up to {LongestCaption} characters what it shows: the caption is printed with it."));
        RefusedException.Unless(entry.Content.Length <= AttachmentRules.MostBytes, AttachmentRules.TooLarge);
        RefusedException.Unless(AttachmentRules.TryContent(entry.MediaType, entry.Content.Span, out refusal), refusal);
        var fault = PictureFile.Fault(entry.MediaType, entry.Content.Span);
        RefusedException.Unless(fault is null, T($"{entry.Name} is damaged: {fault}. Copy it from the camera again, or take another."));
        CheckJoint(module, entry);

        var sha256 = Convert.ToHexStringLower(SHA256.HashData(entry.Content.Span));
        var key = $"{module.Text}/{sha256}";
        if (files.Latest(key) is { } there)
            throw new RefusedException(T($"This file is with {module} already: {there.Value.Name}, \"{there.Value.Caption}\", from {there.Record.By} at {there.Record.At:yyyy-MM-dd HH:mm}. Nothing was changed."));
        // The content first: a record never points at nothing.
        store.KeepFile(sha256, entry.Content);
        var file = new ModuleFile(module.Text, entry.Name, entry.MediaType, entry.Content.Length, sha256, caption, entry.About, entry.Joint, EvidenceOf(module.Text, entry));
        return files.Put(key, file, 0, who.By, who.At, who.Simulated);
    }

    /// <summary>Files of a module, oldest first.</summary>
    public IReadOnlyList<Kept<ModuleFile>> Of(ModuleId module)
    {
        register.Get(module);
        return [.. files.Latest().Where(f => f.Value.Module == module.Text).OrderBy(f => f.Record.Sequence)];
    }

    /// <summary>Reads a file back and checks it against its digest.</summary>
    /// <param name="sha256">The whole digest.</param>
    /// <exception cref="RefusedException">There is none.</exception>
    /// <exception cref="InvalidDataException">What is kept does not have this digest any more.</exception>
    public (Kept<ModuleFile> About, byte[] Content) Read(string sha256)
    {
        var about = files.Latest().FirstOrDefault(f => string.Equals(f.Value.Sha256, sha256, StringComparison.OrdinalIgnoreCase))
            ?? throw new RefusedException(T($"No file of a module has the SHA-256 '{sha256}': modules/B07/files lists those of B07."));
        var content = store.File(about.Value.Sha256) ?? throw new InvalidDataException($"{about.Value.Name} of {about.Value.Module} is not there any more: its record is. Look for it in a copy of the site's file.");
        if (Convert.ToHexStringLower(SHA256.HashData(content)) != about.Value.Sha256)
            throw new InvalidDataException($"{about.Value.Name} of {about.Value.Module} is damaged: its SHA-256 is not the one it was kept with. Look for it in a copy of the site's file.");
        return (about, content);
    }

    private void CheckJoint(ModuleId module, ModuleFileEntry entry)
    {
        RefusedException.Unless(entry.About != ModuleFileAbout.Joint || entry.Joint is not null, T("Say which joint it shows: joint=3."));
        if (entry.Joint is not { } number) return;
        RefusedException.Unless(entry.About is ModuleFileAbout.Joint or ModuleFileAbout.ThermalPicture, T("A joint goes with a picture about a joint or a thermal picture."));
        var joints = plans.Joints().Joints;
        RefusedException.Unless(joints.Count > 0, T("The joint sheet is empty: it appears with the plan. Until then the picture belongs to intake or inspection."));
        var joint = joints.FirstOrDefault(j => j.Number == number) ?? throw new RefusedException(T($"There is no joint {number}: the sheet has {joints[0].Number} to {joints[^1].Number}."));
        RefusedException.Unless(joint.Where.Split(' ').Any(w => w.TrimEnd('+', '-') == module.Text), T($"Joint {number} is {joint.Where}: it is none of {module}."));
    }

    private string EvidenceOf(string module, ModuleFileEntry entry)
    {
        var record = entry.Joint is { } joint ? plans.JointRecord(joint)
            : entry.About == ModuleFileAbout.Inspection ? runs.InspectionOf(module)?.Record
            : entry.About == ModuleFileAbout.Intake ? runs.Removals().FirstOrDefault(r => r.Record.Key == module)?.Record : null;
        return record is null ? "" : T($"{record.Kind} {record.Key} rev {record.Revision}");
    }
}
