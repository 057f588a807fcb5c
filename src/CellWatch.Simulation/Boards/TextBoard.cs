using System.Buffers;
using CellWatch.FrontEnds.TextLines;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Boards;

/// <summary>A board on the text-line wire: voltages with every scan, the rest every two seconds, its own state every five.</summary>
public sealed class TextBoard : EmulatedBoard
{
    /// <summary>Seconds after which its bleed switches open by themselves when nobody speaks to it.</summary>
    public const double BleedTimeoutS = 60;

    private readonly TextSentenceWriter _writer;
    private readonly bool[] _bleeds;

    /// <param name="plan">What it measures.</param>
    /// <param name="pack">The pack it is wired to.</param>
    public TextBoard(BoardPlan plan, SimulatedPack pack) : base(plan, pack)
    {
        _writer = new TextSentenceWriter(plan.Serial);
        _bleeds = new bool[Core.Pack.ModuleTopology.MaxSeries];
    }

    private protected override void WriteScan(bool withSlow, bool withStatus, IBufferWriter<byte> to)
    {
        for (var m = 0; m < Plan.Modules; m++) WriteCells(m, to);
        if (Plan.MeasuresString) WriteString(to);
        if (withSlow)
        {
            for (var m = 0; m < Plan.Modules; m++)
            {
                WriteTemperatures(m, to);
                WriteBleeds(m, to);
            }

            if (Plan.CarriesAuxiliaries) WriteAuxiliaries(to);
        }

        if (withStatus) WriteStatus(to);
    }

    private void WriteCells(int module, IBufferWriter<byte> to)
    {
        _writer.BeginCells(module + 1);
        var layout = Map.Layout;
        for (var cell = layout.FirstCell(Plan.FirstModule + module); cell < layout.FirstCell(Plan.FirstModule + module + 1); cell++)
        {
            if (Pack.IsOpen(cell)) _writer.AddOpen();
            else _writer.Add(ValueOf(cell), 4);
        }

        to.Write(_writer.End());
    }

    private void WriteTemperatures(int module, IBufferWriter<byte> to)
    {
        _writer.BeginTemperatures(module + 1);
        var layout = Map.Layout;
        for (var sensor = layout.FirstTemperature(Plan.FirstModule + module); sensor < layout.FirstTemperature(Plan.FirstModule + module + 1); sensor++)
            _writer.Add(ValueOf(Map.FirstTemperature + sensor), 1);
        to.Write(_writer.End());
    }

    private void WriteBleeds(int module, IBufferWriter<byte> to)
    {
        var layout = Map.Layout;
        var first = layout.FirstCell(Plan.FirstModule + module);
        var count = layout.FirstCell(Plan.FirstModule + module + 1) - first;
        for (var i = 0; i < count; i++) _bleeds[i] = ValueOf(Map.FirstBleed + first + i) > 0.5;
        to.Write(_writer.Bleed(module + 1, _bleeds.AsSpan(0, count)));
    }

    private void WriteString(IBufferWriter<byte> to)
    {
        _writer.BeginPack();
        _writer.Add(ValueOf(Map.PackCurrent), 2);
        _writer.Add(ValueOf(Map.StringVoltage), 2);
        to.Write(_writer.End());
    }

    private void WriteAuxiliaries(IBufferWriter<byte> to)
    {
        _writer.BeginAuxiliaries(1);
        for (var i = 0; i < Map.Layout.Auxiliaries.Length; i++) _writer.Add(ValueOf(Map.FirstAuxiliary + i), 2);
        to.Write(_writer.End());
    }

    private void WriteStatus(IBufferWriter<byte> to)
    {
        _writer.BeginStatus();
        _writer.Add(BoardDegC, 1);
        _writer.Add(5.02, 2);
        _writer.Add(BleedTimeoutS, 0);
        _writer.AddStatus(isolated: true, isSimulated: true);
        to.Write(_writer.End());
    }
}
