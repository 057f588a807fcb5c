using CellWatch.Core.History;
using CellWatch.Core.History.Runs;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;

namespace CellWatch.Core.Tests.History;

/// <summary>Runs recognised from current, bleed switches and elapsed time. The instants are worked out by hand from the stated times.</summary>
public class RunRecogniserTests
{
    [Fact]
    public void A_minute_of_charging_opens_a_charge_from_its_first_instant_and_five_minutes_without_close_it_at_its_last()
    {
        var play = new Play();
        play.For(100, 0);
        play.For(59, 60);
        Assert.Empty(play.Began);
        play.For(3541, 60);
        Assert.Equal(new RunBegan(RunKind.Charge, At(100)), Assert.Single(play.Began));
        play.For(299, 0);
        Assert.Empty(play.Ended);
        play.For(2, 0);

        var run = Assert.Single(play.Ended);
        Assert.Equal((RunKind.Charge, At(100), At(3699), RunEnd.Over), (run.Kind, run.From, run.To, run.Why));
        // 60 A for 3599 s.
        Assert.Equal(60 * 3599 / 3600.0, run.Figures.ChargeInAh, 1e-9);
        Assert.Equal((0.0, 0, 0.0), (run.Figures.ChargeOutAh, run.Figures.GapCount, run.Figures.GapS));
        Assert.Null(play.Recogniser.Open);
    }

    [Fact]
    public void A_charger_that_pauses_for_four_minutes_makes_one_charge()
    {
        var play = new Play();
        play.For(600, 60);
        play.For(240, 0);
        play.For(600, 30);
        play.For(400, 0);
        Assert.Equal(At(1439), Assert.Single(play.Ended).To);
        Assert.Single(play.Began);
    }

    [Fact]
    public void A_charger_tried_for_half_a_minute_a_pump_and_a_house_load_are_no_runs()
    {
        var play = new Play();
        play.For(30, 10);
        play.For(60, 0);
        play.For(40, -30);
        play.For(60, 0);
        play.For(7200, -1.5);
        Assert.Empty(play.Began);
    }

    [Fact]
    public void A_drive_with_stops_and_a_descent_is_one_and_plugging_in_ends_it()
    {
        var play = new Play();
        play.For(600, -40);
        play.For(600, 0);
        play.For(240, 25);
        play.For(600, -40);
        play.For(60, 0);
        play.For(400, 60);
        Assert.Equal([new RunBegan(RunKind.Drive, At(0)), new RunBegan(RunKind.Charge, At(2100))], play.Began);
        var drive = Assert.Single(play.Ended);
        Assert.Equal((RunKind.Drive, At(2039), RunEnd.AnotherBegan), (drive.Kind, drive.To, drive.Why));
        // Between two instants of different current the trapezoid rule: 599 + 0.5, then 0.5 + 599 s of 40 A; 239 + 1 s of 25 A less what the step to -40 A crosses.
        Assert.Equal(((40 * (599 + 0.5)) + (40 * 599) + 7.5) / 3600, drive.Figures.ChargeOutAh, 1e-9);
        Assert.Equal(25 * (239 + 0.5) / 3600, drive.Figures.ChargeInAh, 1e-9);
        Assert.Equal(RunKind.Charge, play.Recogniser.Open);
    }

    [Fact]
    public void Half_an_hour_of_stillness_is_a_rest_from_its_beginning_and_one_wrong_reading_does_not_end_it()
    {
        var play = new Play();
        play.For(120, -40);
        play.For(1800, 0.2);
        play.For(1, -0.3);
        Assert.Equal(new RunBegan(RunKind.Rest, At(120)), play.Began[^1]);
        play.For(2, -30);
        play.For(1000, 0);
        Assert.Single(play.Ended);
        play.For(10, -30);
        Assert.Equal((RunKind.Rest, At(2922), RunEnd.Over), (play.Ended[1].Kind, play.Ended[1].To, play.Ended[1].Why));
    }

    [Fact]
    public void Bleeding_at_rest_is_a_balancing_through_its_pauses_and_ends_the_rest()
    {
        var play = new Play();
        play.For(2000, 0);
        for (var turn = 0; turn < 20; turn++)
        {
            play.For(100, 0, bleeding: true);
            play.For(20, 0);
        }

        play.For(1900, 0);
        Assert.Equal([RunKind.Rest, RunKind.Balance, RunKind.Rest], play.Began.Select(b => b.Kind));
        Assert.Equal([(RunKind.Rest, At(1999)), (RunKind.Balance, At(4379))], play.Ended.Select(e => (e.Kind, e.To)));
        // The pause between two turns belongs to the balancing; the rest after it begins when the last switch opened.
        Assert.Equal(At(4380), play.Began[2].From);
    }

    [Fact]
    public void A_week_of_rest_goes_on_as_storage_until_something_happens()
    {
        var play = new Play { PeriodS = 10 };
        play.For(8 * 86_400, 0);
        Assert.Equal([new RunBegan(RunKind.Rest, At(0)), new RunBegan(RunKind.Storage, At(7 * 86_400))], play.Began);
        Assert.Equal((RunKind.Rest, At(7 * 86_400), RunEnd.AnotherBegan), Of(Assert.Single(play.Ended)));
        play.For(600, 20);
        Assert.Equal((RunKind.Storage, At((8 * 86_400) - 10), RunEnd.Over), Of(play.Ended[1]));
        static (RunKind Kind, SnapshotTime To, RunEnd Why) Of(RunEnded e) => (e.Kind, e.To, e.Why);
    }

