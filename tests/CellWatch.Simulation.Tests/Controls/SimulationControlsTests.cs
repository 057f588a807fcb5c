using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Simulation.Controls;
using CellWatch.Simulation.Model;
using CellWatch.Simulation.Stories;
using CellWatch.Simulation.Time;
using Microsoft.Extensions.Time.Testing;

namespace CellWatch.Simulation.Tests.Controls;

public sealed class SimulationControlsTests
{
    // What "within five seconds on the page" leaves of the story, at the default time factor.
    private const double FiveRealSecondsS = 40;

    private readonly FakeTimeProvider _real = new(new DateTimeOffset(2026, 3, 9, 12, 0, 0, TimeSpan.Zero));
    private readonly Story _story = FirstChargeStory.Create();
    private readonly ScaledTimeProvider _clock;
    private readonly SimulatedSite _site;

    public SimulationControlsTests()
    {
        _clock = SimulatedSite.CreateClock(_story, inner: _real);
        _site = new SimulatedSite(_story, _clock);
        _site.Pack.AdvanceTo(0);
    }

    [Fact]
    public void Every_press_has_a_label_and_one_sentence_and_can_be_pressed_twice()
    {
        foreach (var press in _site.Controls.Presses)
        {
            Assert.EndsWith(".", press.Description, StringComparison.Ordinal);
            Assert.InRange(press.Label.Length, 4, 40);
            Assert.False(press.IsOn);
        }

        foreach (var press in _site.Controls.Presses.Where(p => p.Key is not (PressKeys.NextMorning or PressKeys.NextCharge or PressKeys.Reset)))
        {
            Assert.EndsWith(".", _site.Controls.Trigger(press.Key), StringComparison.Ordinal);
            Assert.True(IsOn(press.Key), press.Key);
            _site.Controls.Trigger(press.Key);
            Assert.False(IsOn(press.Key), press.Key);
        }
    }

    [Fact]
    public void An_unknown_key_does_nothing_and_says_which_there_are() =>
        Assert.Contains("pull-lead", _site.Controls.Trigger("pul-lead"), StringComparison.Ordinal);

    [Fact]
    public void A_stuck_channel_repeats_to_the_last_digit_while_its_neighbours_move()
    {
        var stuck = Cell("B05.2");
        _site.Controls.Trigger(PressKeys.StickChannel);
        var first = Read(0, stuck);

        for (var t = 10; t < 300; t += 10) Assert.Equal(first, Read(t, stuck));

        Assert.True(Math.Abs(Read(300, stuck + 1) - first) > 0.02);
        _site.Controls.Trigger(PressKeys.StickChannel);
        Assert.True(Read(301, stuck) > first + 0.02);
    }

    [Fact]
    public void A_load_dips_the_cells_it_is_really_on_whatever_their_harness_is_called()
    {
        var (b03, b05) = (Cell("B03.1"), Cell("B05.1"));
        _site.Controls.Trigger(PressKeys.HandCutOff);
        _site.Controls.Trigger(PressKeys.SwapHarnesses);
        var (before03, before05) = (Read(60, b03), Read(60, b05));
        _site.Controls.LoadModule(new ModuleId("B03"));
        // 5 ohm across six cells of about 3.9 V: 4.7 A through about 1 mOhm; the channels called B05 hang on B03.
        Assert.InRange(before05 - Read(62, b05), 0.0025, 0.008);
        Assert.InRange(before03 - Read(62, b03), -0.002, 0.0022);
        _site.Controls.LoadModule(null);
        Assert.InRange(before05 - Read(70, b05), -0.002, 0.0022);

        _site.Controls.LoadCell(new CellId(new ModuleId("B07"), 2));
        var (cell, next) = (Cell("B07.2"), Cell("B07.3"));
        var (loaded, beside) = (Read(72, cell), Read(72, next));
        _site.Controls.LoadCell(null);
        Assert.InRange(Read(74, cell) - loaded, 0.005, 0.012);
        Assert.InRange(Read(74, next) - beside, -0.002, 0.002);
    }

