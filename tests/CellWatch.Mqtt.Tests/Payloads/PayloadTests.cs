using System.Text.Json;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;
using Xunit;

namespace CellWatch.Mqtt.Tests.Payloads;

public sealed class PayloadTests : IDisposable
{
    private readonly PayloadWriter _writer = new();

    public void Dispose() => _writer.Dispose();

    private static JsonElement Read(ReadOnlyMemory<byte> payload) => JsonDocument.Parse(payload.ToArray()).RootElement;

    [Fact]
    public void A_cell_that_is_not_good_is_null_and_says_why()
    {
        var snapshot = Some.Snapshot(Some.Layout(), change: b =>
        {
            b.Qualities[1] = Quality.Stale;
            b.Qualities[2] = Quality.Missing;
            b.Values[2] = double.NaN;
            b.AgesUs[2] = long.MaxValue;
        });
        var cells = Read(_writer.Cells(Some.State(snapshot), 0));
        var voltages = cells.GetProperty("cellVoltageV");
        Assert.Equal(3.9, voltages[0].GetDouble());
        Assert.Equal(JsonValueKind.Null, voltages[1].ValueKind);
        Assert.Equal(JsonValueKind.Null, voltages[2].ValueKind);
        Assert.Equal(["good", "stale", "missing"], cells.GetProperty("quality").EnumerateArray().Take(3).Select(q => q.GetString()!));
        Assert.Equal(JsonValueKind.Null, cells.GetProperty("ageS")[2].ValueKind);
        Assert.Equal(0.1, cells.GetProperty("ageS")[1].GetDouble());
    }

    [Fact]
    public void A_bleed_switch_that_is_not_known_is_null_and_not_off()
    {
        var snapshot = Some.Snapshot(Some.Layout(), change: b =>
        {
            b.Values[b.Map.FirstBleed] = 1;
            b.Qualities[b.Map.FirstBleed + 1] = Quality.Missing;
        });
        var bleeding = Read(_writer.Cells(Some.State(snapshot), 0)).GetProperty("bleeding");
        Assert.True(bleeding[0].GetBoolean());
        Assert.Equal(JsonValueKind.Null, bleeding[1].ValueKind);
        Assert.False(bleeding[2].GetBoolean());
    }

    [Fact]
    public void Cells_and_sensors_stand_under_their_own_module()
    {
        var state = Some.State();
        var cells = Read(_writer.Cells(state, 1));
        Assert.Equal(["B02.1", "B02.2", "B02.3", "B02.4", "B02.5", "B02.6"], cells.GetProperty("cells").EnumerateArray().Select(c => c.GetString()!));
        Assert.Equal(3.906, cells.GetProperty("cellVoltageV")[0].GetDouble());
        var temperatures = Read(_writer.Temperatures(state, 2));
        Assert.Equal(["B03.t1", "B03.t2"], temperatures.GetProperty("sensors").EnumerateArray().Select(c => c.GetString()!));
        Assert.Equal([24, 25], temperatures.GetProperty("temperatureDegC").EnumerateArray().Select(c => c.GetDouble()));
    }

    [Fact]
    public void Every_message_has_its_time_in_UTC_to_the_millisecond()
    {
        // RFC 3339, 5.6. The instant was checked with: date -u -d @1785579300.250 +%FT%T.%3NZ
        foreach (var payload in Examples.All().Where(e => e.Key != "presence (will)"))
            Assert.Equal("2026-08-01T10:15:00.250Z", Read(payload.Value).GetProperty("time").GetString());
    }

    [Fact]
    public void Every_message_of_a_simulated_pack_says_so()
    {
        foreach (var payload in Examples.All(Origin.Simulated)) Assert.True(Read(payload.Value).GetProperty("simulated").GetBoolean(), payload.Key);
        foreach (var payload in Examples.All(Origin.Measured)) Assert.False(Read(payload.Value).GetProperty("simulated").GetBoolean(), payload.Key);
    }

