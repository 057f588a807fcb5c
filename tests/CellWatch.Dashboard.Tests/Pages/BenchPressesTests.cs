using Bunit;
using CellWatch.Core.Bench;
using CellWatch.Core.Bench.Project;
using CellWatch.Core.History;
using CellWatch.Core.Register;
using CellWatch.Dashboard.BenchPages;
using CellWatch.Dashboard.Live;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

/// <summary>Presses that make a record out of what was measured.</summary>
public sealed class BenchPressesTests : PageTest
{
    private readonly MemoryDesk desk = new();

    public BenchPressesTests() => Services.AddSingleton<IBenchDesk>(desk);

    [Fact]
    public async Task After_a_charge_a_press_makes_its_record_and_says_what_it_lacks()
    {
        var maker = new OneCharge(desk);
        Services.AddSingleton<IChargeMaker>(maker);
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var form = Show<ChargeRecordForm>(Petrel.At("normal"));
        form.WaitForElement(".charge-fields");
        Do(form, p => p.Find(".charge-fields input[type=checkbox]").Change(true));
        Do(form, p => p.Find(".charge-fields .btn").Click());
        form.WaitForAssertion(() => Assert.Contains("Not supervised from start to end: hand cut-off not tried in it", form.Find(".bench-answer").TextContent, StringComparison.Ordinal));
        Assert.Equal(new ChargeOrder("first AC charge", ChargeKind.Ac, 7, FrontEndsIsolated: true), maker.Asked);
        Assert.Contains("first%20AC%20charge", form.Find(".charge-record a").GetAttribute("href"), StringComparison.Ordinal);
    }

    [Fact]
    public async Task The_current_sensor_is_read_in_order_and_a_refusal_is_said()
    {
        var live = new SomeProofs();
        Services.AddSingleton<ILiveProofs>(live);
        await Services.GetRequiredService<PersonAtThePage>().SetAsync("Ada");
        var form = Show<LiveProofsForm>(Petrel.At("normal"));
        var presses = form.FindAll(".live-proof .row-of-presses .btn");
        Assert.Equal([false, true, true], presses.Select(b => b.HasAttribute("disabled")));
        Do(form, p => p.FindAll(".live-proof .row-of-presses .btn")[0].Click());
        form.WaitForAssertion(() => Assert.Contains("Without load", form.Find(".bench-answer").TextContent, StringComparison.Ordinal));
        Do(form, p => p.FindAll(".live-proof .row-of-presses .btn")[1].Click());
        form.WaitForAssertion(() => Assert.Contains("is no number for the clamp meter", form.Find(".bench-answer").TextContent, StringComparison.Ordinal));
    }

    private sealed class OneCharge(MemoryDesk desk) : IChargeMaker
    {
        public ChargeOrder? Asked { get; private set; }

        public Task<RunRecord?> LastAsync(CancellationToken cancellation = default) => Task.FromResult<RunRecord?>(new RunRecord(7, RunKind.Charge, "charge", 1_000_000, 2_000_000, "recognised", "recognised", ""));

        public Task<Kept<ChargeRecord>> MakeAsync(string by, ChargeOrder order, CancellationToken cancellation = default)
        {
            Asked = order;
            return Task.FromResult(desk.Enter(by, (p, who) => p.Safety.Charge(
                new ChargeRecord(order.Id, order.Kind, desk.Now.AddHours(-1), desk.Now, [], null, "", double.NaN, double.NaN, double.NaN, false, [], 12, double.NaN, 4000, "run 7 of the cell log, recognised"), who)));
        }
    }

    private sealed class SomeProofs : ILiveProofs
    {
        public CurrentSoFar Current { get; private set; } = new(null, null, null);

        public Task<LiveProof> WarmHandAsync(string by, string sensor, double seconds, CancellationToken cancellation = default) => throw new NotSupportedException();

        public Task<LiveProof> CurrentAsync(string by, CurrentStep step, double? meterA, CancellationToken cancellation = default)
        {
            Current = new CurrentSoFar(0.02, null, null);
            return Task.FromResult(new LiveProof(false, false, "Without load it reads +0.02 A."));
        }

        public Task<LiveProof> StringVoltageAsync(string by, double meterV, CancellationToken cancellation = default) => throw new NotSupportedException();
    }
}
