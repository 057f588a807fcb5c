using CellWatch.Core.Bench;
using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Bench;

/// <summary>Readings by hand, one a step.</summary>
public sealed class HandEntryTests
{
    [Fact]
    public void An_unexpected_reading_is_asked_for_twice_and_marked()
    {
        var entry = HandEntry.ForInspection(6, 3.75).Enter(3.30, out var answer);
        Assert.Contains("but 3.75 was expected. Measure again", answer, StringComparison.Ordinal);
        Assert.Empty(entry.Taken);
        entry = entry.Enter(3.30, out _);
        Assert.True(Assert.Single(entry.Taken).Confirmed);
    }

    [Theory]
    [InlineData(86, "temperature, degC: 86 cannot be (-40 to 60)")]
    public void A_temperature_in_degF_is_refused_at_its_own_step(double value, string sentence)
    {
        var entry = Filled(8);
        Assert.Contains(sentence, Assert.Throws<RefusedException>(() => entry.Enter(value, out _)).Message, StringComparison.Ordinal);
        Assert.Equal(8, entry.Taken.Length);
    }

    [Fact]
    public void The_last_reading_can_be_taken_back_and_nothing_else_is_lost()
    {
        var entry = Filled(3).Undo();
        Assert.Equal(2, entry.Taken.Length);
        Assert.Equal("group 3, V", entry.Now!.Name);
    }

    [Fact]
    public void Ten_readings_are_a_whole_inspection_and_nine_are_none()
    {
        var inspection = Filled(10).Inspection(6, false, false, "clean", "meter 2");
        Assert.Equal(22.5, inspection.TerminalV, 3);
        Assert.Equal((0.2, 21.0, 55.0), (inspection.SwellingMm, inspection.TemperatureDegC, inspection.CaseMegohm));
        Assert.Equal(Verdict.Accept, Inspection.Judge(inspection, 6).Verdict);
        Assert.Throws<RefusedException>(() => Filled(9).Inspection(6, false, false, "", ""));
    }

    private static HandEntry Filled(int readings)
    {
        double[] values = [3.75, 3.75, 3.75, 3.75, 3.75, 3.75, 22.5, 0.2, 21, 55];
        var entry = HandEntry.ForInspection(6, 3.75);
        foreach (var v in values.Take(readings)) entry = entry.Enter(v, out _);
        return entry;
    }
}