    [Fact]
    public void A_loose_link_drops_voltage_at_once_and_its_joint_is_hot_within_five_real_seconds()
    {
        var sensor = _site.Pack.Map.FirstTemperature + _story.Layout.FirstTemperature(Module("B10")) + 1;
        var dropV = StringMinusSum(0);
        _site.Controls.Trigger(PressKeys.LoosenLink);

        // 25 mOhm at 60 A.
        Assert.InRange(StringMinusSum(1) - dropV, 1.40, 1.60);
        // The warning while charging is 40 degC, held 5 s.
        Assert.True(Read(FiveRealSecondsS - 10, sensor) > _story.CellType.Limits.ChargeHotWarnDegC);
        Assert.InRange(Read(FiveRealSecondsS - 10, sensor - 1), 15, 25);
    }

    [Fact]
    public void At_rest_a_loose_link_says_when_it_will_show()
    {
        _site.Pack.AdvanceTo(3600);

        Assert.Contains("as soon as current flows", _site.Controls.Trigger(PressKeys.LoosenLink), StringComparison.Ordinal);
    }

    [Fact]
    public void A_charger_that_ignores_the_taper_keeps_its_current_and_says_what_is_waited_for()
    {
        Assert.Matches("ten seconds after the highest cell is at its target, [0-9]+ mV from now", _site.Controls.Trigger(PressKeys.IgnoreTaper));

        Pass(untilV: PetrelPack.ChargeTargetV + 0.005);
        Assert.Equal(60, _site.Pack.Model.PackCurrentA, 6);
    }

    [Fact]
    public void At_rest_it_starts_a_charge_that_ignores_its_target()
    {
        _site.Pack.AdvanceTo(3600);
        Assert.Equal(0, _site.Pack.Model.PackCurrentA);

        _site.Controls.Trigger(PressKeys.IgnoreTaper);
        _site.Pack.AdvanceTo(3600 + FiveRealSecondsS);
        // The story's next charge is the one of 33 A before the night.
        Assert.Equal(33, _site.Pack.Model.PackCurrentA, 6);

        var at = 3600.0 + FiveRealSecondsS;
        while (_site.Pack.Model.HighestCellV < PetrelPack.ChargeTargetV + 0.005) _site.Pack.AdvanceTo(at += 5);
        Assert.True(at < 3600 + 600, $"{at}");
        Assert.Equal(33, _site.Pack.Model.PackCurrentA, 6);
    }

    [Fact]
    public void The_hand_cut_off_ends_it_and_reset_lets_the_charger_obey_again()
    {
        _site.Controls.Trigger(PressKeys.IgnoreTaper);
        var at = Pass(untilV: PetrelPack.ChargeTargetV + 0.005);
        _site.Controls.Trigger(PressKeys.HandCutOff);
        _site.Pack.AdvanceTo(at + 1);
        Assert.Equal(0, _site.Pack.Model.PackCurrentA);

        _site.Controls.Trigger(PressKeys.Reset);
        _site.Pack.AdvanceTo(at + 120);

        Assert.InRange(_site.Pack.Model.PackCurrentA, 1, 60);
        Assert.True(_site.Pack.Model.HighestCellV < PetrelPack.ChargeTargetV + 0.005);
    }

    private double Pass(double untilV)
    {
        var at = _site.Pack.TimeS;
        while (_site.Pack.Model.HighestCellV < untilV) _site.Pack.AdvanceTo(at += 5);
        Assert.True(at < 1800);
        return at;
    }

    [Fact]
    public void Swapped_harnesses_exchange_voltages_and_temperatures_and_only_those()
    {
        int[] channels = [.. Enumerable.Range(0, _site.Pack.Map.CellCount)];
        var before = ReadAll(10, channels);
        _site.Controls.Trigger(PressKeys.SwapHarnesses);
        var after = ReadAll(10, channels);

        var (a, b) = (Cell("B03.1"), Cell("B05.1"));
        for (var k = 0; k < channels.Length; k++)
        {
            var source = k >= a && k < a + 6 ? k - a + b : k >= b && k < b + 6 ? k - b + a : k;
            // The noise is the input's own and stays; it never passes 3.5 mV.
            if (source == k) Assert.Equal(before[k], after[k]);
            else Assert.InRange(after[k] - _site.Pack.Model.CellVoltageV[source], -0.0036, 0.0036);
        }
    }

