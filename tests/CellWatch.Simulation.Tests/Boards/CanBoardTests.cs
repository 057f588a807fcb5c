using System.Buffers;
using System.Text;
using CellWatch.Simulation.Boards;
using CellWatch.Simulation.Model;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Tests.Boards;

public sealed class CanBoardTests
{
    private readonly SimulatedPack _pack = new(FirstChargeStory.Create());
    private readonly CanBoard _board;
    private readonly ArrayBufferWriter<byte> _out = new();

    public CanBoardTests() => _board = new CanBoard(PetrelPack.Boards[1], _pack);

    // Source: the adapter's command table as quoted in the notes on the wire (1.2): CR accepts, BEL refuses; a rate is set while closed; open needs a rate.
    [Theory]
    [InlineData("V\r", "V1010\r")]
    [InlineData("N\r", "N1002\r")]
    [InlineData("\r", "\r")]
    [InlineData("S6\r", "\r")]
    [InlineData("S9\r", "\a")]
    [InlineData("S\r", "\a")]
    [InlineData("O\r", "\a")]
    [InlineData("C\r", "\a")]
    [InlineData("F\r", "\a")]
    [InlineData("S6\rL\r", "\r\r")]
    [InlineData("S6\rO\rO\r", "\r\r\a")]
    [InlineData("S6\rO\rS5\r", "\r\r\a")]
    [InlineData("S6\rO\rF\r", "\r\rF00\r")]
    [InlineData("S6\rO\rt12320102\r", "\r\rz\r")]
    [InlineData("S6\rL\rt12320102\r", "\r\r\a")]
    [InlineData("S6\rO\rC\rC\r", "\r\r\r\a")]
    [InlineData("Q\r", "\a")]
    [InlineData("0123456789012345678901234567890123456789\r", "\a")]
    public void It_answers_as_the_command_table_says(string commands, string answers) => Assert.Equal(answers, Say(commands));

    [Fact]
    public void Commands_may_come_in_pieces()
    {
        Assert.Equal("", Say("S"));
        Assert.Equal("\r", Say("6\r"));
    }

    [Fact]
    public void It_is_silent_until_the_channel_is_open()
    {
        Assert.Equal("", Scan(0));
        Say("S6\rL\r");
        Assert.NotEqual("", Scan(0.5));
        Say("C\r");
        Assert.Equal("", Scan(1));
    }

    [Fact]
    public void After_it_lost_power_it_is_closed_again()
    {
        Say("S6\rL\r");
        _board.LosePower();

        Assert.Equal("", Scan(0));
        Assert.Equal("\a", Say("L\r"));
    }

    [Fact]
    public void The_first_scan_after_opening_carries_every_message_and_the_next_only_what_is_fast()
    {
        Scan(0);
        Say("S6\rL\r");

        // State, string, two messages of cells for each of six modules, three of temperatures, bleeds.
        Assert.Equal(1 + 1 + 12 + 3 + 1, Frames(Scan(0.5)).Count);
        Assert.Equal(1 + 12, Frames(Scan(1)).Count);
    }

    [Fact]
    public void Its_frames_decode_to_the_cells_within_noise_and_step()
    {
        Say("S6\rL\r");
        var values = Decode(Scan(0));

        foreach (var (module, name) in new[] { (1, "B04"), (3, "B09"), (5, "B11"), (6, "B12") })
            for (var cell = 1; cell <= 6; cell++)
            {
                var truth = _pack.Model.CellVoltageV[PetrelPack.Cell(PetrelPack.Layout, $"{name}.{cell}")];
                Assert.InRange(values[$"M{module:00}_C{cell:00}_V"], truth - 0.0036, truth + 0.0036);
            }

        Assert.InRange(values["PackCurrent"], 59.8, 60.2);
        // The meter reads 0.06 V low.
        Assert.InRange(values["StringVoltage"] - _pack.Model.StringVoltageV, -0.10, -0.02);
        Assert.InRange(values["M01_T1_degC"], 20, 25);
        Assert.Equal((1002, 1, 1), (values["Serial"], values["Isolated"], values["Simulated"]));
    }

    [Fact]
    public void A_discharge_current_is_negative()
    {
        var pack = new SimulatedPack(NightStory.Create() with { OpensAtClockH = 9, PastS = 5400 });
        var board = new CanBoard(PetrelPack.Boards[1], pack);
        board.Answer("S6\rL\r"u8, _out);
        _out.ResetWrittenCount();

        board.Scan(-1800 + 230, _out);

        Assert.True(pack.Model.PackCurrentA < -5);
        Assert.InRange(Decode(Encoding.ASCII.GetString(_out.WrittenSpan))["PackCurrent"], pack.Model.PackCurrentA - 0.2, pack.Model.PackCurrentA + 0.2);
    }

    [Fact]
    public void An_open_lead_is_sent_as_the_code_for_it_and_a_bleed_as_its_bit()
    {
        var lower = PetrelPack.Cell(PetrelPack.Layout, "B12.2");
        _pack.Apply((_, player, faults, tick) =>
        {
            faults.OpenTap = new OpenTap(lower, lower + 1, tick);
            player.SetExtraBleed(PetrelPack.Cell(PetrelPack.Layout, "B08.3"));
        });
        Say("S6\rL\r");
        var values = Decode(Scan(1));

        Assert.Equal(6.5535, values["M06_C02_V"], 6);
        Assert.Equal(6.5535, values["M06_C03_V"], 6);
        Assert.Equal(0b100, values["M02_Bleed"]);
    }

    [Fact]
    public void Its_database_reads_without_a_warning_and_says_that_it_is_simulated()
    {
        var database = BoardDatabase.Parse(_board.Modules);

        Assert.Empty(database.Warnings);
        Assert.Contains("all data simulated", BoardDatabase.Text(_board.Modules), StringComparison.Ordinal);
    }

    private static List<(uint Id, byte[] Data)> Frames(string text) =>
        [.. text.Split('\r', StringSplitOptions.RemoveEmptyEntries).Select(line => (Convert.ToUInt32(line[1..4], 16), Convert.FromHexString(line[5..])))];

    private Dictionary<string, double> Decode(string text)
    {
        // Read by hand here, so that writer and parser of the wire cannot share a fault.
        var database = BoardDatabase.Parse(_board.Modules);
        var values = new Dictionary<string, double>(StringComparer.Ordinal);
        foreach (var (id, data) in Frames(text))
        {
            var message = database.Find(id, isExtended: false)!;
            var decoded = new FrontEnds.SignalDatabase.SignalValue[message.Signals.Length];
            message.Decode(data, decoded);
            foreach (var signal in message.Signals) values[signal.Name] = decoded[signal.Index].Physical;
        }

        return values;
    }

    private string Say(string commands)
    {
        _out.ResetWrittenCount();
        _board.Answer(Encoding.ASCII.GetBytes(commands), _out);
        return Encoding.ASCII.GetString(_out.WrittenSpan);
    }

    private string Scan(double timeS)
    {
        _out.ResetWrittenCount();
        _board.Scan(timeS, _out);
        return Encoding.ASCII.GetString(_out.WrittenSpan);
    }
}