    [Theory]
    [InlineData(false)]
    [InlineData(true)]
    public void More_than_a_minute_without_a_current_ends_the_run_where_the_data_end_and_another_begins_after(bool silent)
    {
        var play = new Play();
        play.For(600, 60);
        if (silent) play.Sleep(90);
        else play.For(90, double.NaN);
        play.For(600, 60);

        var first = Assert.Single(play.Ended);
        Assert.Equal((RunKind.Charge, At(599), RunEnd.DataEnd), (first.Kind, first.To, first.Why));
        Assert.Equal([At(0), At(690)], play.Began.Select(b => b.From));
        Assert.Equal(60 * 599 / 3600.0, first.Figures.ChargeInAh, 1e-9);
    }

    [Fact]
    public void A_short_gap_belongs_to_the_run_is_counted_and_no_charge_is_made_up_for_it()
    {
        var play = new Play();
        play.For(600, 60);
        play.For(45, double.NaN);
        play.For(600, 60);
        play.For(301, 0);
        var run = Assert.Single(play.Ended);
        Assert.Equal((1, 46.0), (run.Figures.GapCount, run.Figures.GapS));
        Assert.Equal(60 * (599 + 599) / 3600.0, run.Figures.ChargeInAh, 1e-9);
    }

    [Fact]
    public void What_is_not_known_opens_nothing()
    {
        var play = new Play();
        play.For(7200, double.NaN);
        play.For(50, 60);
        play.For(70, double.NaN);
        play.For(50, 60);
        Assert.Empty(play.Began);
    }

    [Fact]
    public void A_wall_clock_that_is_set_changes_nothing_but_the_label()
    {
        var play = new Play();
        play.For(600, 60);
        play.WallMs -= 86_400_000;
        play.For(600, 60);
        play.For(301, 0);
        var run = Assert.Single(play.Ended);
        Assert.Equal(1199_000_000, run.To.ElapsedUs);
        Assert.Equal(1199_000 - 86_400_000 + Play.Epoch, run.To.WallUnixMs);
    }

    [Theory]
    [InlineData(RunKind.Charge, RunKind.Charge, true)]
    [InlineData(RunKind.Capacity, RunKind.Drive, true)]
    [InlineData(RunKind.Pulse, RunKind.Rest, true)]
    [InlineData(RunKind.Storage, RunKind.Rest, true)]
    [InlineData(RunKind.Storage, RunKind.Charge, false)]
    [InlineData(RunKind.Drive, RunKind.Charge, false)]
    public void A_run_opened_by_hand_has_the_say(RunKind byHand, RunKind kind, bool givesWay)
    {
        Assert.Equal(givesWay, RunRecognition.GivesWay(kind, new RunRecord(1, byHand, "a", 0, null, "Ada", "", "")));
        Assert.False(RunRecognition.GivesWay(kind, new RunRecord(1, byHand, "a", 0, 10, "Ada", "Ada", "")));
        Assert.False(RunRecognition.GivesWay(kind, new RunRecord(1, byHand, "a", 0, null, RunRecognition.By, "", "")));
    }

    [Fact]
    public void A_setting_that_makes_no_sense_is_refused_by_its_name()
    {
        var refusal = Assert.Throws<ArgumentOutOfRangeException>(() => new RunRecogniser(new RunRecognition { DriveEndsAfterS = -1 }));
        Assert.Contains("DriveEndsAfterS is -1", refusal.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void A_step_allocates_nothing()
    {
        var play = new Play();
        play.For(2000, 60);
        var before = GC.GetAllocatedBytesForCurrentThread();
        play.Steps(2000, 60);
        Assert.Equal(before, GC.GetAllocatedBytesForCurrentThread());
    }

    private static SnapshotTime At(double s) => new((long)(s * 1e6), (long)(s * 1000) + Play.Epoch);

    /// <summary>A pack of one module whose current is said for so many seconds at a time.</summary>
    private sealed class Play
    {
        public const long Epoch = 1_790_000_000_000;

        private readonly SnapshotBuffer _buffer = new(new ChannelMap(new PackLayout("petrel", [new PackModule(new ModuleId("B01"), new ModuleTopology(6, 2), 2, 1)])));
        private long _elapsedUs;
        private long _taken;

        public RunRecogniser Recogniser { get; } = new(new RunRecognition());

        public double PeriodS { get; init; } = 1;

        public long WallMs { get; set; } = Epoch;

        public List<RunBegan> Began { get; } = [];

        public List<RunEnded> Ended { get; } = [];

        public void Sleep(double s)
        {
            _elapsedUs += (long)(s * 1e6);
            WallMs += (long)(s * 1000);
        }

        public void For(double s, double currentA, bool bleeding = false)
        {
            for (var i = 0; i < s / PeriodS; i++) Step(currentA, bleeding);
        }

        public void Steps(int count, double currentA)
        {
            for (var i = 0; i < count; i++) Step(currentA, false);
        }

        private void Step(double currentA, bool bleeding)
        {
            _buffer.Begin(++_taken, new SnapshotTime(_elapsedUs, WallMs));
            var map = _buffer.View.Map;
            if (!double.IsNaN(currentA)) (_buffer.Values[map.PackCurrent], _buffer.Qualities[map.PackCurrent]) = (currentA, Quality.Good);
            (_buffer.Values[map.FirstBleed + 2], _buffer.Qualities[map.FirstBleed + 2]) = (bleeding ? 1 : 0, Quality.Good);
            Recogniser.Step(_buffer.View, out var ended, out var began);
            if (ended is { } e) Ended.Add(e);
            if (began is { } b) Began.Add(b);
            Sleep(PeriodS);
        }
    }
}
