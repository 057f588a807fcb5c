using CellWatch.Core.Proofs;
using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Proofs;

public class GateBookTests
{
    private static readonly DateTimeOffset At = new(2026, 3, 3, 10, 0, 0, TimeSpan.Zero);
    private readonly SwitchableFacts facts = new();
    private readonly GateBook book;

    public GateBookTests() => book = new GateBook(new MemoryRecordStore(), facts);

    [Fact]
    public void There_are_twenty_gates_in_order_and_each_stands_only_on_earlier_ones()
    {
        Assert.Equal(Enumerable.Range(1, 20), GateTable.All.Select(g => g.Number));
        Assert.All(GateTable.All, g => Assert.All(g.StandsOn, n => Assert.True(n < g.Number)));
        Assert.All(GateTable.All, g => Assert.NotEmpty(g.Needs));
    }

    [Fact]
    public void A_gate_is_refused_before_the_gate_it_stands_on() =>
        Assert.Contains("stands on gate 1 (vehicle safe)", Assert.Throws<RefusedException>(() => book.Ready(2, "Ada", At, false)).Message, StringComparison.Ordinal);

    [Fact]
    public void Gate_nine_refuses_every_missing_piece_by_name()
    {
        ProveUpTo(8);
        book.Ready(9, "Ada", At, false);
        var refused = Assert.Throws<RefusedException>(() => book.Prove(9, Evidence(("expectedV", "70.4")), "Ada", At, false));
        foreach (var name in new[] { "measuredV", "coversOn", "secondPerson" }) Assert.Contains(name, refused.Message, StringComparison.Ordinal);
        Assert.Equal(GateState.Ready, book.StateOf(9));
    }

    [Fact]
    public void Gate_nine_is_proven_with_all_and_reopened_by_an_opened_connector_with_the_reason()
    {
        ProveUpTo(9);
        Assert.Equal(GateState.Proven, book.StateOf(9));
        var reopened = book.Reopen(GateEvent.ConnectorOpened, "Connector of B07 reported open on 4 March.", "Bea", At, false);
        Assert.Equal([9], reopened.Select(r => r.Value.Number));
        Assert.Equal(GateState.Reopened, book.StateOf(9));
        Assert.Equal("Connector of B07 reported open on 4 March.", book.History(9)[^1].Value.Reason);
        Assert.Equal(GateState.Proven, book.StateOf(8));
        Assert.Contains("re-opened", Assert.Throws<RefusedException>(() => book.Prove(10, Evidence(), "Ada", At, false)).Message, StringComparison.Ordinal);
    }

    [Theory]
    [InlineData("measuredV", "69.0", "0.5 % allowed")]
    [InlineData("secondPerson", "Ada", "another person")]
    [InlineData("coversOn", "no", "coversOn")]
    [InlineData("measuredV", "warm", "measuredV")]
    public void Evidence_that_does_not_pass_is_refused(string name, string value, string word)
    {
        ProveUpTo(8);
        var evidence = Evidence(("expectedV", "70.4"), ("measuredV", "70.3"), ("coversOn", "yes"), ("secondPerson", "Bea"));
        evidence[name] = value;
        Assert.Contains(word, Assert.Throws<RefusedException>(() => book.Prove(9, evidence, "Ada", At, false)).Message, StringComparison.Ordinal);
    }

    [Fact]
    public void What_the_records_do_not_hold_cannot_be_typed_in()
    {
        facts.Missing = "quarantine";
        var refused = Assert.Throws<RefusedException>(() => book.Prove(1, Evidence(("noLeakNoSmell", "yes"), ("servicePlugOut", "yes"), ("quarantine", "yes")), "Ada", At, false));
        Assert.Contains("quarantine is missing", refused.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_name_that_is_not_asked_for_is_answered_with_the_nearest() =>
        Assert.Contains("did you mean 'noLeakNoSmell'", Assert.Throws<RefusedException>(() => book.Prove(1, Evidence(("noLeakNoSmel", "yes")), "Ada", At, false)).Message, StringComparison.Ordinal);

    private void ProveUpTo(int last)
    {
        for (var n = 1; n <= last; n++)
        {
            var entered = new Dictionary<string, string>();
            foreach (var need in GateTable.Numbered(n).Needs)
                if (need.Kind != EvidenceKind.FromRecords)
                    entered[need.Name] = need.Kind switch { EvidenceKind.Yes => "yes", EvidenceKind.SecondPerson => "Bea", _ => need.Name.EndsWith('V') ? "70.4" : "0.1" };
            book.Prove(n, entered, "Ada", At, false);
        }
    }

    private static Dictionary<string, string> Evidence(params (string Name, string Value)[] entries) => entries.ToDictionary(e => e.Name, e => e.Value);

    private sealed class SwitchableFacts : IGateFacts
    {
        public string Missing { get; set; } = "";

        public GateFact FactFor(string name) => name == Missing ? new GateFact(false, $"{name} is missing.") : new GateFact(true, $"{name} holds.");
    }
}
