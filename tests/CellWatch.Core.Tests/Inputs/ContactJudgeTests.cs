using CellWatch.Core.Inputs;
using CsCheck;

namespace CellWatch.Core.Tests.Inputs;

public sealed class ContactJudgeTests
{
    private const long StepUs = 20_000;

    private readonly ContactJudge _judge = new(new ContactTimes());
    private long _nowUs;

    [Fact]
    public void Open_closed_open_is_one_press_and_it_counts_when_the_switch_is_let_go()
    {
        Assert.Empty(Hold(false, 1));
        Assert.Empty(Hold(true, 0.3));
        Assert.Equal([ContactNews.Pressed], Hold(false, 1));
        Assert.Empty(Hold(false, 60));
    }

    [Fact]
    public void Two_presses_a_second_apart_are_two()
    {
        Hold(false, 1);
        Hold(true, 0.2);
        Assert.Equal([ContactNews.Pressed], Hold(false, 0.8));
        Hold(true, 0.2);
        Assert.Equal([ContactNews.Pressed], Hold(false, 0.8));
    }

    [Fact]
    public void A_contact_that_is_closed_from_the_start_is_no_press_when_it_opens_and_is_said_while_it_stays()
    {
        Assert.Empty(Hold(true, 2));
        Assert.Empty(Hold(false, 2));

        _nowUs += 10_000_000;
        Assert.Equal([ContactNews.Stuck], Hold(true, 30));
        Assert.Equal([ContactNews.Well], Hold(false, 2));
    }

    [Fact]
    public void A_stuck_switch_is_said_once_never_repeats_and_its_release_is_no_press()
    {
        Hold(false, 1);
        Assert.Equal([ContactNews.Stuck], Hold(true, 3600));
        Assert.True(_judge.IsStuck);
        Assert.Equal([ContactNews.Well], Hold(false, 10));
        Assert.False(_judge.IsStuck);
        Hold(true, 0.2);
        Assert.Equal([ContactNews.Pressed], Hold(false, 1));
    }

    [Fact]
    public void A_broken_wire_is_an_open_contact_and_never_a_press()
    {
        Assert.Empty(Hold(false, 3600));

        // It breaks while somebody stands on the switch for too long: stuck before, and no press of the break.
        Hold(true, 8);
        Assert.DoesNotContain(ContactNews.Pressed, Hold(false, 3600));
    }

    [Fact]
    public void Bounce_at_both_ends_is_one_press()
    {
        Hold(false, 1);
        Bounce(true);
        Hold(true, 0.3);
        Bounce(false);
        Assert.Equal([ContactNews.Pressed], Hold(false, 1));
    }

    [Fact]
    public void A_pulse_shorter_than_a_hand_makes_is_nothing()
    {
        Hold(false, 1);
        Hold(true, 0.02);
        Assert.Empty(Hold(false, 5));
    }

    [Fact]
    public void A_loose_wire_flutters_and_counts_for_nothing_until_it_is_quiet()
    {
        Hold(false, 1);
        var news = new List<ContactNews>();
        for (var i = 0; i < 400; i++) news.AddRange(Hold(i % 2 == 0, 0.1));
        Assert.Equal([ContactNews.Fluttering], news);
        Assert.Empty(Hold(false, 4));
        Assert.Equal([ContactNews.Well], Hold(false, 3));
        Hold(true, 0.2);
        Assert.Equal([ContactNews.Pressed], Hold(false, 1));
    }

    [Fact]
    public void What_happened_while_nobody_looked_counts_for_nothing()
    {
        Hold(false, 1);
        Hold(true, 0.2);
        _nowUs += 10_000_000;
        Assert.Empty(Hold(false, 2));
    }

    [Fact]
    public void Whatever_the_contact_does_a_press_has_quiet_before_and_after_and_a_closing_between() =>
        Gen.Select(Gen.Bool, Gen.Int[1, 40]).Array[1, 30].Sample(runs =>
        {
            var looks = runs.SelectMany(r => Enumerable.Repeat(r.Item1, r.Item2)).ToArray();
            var judge = new ContactJudge(new ContactTimes());
            for (var i = 0; i < looks.Length; i++)
            {
                if (judge.Look(looks[i], i * StepUs) != ContactNews.Pressed) continue;
                var tail = looks[..(i + 1)].Reverse().ToList();
                var quiet = tail.TakeWhile(closed => !closed).Count();
                Assert.True(quiet * StepUs >= 250_000);
                Assert.Contains(true, tail.Skip(quiet));
            }
        });

    private List<ContactNews> Hold(bool closed, double seconds)
    {
        var news = new List<ContactNews>();
        for (var end = _nowUs + (long)(seconds * 1e6); _nowUs < end; _nowUs += StepUs)
            if (_judge.Look(closed, _nowUs) is not ContactNews.None and var n) news.Add(n);
        return news;
    }

    private void Bounce(bool closed)
    {
        foreach (var look in new[] { closed, !closed, closed })
        {
            _judge.Look(look, _nowUs);
            _nowUs += StepUs;
        }
    }
}
