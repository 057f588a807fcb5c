using CellWatch.Core.Live;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Tests.Engine;

namespace CellWatch.Core.Tests.Checks;

public sealed class ChannelChecksTests
{
    /// <summary>Story 15.</summary>
    [Fact]
    public void A_value_that_repeats_for_120_s_while_the_current_changes_by_50_A_is_doubted_and_never_the_highest_or_lowest()
    {
        var bench = WithoutNoise();
        var cell = bench.Cell("B05.2");
        bench.Fault = b => b.Values[cell] = 3.87;
        bench.Run(60);
        bench.CurrentA = 50;
        bench.Run(58);
        Assert.Equal(cell, bench.State.Summary.LowestCell);
        bench.Run(10);

        Assert.Equal(Quality.Stuck, bench.State.Snapshot.CellQuality[cell]);
        Assert.Equal(StateWord.Doubtful, bench.State.CellStates[cell]);
        Assert.NotEqual(cell, bench.State.Summary.LowestCell);
        Assert.NotEqual(cell, bench.State.Summary.HighestCell);
        var row = Assert.Single(bench.State.StandsOut, r => r.Cell == cell);
        Assert.Equal("does not move with current", row.Finding);
    }

    [Fact]
    public void A_quiet_channel_is_not_stuck_while_the_current_changes_by_less()
    {
        var bench = WithoutNoise();
        var cell = bench.Cell("B05.2");
        bench.Fault = b => b.Values[cell] = 3.87;
        bench.Run(60);
        bench.CurrentA = 40;
        bench.Run(200);
        Assert.Equal(Quality.Good, bench.State.Snapshot.CellQuality[cell]);
    }

    [Theory]
    [InlineData(0.001, 0.0001)]
    [InlineData(0.001, 0.001)]
    public void A_value_that_repeats_for_twenty_scans_while_the_cells_beside_it_show_noise_is_doubted_at_a_steady_current(double noiseV, double stepV)
    {
        var bench = new PackBench { NoiseV = noiseV, CurrentA = 60 };
        var cell = bench.Cell("B05.2");
        bench.Fault = b => Coarsen(b, stepV, cell);
        bench.Run(15, dtS: 0.5);
        Assert.Equal(108, bench.State.Summary.KnownCells);

        // Scans in which too few of the others move do not count, so coarse steps take longer.
        bench.Run(30, dtS: 0.5, each: _ => bench.Fault = b => Coarsen(b, stepV, cell, 3.9));
        Assert.Equal(Quality.Stuck, bench.State.Snapshot.CellQuality[cell]);
        Assert.Equal("repeats one value while the cells beside it move", Assert.Single(bench.State.StandsOut, r => r.Cell == cell).Finding);
        Assert.Equal(107, bench.State.Summary.KnownCells);

        bench.Fault = b => Coarsen(b, stepV, cell);
        Assert.Equal(108, bench.Run(10, dtS: 0.5).Summary.KnownCells);
    }

    [Fact]
    public void Cells_read_in_steps_coarser_than_their_noise_are_not_doubted_for_standing_still()
    {
        var bench = new PackBench { NoiseV = 0.0003 };
        for (var k = 0; k < bench.CellV.Length; k++) bench.CellV[k] = 3.9 + 0.001 * (k % 7) + 0.0004;
        bench.Fault = b => Coarsen(b, 0.001, -1);
        bench.Run(3600, dtS: 0.5);
        Assert.Equal(108, bench.State.Summary.KnownCells);
    }

    [Fact]
    public void An_instrument_whose_every_cell_stands_still_through_a_change_of_current_repeats_its_frame()
    {
        var bench = Quiet();
        bench.Run(30);
        var frozen = bench.State.Snapshot.RawCellVoltageV[..6].ToArray();
        bench.Fault = b => frozen.CopyTo(b.Values);
        bench.Run(2);
        bench.CurrentA = 60;
        bench.Run(7);
        Assert.All(Enumerable.Range(0, 6), c => Assert.Equal(Quality.Stuck, bench.State.Snapshot.CellQuality[c]));
        Assert.Equal(Quality.Good, bench.State.Snapshot.CellQuality[6]);
        bench.Fault = null;
        Assert.Equal(108, bench.Run(5).Summary.KnownCells);
    }

