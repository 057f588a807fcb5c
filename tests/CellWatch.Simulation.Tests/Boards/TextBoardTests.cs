using System.Buffers;
using System.Globalization;
using System.Text;
using CellWatch.FrontEnds.TextLines;
using CellWatch.Simulation.Boards;
using CellWatch.Simulation.Model;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Tests.Boards;

public sealed class TextBoardTests
{
    private readonly SimulatedPack _pack = new(FirstChargeStory.Create());
    private readonly ArrayBufferWriter<byte> _out = new();

    [Fact]
    public void The_first_scan_says_everything_and_every_sentence_holds()
    {
        var sentences = Scan(new TextBoard(PetrelPack.Boards[2], _pack), 0);

        // Six modules of voltages, temperatures and bleeds, one of what is beside the pack, one of the board itself.
        Assert.Equal("VVVVVVTBTBTBTBTBTBAS", string.Concat(sentences.Select(s => s.Kind)));
        Assert.All(sentences, s => Assert.Equal("PTR-0103", s.Serial));
        Assert.Equal(Enumerable.Range(0, sentences.Count), sentences.Select(s => s.Sequence));
    }

    [Fact]
    public void Slow_quantities_come_every_fourth_scan()
    {
        var board = new TextBoard(PetrelPack.Boards[0], _pack);
        Scan(board, 0);

        Assert.Equal("VVVVVV", string.Concat(Scan(board, 0.5).Select(s => s.Kind)));
        Scan(board, 1);
        Scan(board, 1.5);
        Assert.Contains('T', Scan(board, 2).Select(s => s.Kind));
    }

    [Fact]
    public void Its_voltages_are_the_cells_within_noise_and_step()
    {
        var sentence = Scan(new TextBoard(PetrelPack.Boards[0], _pack), 0).First(s => s.Kind == 'V' && s.Fields[0] == "4");

        // The fourth module of board 1 is B07.
        for (var cell = 1; cell <= 6; cell++)
        {
            var truth = _pack.Model.CellVoltageV[PetrelPack.Cell(PetrelPack.Layout, $"B07.{cell}")];
            Assert.InRange(double.Parse(sentence.Fields[cell], CultureInfo.InvariantCulture), truth - 0.0036, truth + 0.0036);
        }
    }

    [Fact]
    public void The_bench_board_says_current_and_string_voltage()
    {
        var pack = new SimulatedPack(BenchStory.Create());

        var sentence = Scan(new TextBoard(pack.Story.Boards[0], pack), 0).Single(s => s.Kind == 'P');

        Assert.InRange(double.Parse(sentence.Fields[0], CultureInfo.InvariantCulture), -36.7 - 0.2, -36.7 + 0.2);
        Assert.InRange(double.Parse(sentence.Fields[1], CultureInfo.InvariantCulture), pack.Model.StringVoltageV - 0.1, pack.Model.StringVoltageV);
    }

    [Fact]
    public void An_open_lead_is_said_to_be_open()
    {
        var lower = PetrelPack.Cell(PetrelPack.Layout, "B03.2");
        _pack.Apply((_, _, faults, tick) => faults.OpenTap = new OpenTap(lower, lower + 1, tick));

        var sentence = Scan(new TextBoard(PetrelPack.Boards[0], _pack), 0).First(s => s.Kind == 'V' && s.Fields[0] == "3");

        Assert.Equal(["open", "open"], sentence.Fields[2..4]);
        Assert.NotEqual("open", sentence.Fields[1]);
    }

    [Fact]
    public void It_says_that_it_is_isolated_simulated_and_when_its_bleeds_open_by_themselves()
    {
        var status = Scan(new TextBoard(PetrelPack.Boards[0], _pack), 0).Single(s => s.Kind == 'S');

        Assert.Equal(["24.0", "5.02", "60", "Y", "S"], status.Fields);
    }

    private List<(char Kind, string Serial, int Sequence, string[] Fields)> Scan(TextBoard board, double timeS)
    {
        _out.ResetWrittenCount();
        board.Scan(timeS, _out);
        var sentences = new List<(char, string, int, string[])>();
        foreach (var line in Encoding.ASCII.GetString(_out.WrittenSpan).Split("\r\n", StringSplitOptions.RemoveEmptyEntries))
        {
            Assert.Equal(TextLineFault.None, TextSentence.TryRead(Encoding.ASCII.GetBytes(line), out var sentence));
            sentences.Add(((char)sentence.Kind, Encoding.ASCII.GetString(sentence.Serial), sentence.Sequence, Encoding.ASCII.GetString(sentence.Fields).Split(',')));
        }

        return sentences;
    }
}
