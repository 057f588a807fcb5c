using CellWatch.Core.Pack;

namespace CellWatch.Core.Register;

/// <summary>
/// All modules by identity. Duplicates and look-alikes are refused; a change makes a revision with who and when; nothing is overwritten.
/// </summary>
/// <param name="store">Where the revisions are kept.</param>
public sealed class ModuleRegister(IRecordStore store)
{
    private readonly Shelf<ModuleRecord> shelf = new(store, "module");

    /// <summary>All modules, by identity.</summary>
    public IReadOnlyList<Kept<ModuleRecord>> All() => shelf.Latest();

    /// <summary>One module, or null.</summary>
    public Kept<ModuleRecord>? Find(ModuleId id) => shelf.Latest(id.Text);

    /// <summary>One module.</summary>
    /// <exception cref="RefusedException">It is not in the register; the message names the nearest.</exception>
    public Kept<ModuleRecord> Get(ModuleId id)
    {
        if (Find(id) is { } found) return found;
        var near = All().Select(m => new ModuleId(m.Value.Identity)).FirstOrDefault(m => LookAlike.Confuses(m, id));
        throw new RefusedException(T($"Module {id} is not in the register{(near.Text.Length > 0 ? T($"; {near} looks like it") : "")}. Add it first."));
    }

    /// <summary>All revisions of one, oldest first.</summary>
    public IReadOnlyList<Kept<ModuleRecord>> History(ModuleId id) => shelf.History(id.Text);

    /// <summary>Adds a module.</summary>
    /// <exception cref="RefusedException">It is there already, or looks like another, or a figure cannot be.</exception>
    public Kept<ModuleRecord> Add(ModuleRecord module, string by, DateTimeOffset at, bool simulated)
    {
        var id = CheckCharacter.Read(module.Identity);
        foreach (var other in All())
        {
            var otherId = new ModuleId(other.Value.Identity);
            if (otherId == id) throw new RefusedException(T($"Module {id} is already in the register (added by {shelf.History(id.Text)[0].Record.By}). One identity is given once: choose the next free one."));
            RefusedException.Unless(!LookAlike.Confuses(id, otherId), T($"{id} can be taken for {otherId} on a dirty label: choose another identity."));
        }

        var record = module with { Identity = id.Text };
        Check(record);
        return shelf.Put(id.Text, record, 0, by, at, simulated);
    }

    /// <summary>Stores a new revision.</summary>
    /// <param name="id">Which module.</param>
    /// <param name="basedOn">The revision the person had in view.</param>
    /// <param name="change">The change; the identity stays.</param>
    /// <param name="by">Who.</param>
    /// <param name="at">When.</param>
    /// <param name="simulated">Whether a figure is simulated.</param>
    /// <exception cref="RefusedException">A figure cannot be, or someone else stored a revision since.</exception>
    public Kept<ModuleRecord> Revise(
        ModuleId id, int basedOn, Func<ModuleRecord, ModuleRecord> change, string by, DateTimeOffset at, bool simulated)
    {
        var kept = Get(id);
        var revised = change(kept.Value) with { Identity = kept.Value.Identity };
        Check(revised);
        return shelf.Put(id.Text, revised, basedOn, by, at, simulated || kept.Record.Simulated);
    }

    /// <summary>Puts a module into a slot, or takes it out with a null slot. The slot must be free.</summary>
    /// <exception cref="RefusedException">The slot is taken, or the module is rejected.</exception>
    public Kept<ModuleRecord> Move(ModuleId id, int? slot, string box, string reason, string by, DateTimeOffset at, bool simulated)
    {
        var kept = Get(id);
        RefusedException.Unless(slot is null || kept.Value.Status != ModuleStatus.Rejected, T($"{id} is rejected: a rejected module gets no slot."));
        var owner = slot is null ? null : All().FirstOrDefault(m => m.Value.Slot == slot && m.Value.Identity != id.Text);
        RefusedException.Unless(owner is null, T($"Slot {slot} holds {owner?.Value.Identity}: take that one out first."));
        return Revise(id, kept.Record.Revision, m => m with
        {
            Slots = (m.Slots.IsDefault ? [] : m.Slots).Add(new SlotStay(slot, box, at, reason)),
            Status = slot is null ? ModuleStatus.Spare : ModuleStatus.Fitted,
        }, by, at, simulated);
    }

    private void Check(ModuleRecord module)
    {
        RefusedException.Unless(ModuleTopology.TryParse(module.Topology, out _),
            T($"'{module.Topology}' is no topology of a module: write it like 6S2P, groups in series then cells in parallel."));
        if (module.MassKg is { } massKg)
            RefusedException.Unless(massKg is >= ModuleRecord.LightestKg and <= ModuleRecord.HeaviestKg,
                T($"A mass of {massKg:0.#} kg is not believable for one module (1 to 40 kg): check the scale and its unit."));
        if (module.SerialLabel.Length == 0) return;
        var twin = All().FirstOrDefault(m => m.Value.Identity != module.Identity && string.Equals(m.Value.SerialLabel, module.SerialLabel, StringComparison.OrdinalIgnoreCase));
        RefusedException.Unless(twin is null, T($"The serial label '{module.SerialLabel}' already belongs to {twin?.Value.Identity}: read both labels again."));
    }
}
