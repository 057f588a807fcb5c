using System.Globalization;
using CellWatch.Core.Engine;
using CellWatch.Core.Live;
using CellWatch.Core.Pack;
using CellWatch.Core.Rules;
using CellWatch.Core.Snapshots;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Engine;

/// <summary>Hours of measured discharges of six groups (shared/data, EV string) through the whole engine, twice: the same steps in the same alarms, bit for bit.</summary>
public class RealDataReplayTests
{
    [SharedTheory("data/ev_string6_discharge_0p3C.csv")]
    [InlineData("ev_string6_discharge_0p3C.csv", 2.7)]
    [InlineData("ev_string6_discharge_2C.csv", 0.4)]
    [InlineData("ev_string6_discharge_2p75C.csv", 0.29)]
    public void A_measured_discharge_replayed_gives_identical_transitions_figures_and_causes(string file, double hours)
    {
        var (first, figures, elapsedH) = Replay(file);
        var (again, figuresAgain, _) = Replay(file);
        Assert.True(elapsedH >= hours, $"{elapsedH} h");
        Assert.Equal(first, again);
        Assert.Equal(figures.Select(BitConverter.DoubleToInt64Bits), figuresAgain.Select(BitConverter.DoubleToInt64Bits));
        // Group 1 passes 3.10 V under load before the end at 3.00 V: there is something to be identical.
        Assert.Contains(first, t => t.Id.Contains("B01.1", StringComparison.Ordinal) && t.To == AlarmState.Unacknowledged);
        Assert.True(figures.Count(double.IsFinite) > 200);
    }

    private static (List<AlarmTransition> Transitions, List<double> Figures, double Hours) Replay(string file)
    {
        var lines = File.ReadAllLines(SharedMaterial.PathOf($"data/{file}"));
        var header = lines[0].Split(',').ToList();
        int time = header.IndexOf("time_s"), current = header.IndexOf("current_A"), total = header.IndexOf("string_voltage_V"), cell = header.IndexOf("cell1_V");
        var map = new ChannelMap(new PackLayout("string", [new PackModule(new ModuleId("B01"), new ModuleTopology(6, 2), 0, 1)]));
        var buffer = new SnapshotBuffer(map);
        var engine = new PackEngine(map, CellType.Nmc420, new EngineOptions { CapacityAh = 58 });
        var transitions = new List<AlarmTransition>();
        var figures = new List<double>();
        double first = 0, last = 0;
        for (var row = 1; row < lines.Length; row++)
        {
            var fields = lines[row].Split(',');
            double Number(int i) => double.Parse(fields[i], CultureInfo.InvariantCulture);
            last = Number(time);
            if (row == 1) first = last;
            var us = (long)Math.Round(1e6 * (last - first)) + 1;
            buffer.Begin(row, new SnapshotTime(us, PackBench.StartUnixMs + us / 1000));
            buffer.Qualities.Fill(Quality.Good);
            buffer.Origins.Fill(Origin.Replayed);
            buffer.AgesUs.Clear();
            buffer.Values.Clear();
            for (var k = 0; k < 6; k++) buffer.Values[k] = Number(cell + k);
            buffer.Values[map.PackCurrent] = Number(current);
            buffer.Values[map.StringVoltage] = Number(total);
            engine.Step(buffer);
            transitions.AddRange(engine.TakeTransitions());
            if (row % 50 != 0) continue;
            var state = engine.Publish(buffer, [], new RecordingView(true, "recording", null, null), new SendingView(true, "sending"));
            figures.AddRange([state.Summary.Soc ?? double.NaN, state.Summary.SpreadV ?? double.NaN, .. state.ChargeDifferenceAh, .. state.ResistanceMilliohm]);
            for (var k = 0; k < 6; k++) figures.Add(engine.FindingOf(state.Snapshot, k).OffsetAh);
            transitions.AddRange(state.Transitions);
        }

        return (transitions, figures, (last - first) / 3600);
    }
}