    // Source: stories, 4: 0.5 ohm in the lead between groups 2 and 3, 124 mA: group 2 reads 62 mV low and group 3 62 mV high.
    [Fact]
    public void A_corroded_shared_tap_shifts_two_neighbours_by_62_mV_in_opposite_directions()
    {
        var cell = Cell("B08.2");
        _site.Controls.Trigger(PressKeys.CorrodeTap);

        var (low, high, others) = (0.0, 0.0, 0.0);
        for (var t = 1; t <= 200; t++)
        {
            low += (Read(t, cell) - _site.Pack.Model.CellVoltageV[cell]) / 200;
            high += (Read(t, cell + 1) - _site.Pack.Model.CellVoltageV[cell + 1]) / 200;
            others += (Read(t, cell + 3) - _site.Pack.Model.CellVoltageV[cell + 3]) / 200;
        }

        // An ordinary lead of 20 mOhm on the other side adds 2.5 mV to the cell that bleeds.
        Assert.InRange(low, -0.066, -0.061);
        Assert.InRange(high, 0.060, 0.063);
        Assert.InRange(others, -0.0005, 0.0005);
    }

    [Fact]
    public void An_open_tap_is_open_on_both_sides()
    {
        var lower = Cell("B12.2");
        _site.Controls.Trigger(PressKeys.OpenTap);
        var readings = ReadAll(20, [lower - 1, lower, lower + 1, lower + 2]);

        Assert.True(_site.Pack.IsOpen(lower) && _site.Pack.IsOpen(lower + 1));
        Assert.False(_site.Pack.IsOpen(lower - 1) || _site.Pack.IsOpen(lower + 2));
        Assert.InRange(readings[1], 0, 0.1);
        Assert.InRange(readings[2], 6, 6.5535);
        Assert.InRange(readings[0], 4.0, 4.1);
        Assert.InRange(readings[3], 4.0, 4.1);
    }

    [Fact]
    public void A_ground_loop_makes_four_times_the_noise_while_the_charger_runs()
    {
        _site.Controls.Trigger(PressKeys.ChargerNoise);

        Assert.InRange(NoiseMv(Cell("B02.2"), 0), 3.2, 4.8);
        Assert.InRange(NoiseMv(Cell("B14.2"), 100), 0.8, 1.2);
        _site.Pack.AdvanceTo(3600);
        Assert.InRange(NoiseMv(Cell("B02.2"), 3600), 0.8, 1.2);
    }

    [Fact]
    public void A_reversed_current_sensor_says_discharge_while_voltages_rise()
    {
        _site.Controls.Trigger(PressKeys.ReverseCurrent);

        Assert.InRange(Read(1, _site.Pack.Map.PackCurrent), -60.2, -59.8);
        Assert.Equal(60, _site.Pack.Model.PackCurrentA, 6);
    }

    [Fact]
    public void Smoke_reaches_the_smoke_input_only()
    {
        var smoke = _site.Pack.Map.FirstAuxiliary + _story.Layout.Auxiliaries.ToList().FindIndex(a => a.Kind == AuxiliaryKind.Smoke);
        Assert.Equal(0, Read(1, smoke));

        _site.Controls.Trigger(PressKeys.Smoke);

        Assert.Equal(1, Read(1, smoke));
        Assert.Equal(1, Read(1, smoke - 1));
    }