    /// <summary>Story 4: 0.124 A through 0.5 ohm in the lead between groups 2 and 3.</summary>
    [Theory]
    [InlineData(120)]
    [InlineData(1)]
    public void A_bad_lead_between_two_groups_is_named_when_one_bleeds_and_clears_when_bleeding_stops(int secondsBefore)
    {
        var bench = Quiet();
        var (second, third) = (bench.Cell("B04.2"), bench.Cell("B04.3"));
        bench.Run(secondsBefore);
        bench.Bleeding.Add(second);
        bench.CellV[second] -= 0.062;
        bench.CellV[third] += 0.062;
        var state = bench.Run(3);

        Assert.Equal(StateWord.Doubtful, state.CellStates[second]);
        Assert.Equal(StateWord.Doubtful, state.CellStates[third]);
        Assert.InRange(state.Summary.SpreadV!.Value, 0, 0.005);
        Assert.Equal("moves against B04.3 by the same amount: their shared lead", state.StandsOut.Single(r => r.Cell == second).Finding);

        bench.Bleeding.Clear();
        bench.CellV[second] += 0.062;
        bench.CellV[third] -= 0.062;
        state = bench.Run(2);
        Assert.Equal(StateWord.Normal, state.CellStates[second]);
        Assert.Equal(StateWord.Normal, state.CellStates[third]);
    }

    [Fact]
    public void A_lead_that_opens_a_little_without_bleeding_shows_as_a_mirrored_change()
    {
        var bench = Quiet();
        bench.Run(120);
        bench.CellV[bench.Cell("B04.2")] -= 0.030;
        bench.CellV[bench.Cell("B04.3")] += 0.030;
        bench.Run(2);
        Assert.Equal(Quality.Doubtful, bench.State.Snapshot.CellQuality[bench.Cell("B04.2")]);
    }

    [Fact]
    public void Neighbours_that_have_always_differed_are_two_cells_and_no_lead()
    {
        var bench = Quiet();
        bench.CellV[bench.Cell("B04.2")] -= 0.030;
        bench.CellV[bench.Cell("B04.3")] += 0.030;
        bench.Run(300);
        Assert.Equal(108, bench.State.Summary.KnownCells);
    }

    [Fact]
    public void Neighbours_of_unlike_resistance_under_load_are_no_lead()
    {
        var bench = Quiet();
        bench.Run(120);
        bench.CurrentA = 200;
        bench.CellV[bench.Cell("B04.2")] += 0.020;
        bench.CellV[bench.Cell("B04.3")] -= 0.020;
        bench.Run(30);
        Assert.Equal(108, bench.State.Summary.KnownCells);
    }

    [Fact]
    public void A_spike_without_current_is_a_measurement_and_no_over_voltage()
    {
        var bench = Quiet();
        bench.Run(10);
        var cell = bench.Cell("B09.1");
        bench.CellV[cell] += 0.4;
        Assert.Equal(Quality.Doubtful, bench.Run(1).Snapshot.CellQuality[cell]);
        Assert.DoesNotContain(bench.State.Alarms, a => a.Rule == "cell-high-absolute");
        bench.CellV[cell] -= 0.4;
        Assert.Equal(Quality.Good, bench.Run(1).Snapshot.CellQuality[cell]);
    }

    [Fact]
    public void The_same_step_with_600_A_is_possible()
    {
        var bench = Quiet();
        bench.Run(10);
        bench.CurrentA = -600;
        Assert.Equal(108, bench.Run(1).Summary.KnownCells);
        bench.CurrentA = 0;
        Assert.Equal(108, bench.Run(1).Summary.KnownCells);
    }

