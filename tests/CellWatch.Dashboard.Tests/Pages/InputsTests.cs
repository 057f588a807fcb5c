using System.Collections.Immutable;
using Bunit;
using CellWatch.Core.Inputs;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Layout;
using CellWatch.Dashboard.Pages;
using CellWatch.Dashboard.Parts;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.DependencyInjection;
using Xunit;

namespace CellWatch.Dashboard.Tests.Pages;

public sealed class InputsTests : PageTest
{
    private readonly FixedInputs _inputs = new();

    public InputsTests() => Services.AddSingleton<IInputDesk>(_inputs);

    [Fact]
    public void A_switch_that_cannot_be_read_is_a_caution_of_instruments_with_its_reason()
    {
        _inputs.Inputs = [Switch(InputState.Lost, "/dev/ttyUSB3 is not plugged in.")];
        var page = Show<Instruments>(Petrel.At("normal"));
        Assert.Contains("CAUTION", page.Find(".verdict .word").TextContent, StringComparison.Ordinal);
        Assert.EndsWith("The switch foot switch cannot be read: its presses count for nothing.", page.Find(".say").TextContent, StringComparison.Ordinal);
        Assert.Contains("NO DATA /dev/ttyUSB3 is not plugged in.", page.Find(".switches .under").TextContent, StringComparison.Ordinal);
        Assert.Equal("1", Show<Rail>(Petrel.At("normal")).Find("a[href=instruments] em").TextContent);
    }

    [Fact]
    public void A_stuck_switch_is_said_on_charging_too()
    {
        _inputs.Inputs = [Switch(InputState.Stuck, "It is stuck.")];
        Assert.Contains("The switch foot switch is held or stuck: its presses count for nothing.", Show<Charging>(Petrel.At("charging")).Markup, StringComparison.Ordinal);
    }

    [Fact]
    public void A_switch_that_is_well_is_a_quiet_row_with_its_last_press()
    {
        var state = Petrel.At("normal");
        _inputs.Inputs = [Switch(InputState.Well, "") with { Presses = 3, LastPressUnixMs = state.Snapshot.Time.WallUnixMs, LastAnswer = "Noted." }];
        var page = Show<Instruments>(state);
        Assert.DoesNotContain("CAUTION", page.Find(".verdict .word").TextContent, StringComparison.Ordinal);
        Assert.Contains(": Noted.", page.Find("[data-head='last press']").TextContent, StringComparison.Ordinal);
        Assert.Empty(Show<Rail>(state).FindAll("a[href=instruments] em"));
    }

    [Fact]
    public void Without_switches_nothing_is_said_of_them() => Assert.Empty(Show<Instruments>(Petrel.At("normal")).FindAll(".switches"));

    [Theory]
    [InlineData("KeyH", "is a key of the pages themselves", false)]
    [InlineData("F14", "stands for the other press already", false)]
    [InlineData("", "nothing is changed", false)]
    [InlineData("F15", "F15 is kept in this browser", true)]
    public void A_pedal_is_learned_by_pressing_it_and_a_key_in_use_is_refused(string pressed, string said, bool kept)
    {
        Options.Pedal = new PedalKeys("F13", "F14");
        JSInterop.Setup<string?>("cellwatch.pedal.learn").SetResult(pressed);
        var keep = JSInterop.SetupVoid("cellwatch.pedal.keep", _ => true).SetVoidResult();
        var part = Show<ThisBrowser>(Petrel.At("normal"));
        Assert.Contains("F13", part.Find("tbody tr").TextContent, StringComparison.Ordinal);
        Do(part, p => p.Find("[data-learn=presence]").Click());
        part.WaitForAssertion(() => Assert.Contains(said, part.Find(".answer-line").TextContent, StringComparison.Ordinal));
        Assert.Equal(kept ? 1 : 0, keep.Invocations.Count);
        if (kept) Assert.Equal(["F15", "F14"], keep.Invocations.Single().Arguments.Cast<string>());
    }

    private static InputView Switch(InputState state, string fault) => new() { Name = "foot switch", Place = "CTS of /dev/ttyUSB3", Purpose = InputPurpose.Presence, State = state, Fault = fault };

    private sealed class FixedInputs : IInputDesk
    {
        public ImmutableArray<InputView> Inputs { get; set; } = [];
    }
}
