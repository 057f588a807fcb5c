using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Proofs;

public class ProofRegisterTests
{
    private static readonly DateTimeOffset At = new(2026, 3, 3, 10, 0, 0, TimeSpan.Zero);
    private static readonly Dictionary<string, double> NoReadings = [];
    private readonly ProofRegister register = new(new MemoryRecordStore());

    [Fact]
    public void A_cell_is_proven_by_stack_sum_and_module_load_together_and_by_none_alone()
    {
        Pass("B01", ProofMethod.Stack);
        Pass("B01", ProofMethod.Sum);
        Assert.DoesNotContain(register.States(SomePack.Map), s => s.Proven);
        Pass("B01", ProofMethod.ModuleLoad);
        Assert.Equal(6, register.States(SomePack.Map).Count(s => s.Proven));
        Assert.Equal(["B01"], register.ProvenModules(SomePack.Map));
    }

    [Fact]
    public void Opening_a_connector_voids_its_proofs_and_only_its()
    {
        foreach (var module in new[] { "B01", "B02" })
            foreach (var method in new[] { ProofMethod.Stack, ProofMethod.Sum, ProofMethod.ModuleLoad }) Pass(module, method);
        register.Void("B01", "Connector of B01 was opened.", "Ada", At, false);
        var flags = register.Flags(SomePack.Map);
        Assert.All(Enumerable.Range(0, 6), c => Assert.False(flags[c]));
        Assert.All(Enumerable.Range(6, 6), c => Assert.True(flags[c]));
        Assert.StartsWith("Connector of B01 was opened.", register.States(SomePack.Map)[0].Why, StringComparison.Ordinal);
    }

    [Fact]
    public void A_failed_load_on_one_module_takes_the_proof_of_the_other_too_and_is_kept()
    {
        foreach (var method in new[] { ProofMethod.Stack, ProofMethod.Sum, ProofMethod.ModuleLoad }) Pass("B11", method);
        register.Add(new ProofAttempt("B03", ProofMethod.ModuleLoad, false, "The six channels labelled B11 answered.", NoReadings), ["B03", "B11"], "Ada", At, false);
        Assert.DoesNotContain(register.Flags(SomePack.Map), p => p);
        Assert.Single(register.History("B03", ProofMethod.ModuleLoad));
    }

    [Fact]
    public void Unproven_channels_stop_supervision_and_are_named()
    {
        var (supervised, sentence) = register.Supervision(SomePack.Map);
        Assert.False(supervised);
        Assert.StartsWith("Not supervised: 146 channels not proven", sentence, StringComparison.Ordinal);
    }

    [Fact]
    public void Everything_proven_is_supervised()
    {
        for (var m = 1; m <= 18; m++)
        {
            foreach (var method in new[] { ProofMethod.Stack, ProofMethod.Sum, ProofMethod.ModuleLoad }) Pass($"B{m:00}", method);
            Pass($"B{m:00}.t1", ProofMethod.WarmHand);
            Pass($"B{m:00}.t2", ProofMethod.WarmHand);
        }

        Pass("packCurrentA", ProofMethod.KnownCurrent);
        Pass("stringVoltageV", ProofMethod.StringVoltage);
        Assert.True(register.Supervision(SomePack.Map).Supervised);
    }

    private void Pass(string subject, ProofMethod method) => register.Add(new ProofAttempt(subject, method, true, "passed", NoReadings), [], "Ada", At, false);
}