    [Fact]
    public void A_step_that_stays_is_believed_after_ten_seconds()
    {
        var bench = Quiet();
        bench.Run(10);
        bench.CellV[3] += 0.2;
        Assert.Equal(107, bench.Run(10).Summary.KnownCells);
        Assert.Equal(108, bench.Run(2).Summary.KnownCells);
    }

    [Fact]
    public void A_multiplexer_that_reads_one_cell_twice_is_found()
    {
        var bench = Quiet();
        bench.Fault = b => b.Values[8] = b.Values[7];
        bench.Run(30);
        Assert.Equal(Quality.Doubtful, bench.State.Snapshot.CellQuality[7]);
        Assert.Equal(Quality.Doubtful, bench.State.Snapshot.CellQuality[8]);
        Assert.Equal(106, bench.State.Summary.KnownCells);
    }

    [Fact]
    public void Cells_that_are_merely_alike_are_no_copies()
    {
        var bench = new PackBench();
        var v = 3.9;
        bench.Run(60, each: _ => bench.AllCells(v += 0.001));
        Assert.Equal(108, bench.State.Summary.KnownCells);
    }

    [Theory]
    [InlineData(-40)]
    [InlineData(125)]
    public void A_sensor_that_reads_minus_40_or_plus_125_is_open_or_shorted(double degC)
    {
        var bench = Quiet();
        bench.TemperatureDegC[4] = degC;
        bench.Run(60);
        Assert.Equal(Quality.Open, bench.State.Snapshot.TemperatureQuality[4]);
        Assert.Equal(22, bench.State.Summary.HottestDegC);
        Assert.Empty(bench.State.Alarms);
    }

    [Fact]
    public void Twenty_changes_in_which_voltages_rise_on_discharge_name_the_sensor()
    {
        var bench = Quiet();
        bench.Ohm = -0.001;
        bench.Run(200, each: t => bench.CurrentA = t % 10 < 5 ? -40 : -10);
        Assert.Contains(bench.State.Alarms, a => a.Rule == "current-reversed");

        var right = Quiet();
        right.Run(200, each: t => right.CurrentA = t % 10 < 5 ? -40 : -10);
        Assert.DoesNotContain(right.State.Alarms, a => a.Rule == "current-reversed");
    }

    [Fact]
    public void Noise_that_triples_when_the_charger_starts_is_told_by_instrument()
    {
        var bench = Quiet();
        bench.NoiseV = 0.0004;
        bench.Run(120);
        Assert.Equal(0.4, bench.State.Noise[0].NowMv!.Value, 0.1);
        bench.CurrentA = 30;
        var random = new Random(2);
        bench.Fault = b =>
        {
            for (var cell = 0; cell < 6; cell++) b.Values[cell] += 0.005 * (random.NextDouble() - 0.5);
        };
        bench.Run(180);
        Assert.Equal("noise-rose.B01", Assert.Single(bench.State.Alarms).Id);
    }

    private static void Coarsen(SnapshotBuffer b, double stepV, int stuck, double? atV = null)
    {
        for (var k = 0; k < b.Map.CellCount; k++) b.Values[k] = Math.Round(b.Values[k] / stepV) * stepV;
        if (atV is { } v) b.Values[stuck] = v;
    }

    /// <summary>No noise at all, so that only a change of current moves anything; unlike cells, so that none is a copy.</summary>
    private static PackBench WithoutNoise()
    {
        var bench = new PackBench { Ohm = 0.001 };
        for (var k = 0; k < bench.CellV.Length; k++) bench.CellV[k] = 3.9 + 0.0001 * (k % 7);
        return bench;
    }

    private static PackBench Quiet()
    {
        var bench = new PackBench { Ohm = 0.001, NoiseV = 0.0003 };
        return bench;
    }
}
