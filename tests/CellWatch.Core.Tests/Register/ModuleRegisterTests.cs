using CellWatch.Core.Pack;
using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Register;

public class ModuleRegisterTests
{
    private static readonly DateTimeOffset At = new(2026, 3, 2, 9, 0, 0, TimeSpan.Zero);
    private readonly ModuleRegister register = new(new MemoryRecordStore());

    [Fact]
    public void A_duplicate_identity_is_refused_and_nothing_is_stored()
    {
        Add("B07");
        var refused = Assert.Throws<RefusedException>(() => Add("b07"));
        Assert.Contains("already in the register", refused.Message, StringComparison.Ordinal);
        Assert.Single(register.History(new ModuleId("B07")));
    }

    [Theory]
    [InlineData("B01", "BO1")]
    [InlineData("B01", "B0I")]
    [InlineData("B07", "B7")]
    [InlineData("B15", "B1S")]
    [InlineData("B12", "81Z")]
    public void Look_alikes_are_refused(string first, string second)
    {
        Add(first);
        Assert.Contains("can be taken for", Assert.Throws<RefusedException>(() => Add(second)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Eighteen_ordinary_identities_do_not_look_alike()
    {
        for (var i = 1; i <= 18; i++) Add($"B{i:00}");
        Assert.Equal(18, register.All().Count);
    }

    [Fact]
    public void A_mass_of_120_kg_is_refused_in_a_sentence()
    {
        var refused = Assert.Throws<RefusedException>(() => register.Add(new ModuleRecord { Identity = "B07", MassKg = 120 }, "Ada", At, false));
        Assert.Contains("120 kg is not believable", refused.Message, StringComparison.Ordinal);
        Assert.Empty(register.All());
    }

    [Fact]
    public void Nothing_is_overwritten_and_each_revision_says_who()
    {
        Add("B07");
        register.Revise(new ModuleId("B07"), 1, m => m with { MassKg = 12.7 }, "Bea", At.AddHours(1), false);
        var history = register.History(new ModuleId("B07"));
        Assert.Null(history[0].Value.MassKg);
        Assert.Equal(12.7, history[1].Value.MassKg);
        Assert.Equal(["Ada", "Bea"], history.Select(h => h.Record.By));
    }

    [Fact]
    public void Two_people_on_one_record_the_second_is_told_who_was_first_and_nothing_is_lost()
    {
        Add("B07");
        register.Revise(new ModuleId("B07"), 1, m => m with { MassKg = 12.7 }, "Bea", At, false);
        var refused = Assert.Throws<RefusedException>(() => register.Revise(new ModuleId("B07"), 1, m => m with { MassKg = 12.9 }, "Cem", At, false));
        Assert.Contains("Bea stored revision 2", refused.Message, StringComparison.Ordinal);
        Assert.Equal(12.7, register.Get(new ModuleId("B07")).Value.MassKg);
    }

    [Fact]
    public void A_slot_holds_one_module_and_the_identity_stays()
    {
        Add("B07");
        Add("B08");
        register.Move(new ModuleId("B07"), 4, "fore", "plan", "Ada", At, false);
        Assert.Contains("Slot 4 holds B07", Assert.Throws<RefusedException>(() => register.Move(new ModuleId("B08"), 4, "fore", "plan", "Ada", At, false)).Message, StringComparison.Ordinal);
        register.Move(new ModuleId("B07"), null, "", "exchanged", "Ada", At.AddDays(1), false);
        register.Move(new ModuleId("B08"), 4, "fore", "exchanged", "Ada", At.AddDays(1), false);
        Assert.Equal([4, null], register.Get(new ModuleId("B07")).Value.Slots.Select(s => s.Slot));
    }

    [Fact]
    public void A_serial_label_belongs_to_one_module()
    {
        register.Add(new ModuleRecord { Identity = "B07", SerialLabel = "S-1" }, "Ada", At, false);
        Assert.Contains("already belongs to B07", Assert.Throws<RefusedException>(() => register.Add(new ModuleRecord { Identity = "B08", SerialLabel = "s-1" }, "Ada", At, false)).Message, StringComparison.Ordinal);
    }

    private void Add(string identity) => register.Add(new ModuleRecord { Identity = identity }, "Ada", At, simulated: false);
}
