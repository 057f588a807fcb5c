using CellWatch.Core.Bench;
using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Snapshots;
using CellWatch.Simulation.Stories;

namespace CellWatch.Simulation.Tests.Nights;

/// <summary>A night is read from what was recorded of it and held against what the model did (the story's stated truth).</summary>
public sealed class NightReaderTests
{
    private const long FiveMinutesMs = 300_000;
    private static readonly NightSetup Setup = new(OcvCurves.Named("nmc532-graphite-mohtat2020"), PetrelPack.NominalAh) { BleedOhm = 33.04, Rules = new NightRules { BleedA = 4.1 / 33.04 } };

    [Fact]
    public void The_morning_after_tells_what_was_bled_and_the_switch_that_stayed_on()
    {
        var (map, reading) = Night(untilH: 8.4);
        var night = reading!.Record!;
        string[] offsets = ["B01.3", "B02.4", "B03.4", "B05.4", "B04.6", "B09.1", "B10.5", "B11.2", "B14.1", "B18.5", "B08.2"];
        for (var i = 0; i < offsets.Length; i++)
        {
            var c = CellOf(map, offsets[i]);
            var toRemoveAh = i < 10 ? 1.10 + 0.035 * i : 1.63;
            // Volts at rest tell the charge within the doubt of two readings.
            Assert.InRange(night.BeforeAh[c], toRemoveAh - 0.15, toRemoveAh + 0.15);
            Assert.True(night.IntegratedAh[c] > 0.8, $"{offsets[i]} counted {night.IntegratedAh[c]:0.00} Ah");
            Assert.InRange(night.BeforeAh[c] - night.AfterAh[c], night.IntegratedAh[c] - 0.12, night.IntegratedAh[c] + 0.12);
        }

        // Commanded off all night, so nothing was due and nothing counted; yet it fell like one that was bled.
        var stuck = CellOf(map, "B16.4");
        Assert.Equal(0, night.PlannedAh[stuck]);
        Assert.Equal(0, night.IntegratedAh[stuck]);
        Assert.True(night.BeforeAh[stuck] - night.AfterAh[stuck] > 0.8);

        var review = NightReview.Of([.. Enumerable.Range(0, map.CellCount).Select(map.NameOf)], [night], null, Setup.Rules);
        Assert.Empty(review.Withheld);
        Assert.Equal(NightCause.BleedStuckOn, review.Cells.Single(c => c.Cell == "B16.4").Cause);
        Assert.Equal(NightCause.ChargeOffset, review.Cells.Single(c => c.Cell == "B08.2").Cause);
        Assert.True(review.Cells.Single(c => c.Cell == "B08.2").NightsLeft >= 1);
        // One night cannot show a leak of 5 mA: it is not called one.
        Assert.DoesNotContain(review.Cells, c => c.Cause == NightCause.Leak);
    }

    /// <summary>The first-charge story: a night with three bled cells, then a trial run. B07.3 has 100.5 Ah, B11.2 101.5, B09.4 113.5, the others 110.</summary>
    [Fact]
    public void A_rest_after_the_trial_run_tells_low_capacity_from_charge_that_bleeding_would_take()
    {
        var story = FirstChargeStory.Create();
        var pack = new SimulatedPack(story);
        var opening = new SnapshotTime(1_000_000L * 864_000, new DateTimeOffset(2026, 3, 9, 0, 0, 0, TimeSpan.Zero).AddHours(story.OpensAtClockH).ToUnixTimeMilliseconds());
        var collector = new ColumnCollector(pack.Map, NightReader.Channels(pack.Map), FiveMinutesMs);
        pack.PlayPast(opening, 10, collector.Take);

        var reading = NightReader.Last(pack.Map, collector.ToTraces(), Setup)!;

        var review = NightReview.Of([.. Enumerable.Range(0, pack.Map.CellCount).Select(pack.Map.NameOf)], [reading.Record!], reading.Low, Setup.Rules);
        Assert.Equal(["B07.3", "B11.2"], review.Cells.Where(c => c.Cause == NightCause.LowCapacity).Select(c => c.Cell).Order());
        Assert.Matches("about (99|100|101|102)[.]", review.Cells.Single(c => c.Cell == "B07.3").Evidence);
        // What was bled came in, and is listed for it.
        foreach (var (cell, ah) in new[] { ("B06.2", 0.62), ("B14.4", 0.55), ("B17.3", 0.48) })
        {
            var row = review.Cells.Single(c => c.Cell == cell);
            Assert.InRange(row.IntegratedAh, ah - 0.05, ah + 0.05);
            Assert.InRange(row.SeenAh, ah - 0.12, ah + 0.12);
        }
    }

    [Fact]
    public void While_it_bleeds_and_for_half_an_hour_after_no_figure_stands()
    {
        Assert.StartsWith("The night is not over", Night(untilH: 2).Reading!.Waiting, StringComparison.Ordinal);
        var soon = Night(untilH: 5.8).Reading!;
        Assert.Null(soon.Record);
        Assert.Contains("figures stand after 30 min at rest", soon.Waiting, StringComparison.Ordinal);
    }

    [Fact]
    public void A_hole_in_the_night_is_listed_and_leaves_the_count_of_those_who_bled_unknown()
    {
        var (map, reading) = Night(untilH: 8.4, hole: (24.5, 26.0));
        var hole = Assert.Single(reading!.Holes);
        Assert.InRange(hole.LengthMs / 60_000.0, 80, 95);
        Assert.True(double.IsNaN(reading.Record!.IntegratedAh[CellOf(map, "B08.2")]));
        Assert.Equal(0, reading.Record.IntegratedAh[CellOf(map, "B12.1")]);
        Assert.NotEmpty(reading.Record.Gaps);
    }

    [Fact]
    public void Where_nothing_was_bled_there_is_no_night() => Assert.Null(Night(untilH: 21.6, from: 9).Reading);

    private static int CellOf(ChannelMap map, string name) => Enumerable.Range(0, map.CellCount).First(c => map.NameOf(c) == name);

    /// <summary>Plays the night story from its evening, 21:40, up to a time of day, and reads what a log would hold. Hours past 24 are the next morning.</summary>
    private static (ChannelMap Map, NightReading? Reading) Night(double untilH, double from = 14, (double FromH, double ToH)? hole = null)
    {
        var story = NightStory.Evening();
        var pack = new SimulatedPack(story);
        var opening = new SnapshotTime(1_000_000L * 864_000, new DateTimeOffset(2026, 3, 9, 0, 0, 0, TimeSpan.Zero).AddHours(story.OpensAtClockH).ToUnixTimeMilliseconds());
        var midnight = opening.WallUnixMs - (long)(story.OpensAtClockH * 3_600_000);
        var collector = new ColumnCollector(pack.Map, NightReader.Channels(pack.Map), FiveMinutesMs);
        void Take(SnapshotBuffer buffer)
        {
            var h = (buffer.View.Time.WallUnixMs - midnight) / 3_600_000.0;
            if (h >= from && h <= (untilH < 12 ? untilH + 24 : untilH) && !(hole is { } gap && h >= gap.FromH && h < gap.ToH)) collector.Take(buffer);
        }

        pack.PlayPast(opening, 10, Take);
        if (untilH < 12) pack.PlayUntil((_, _) => false, (untilH + 24 - story.OpensAtClockH) * 3600, opening, 10, Take, _ => true);
        return (pack.Map, NightReader.Last(pack.Map, collector.ToTraces(), Setup));
    }
}
