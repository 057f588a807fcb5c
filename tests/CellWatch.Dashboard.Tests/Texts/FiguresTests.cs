using CellWatch.Dashboard.Texts;
using Xunit;

namespace CellWatch.Dashboard.Tests.Texts;

public sealed class FiguresTests
{
    [Theory]
    [InlineData(-0.018, "−18\u202fmV")]
    [InlineData(0.0074, "+7\u202fmV")]
    [InlineData(-0.0003, "0\u202fmV")]
    public void Deviations_are_whole_millivolts_with_the_true_minus_and_no_signed_zero(double v, string text) => Assert.Equal(text, Figures.Deviation(v));

    [Theory]
    [InlineData(31.44, "31.4\u202fA")]
    [InlineData(99.96, "100\u202fA")]
    [InlineData(-420.4, "420\u202fA")]
    public void Current_has_one_decimal_below_a_hundred_and_none_above(double a, string text) => Assert.Equal(text, Figures.Current(a));

    [Theory]
    [InlineData(0.4, "0.4\u202fs")]
    [InlineData(42, "42\u202fs")]
    [InlineData(370, "6\u202fmin")]
    [InlineData(7_140, "119\u202fmin")]
    [InlineData(7_800, "2\u202fh 10\u202fmin")]
    [InlineData(200_000, "2\u202fdays")]
    public void Times_are_in_minutes_below_two_hours(double s, string text) => Assert.Equal(text, Figures.Duration(s));

    [Theory]
    [InlineData(61.4, "61 days left")]
    [InlineData(1.9, "1 day left")]
    [InlineData(0.02, "29\u202fmin left")]
    [InlineData(double.PositiveInfinity, "room for years")]
    [InlineData(double.NaN, "room not known")]
    public void Room_for_the_record_is_said_in_days(double days, string text) => Assert.Equal(text, Figures.DaysLeft(days));

    [Fact]
    public void An_unknown_time_is_said_in_words() => Assert.Equal("not known", Figures.Duration(double.NaN));

    [Theory]
    [InlineData(1_450, "24:10")]
    [InlineData(9.2, "0:10")]
    [InlineData(-3, "0:00")]
    public void A_countdown_never_says_less_than_is_left(double s, string text) => Assert.Equal(text, Figures.Countdown(s));

    [Fact]
    public void Local_time_follows_the_zone_and_its_name_says_which()
    {
        // 2026-03-29 01:30 UTC is half an hour after clocks in Berlin went from 02:00 to 03:00 (EU rule: last Sunday of March, 01:00 UTC).
        var berlin = TimeZoneInfo.FindSystemTimeZoneById("Europe/Berlin");
        var before = new DateTimeOffset(2026, 3, 29, 0, 30, 0, TimeSpan.Zero).ToUnixTimeMilliseconds();
        var after = new DateTimeOffset(2026, 3, 29, 1, 30, 0, TimeSpan.Zero).ToUnixTimeMilliseconds();
        Assert.Equal("01:30:00 UTC+1", $"{Figures.Clock(before, berlin)} {Figures.ZoneName(before, berlin)}");
        Assert.Equal("03:30:00 UTC+2", $"{Figures.Clock(after, berlin)} {Figures.ZoneName(after, berlin)}");
    }

    [Theory]
    [InlineData(1, "")]
    [InlineData(8, "clock runs 8 times as fast")]
    [InlineData(0.5, "clock runs 2.0 times slower")]
    public void The_clock_s_rate_is_said_only_when_it_differs(double factor, string text) => Assert.Equal(text, Words.ClockRate(factor));
}