    [Fact]
    public void A_simulated_pack_never_gives_a_permit()
    {
        var charge = new ChargeView { Permit = true, Supervised = true, RequestA = 60, RequestV = 440 };
        var measured = Read(_writer.Permit(Some.State() with { Charge = charge }, 3));
        Assert.True(measured.GetProperty("permit").GetBoolean());
        Assert.Equal(60, measured.GetProperty("requestCurrentA").GetDouble());

        var simulated = Some.State(Some.Snapshot(Some.Layout(), change: b => b.Origins[5] = Origin.Simulated)) with { Charge = charge };
        var permit = Read(_writer.Permit(simulated, 3));
        Assert.False(permit.GetProperty("permit").GetBoolean());
        Assert.Equal(0, permit.GetProperty("requestCurrentA").GetDouble());
        Assert.Equal(JsonValueKind.Null, permit.GetProperty("requestVoltageV").ValueKind);
        Assert.Equal("simulated data never give a permit", permit.GetProperty("reason").GetString());
    }

    [Fact]
    public void Without_a_cell_type_there_is_no_permit()
    {
        var permit = Read(_writer.Permit(Some.State(), 3));
        Assert.False(permit.GetProperty("permit").GetBoolean());
        Assert.Equal("no cell type is chosen", permit.GetProperty("reason").GetString());
    }

    [Fact]
    public void A_missing_taper_goes_out_with_cell_voltage_and_current()
    {
        // The alarm is about the charge, not about one cell: the highest cell is named.
        var alarm = Some.Alarm("taper-missing.pack", cell: null) with { DoFirst = "STOP THE CHARGE NOW at the red handle by the hatch." };
        var read = Read(_writer.Alarm(7, Some.Step(alarm), Some.State()));
        Assert.Equal("B03.6", read.GetProperty("cell").GetString());
        Assert.Equal(3.917, read.GetProperty("cellVoltageV").GetDouble());
        Assert.Equal(60, read.GetProperty("packCurrentA").GetDouble());
        Assert.Equal("STOP THE CHARGE NOW at the red handle by the hatch.", read.GetProperty("doFirst").GetString());
        Assert.Equal(7, read.GetProperty("number").GetInt64());
        Assert.Equal("normal", read.GetProperty("from").GetString());
    }

    [Fact]
    public void An_alarm_about_a_cell_whose_lead_has_opened_gives_no_voltage_for_it()
    {
        var snapshot = Some.Snapshot(Some.Layout(), change: b => b.Qualities[1] = Quality.Open);
        var read = Read(_writer.Alarm(1, Some.Step(Some.Alarm()), Some.State(snapshot)));
        Assert.Equal("B01.2", read.GetProperty("cell").GetString());
        Assert.Equal(JsonValueKind.Null, read.GetProperty("cellVoltageV").ValueKind);
        Assert.Equal("open", read.GetProperty("quality").GetProperty("cellVoltageV").GetString());
    }

    [Fact]
    public void A_figure_that_is_no_number_is_null()
    {
        var state = Some.State();
        var pack = Read(_writer.Pack(state with { Summary = state.Summary with { SpreadV = double.NaN, Soc = double.PositiveInfinity, PackCurrentA = -0.0001 } }));
        Assert.Equal(JsonValueKind.Null, pack.GetProperty("spreadV").ValueKind);
        Assert.Equal(JsonValueKind.Null, pack.GetProperty("soc").ValueKind);
        Assert.Equal("0", pack.GetProperty("packCurrentA").GetRawText());
    }

    [Fact]
    public void The_pack_lists_every_alarm_that_stands()
    {
        var pack = Read(_writer.Pack(Some.StateWith(1, Some.Alarm(), Some.Alarm("spread.pack", cell: null))));
        Assert.Equal(["cell-high.B01.2", "spread.pack"], pack.GetProperty("alarms").EnumerateArray().Select(a => a.GetProperty("id").GetString()!));
    }
}