    [Fact]
    public async Task Go_to_next_morning_shows_the_night_and_leaves_all_clocks_at_ten_past_six()
    {
        var leap = new CollectingLeap();
        _site.Controls.Leap = leap;
        _site.PlayPast(new SnapshotTime(50_400_000_000, _clock.GetUtcNow().ToUnixTimeMilliseconds()), 600, _ => { });

        _site.Controls.Trigger(PressKeys.NextMorning);
        await _site.Controls.LeapDone;

        Assert.Equal(["begin", "end"], leap.Calls);
        Assert.InRange(_clock.GetUtcNow().TimeOfDay.TotalHours, 6 + 9.5 / 60, 6 + 10.5 / 60);
        Assert.InRange(_site.StoryClock.StoryTimeS, _site.Pack.TimeS - 0.2, _site.Pack.TimeS + 0.2);
        Assert.Equal("morning, at rest", _site.Pack.SceneName);
        // 20.5 h at one snapshot every ten seconds, with rising times, up to now.
        Assert.InRange(leap.Count, 7370, 7390);
        Assert.InRange(leap.LastWallMs, _clock.GetUtcNow().ToUnixTimeMilliseconds() - 11_000, _clock.GetUtcNow().ToUnixTimeMilliseconds());
        Assert.True(leap.SawBleeding && leap.SawCharging);
    }

    [Fact]
    public async Task Go_to_next_charge_stops_a_minute_into_it()
    {
        _site.Controls.Trigger(PressKeys.NextCharge);
        await _site.Controls.LeapDone;

        Assert.Equal("first charge, 60 A", _site.Pack.SceneName);
        Assert.Equal(60, _site.Pack.Model.PackCurrentA, 3);
    }

    [Fact]
    public async Task Channels_of_a_board_whose_lead_is_out_are_missing_from_a_leap()
    {
        var leap = new CollectingLeap();
        _site.Controls.Leap = leap;
        _site.Controls.PullLead(3, isOut: true);

        _site.Controls.Trigger(PressKeys.NextMorning);
        await _site.Controls.LeapDone;

        Assert.Equal(Quality.Missing, leap.LastQuality(Cell("B13.1")));
        Assert.Equal(Quality.Good, leap.LastQuality(Cell("B01.1")));
    }

    private bool IsOn(string key) => _site.Controls.Presses.Single(p => string.Equals(p.Key, key, StringComparison.Ordinal)).IsOn;

    private int Cell(string name) => PetrelPack.Cell(_story.Layout, name);

    private int Module(string id) => _story.Layout.TryFindModule(new ModuleId(id), out var module) ? module : throw new InvalidOperationException(id);

    private double Read(double timeS, int channel) => ReadAll(timeS, [channel])[0];

    private double[] ReadAll(double timeS, int[] channels)
    {
        var values = new double[channels.Length];
        _site.Pack.Read(timeS, channels, values);
        return values;
    }

    private double StringMinusSum(double timeS)
    {
        var channels = Enumerable.Range(0, _site.Pack.Map.CellCount).Append(_site.Pack.Map.StringVoltage).ToArray();
        var values = ReadAll(timeS, channels);
        return values[^1] - values[..^1].Sum();
    }

    private double NoiseMv(int cell, double fromS)
    {
        var squares = 0.0;
        for (var i = 0; i < 300; i++)
        {
            var off = Read(fromS + 0.1 * i, cell) - _site.Pack.Model.CellVoltageV[cell];
            squares += off * off;
        }

        return 1000 * Math.Sqrt(squares / 300);
    }

    private sealed class CollectingLeap : IStoryLeap
    {
        private Snapshot? _last;
        private long _lastUs = long.MinValue;

        public List<string> Calls { get; } = [];

        public int Count { get; private set; }

        public long LastWallMs { get; private set; }

        public bool SawBleeding { get; private set; }

        public bool SawCharging { get; private set; }

        public void Begin() => Calls.Add("begin");

        public void Take(SnapshotBuffer snapshot)
        {
            Assert.True(snapshot.View.Time.ElapsedUs > _lastUs);
            _lastUs = snapshot.View.Time.ElapsedUs;
            Count++;
            LastWallMs = snapshot.View.Time.WallUnixMs;
            SawCharging |= snapshot.View.TryGetPackCurrentA(out var current) && current > 5;
            for (var cell = 0; cell < snapshot.Map.CellCount && !SawBleeding; cell++) SawBleeding = snapshot.View.IsBleeding(cell);
            _last = snapshot.Freeze();
        }

        public void End() => Calls.Add("end");

        public Quality LastQuality(int cell) => _last!.CellQuality[cell];
    }
}
