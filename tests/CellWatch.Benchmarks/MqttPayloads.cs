using BenchmarkDotNet.Attributes;
using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Mqtt;
using CellWatch.Testing;

namespace CellWatch.Benchmarks;

/// <summary>Writing the live messages of one snapshot: 18 modules of 12 cells and 4 sensors (216 cells, 72 temperatures).</summary>
[MemoryDiagnoser]
public class MqttPayloads : IDisposable
{
    private readonly PayloadWriter _writer = new();
    private readonly PackState _state = Some.State(Some.Snapshot(
        Some.Layout(modules: 18, series: 12, sensors: 4),
        change: b => b.Origins.Fill(Origin.Simulated))) with
    { FrontEnds = [Some.FrontEnd(), Some.FrontEnd("instrument 2"), Some.FrontEnd("instrument 3")] };

    /// <inheritdoc/>
    public void Dispose()
    {
        _writer.Dispose();
        GC.SuppressFinalize(this);
    }

    /// <summary>The pack's figures.</summary>
    [Benchmark]
    public int Pack() => _writer.Pack(_state).Length;

    /// <summary>One module's twelve cells.</summary>
    [Benchmark]
    public int CellsOfOneModule() => _writer.Cells(_state, 7).Length;

    /// <summary>Everything that one snapshot may make.</summary>
    [Benchmark]
    public int WholeSnapshot()
    {
        var bytes = _writer.Permit(_state, 3).Length + _writer.Pack(_state).Length;
        for (var m = 0; m < _state.Layout.Modules.Length; m++)
            bytes += _writer.Cells(_state, m).Length + _writer.Temperatures(_state, m).Length;
        foreach (var health in _state.FrontEnds) bytes += _writer.Instrument(health, _state).Length;
        return bytes;
    }
}
