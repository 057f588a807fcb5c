using CellWatch.Core.Live;
using CellWatch.Core.Rules;
using CellWatch.Dashboard.Layout;
using CellWatch.Testing.Pages;
using Xunit;

namespace CellWatch.Dashboard.Tests.Layout;

/// <summary>The most urgent alarms sound until they are seen (story of the missing taper).</summary>
public sealed class AlarmSoundTests
{
    private static readonly PackState ActNow = Petrel.At("act-now");

    [Fact]
    public void An_urgent_alarm_sounds_until_it_is_seen_and_then_reminds()
    {
        var urgent = ActNow.Alarms.First(a => a is { Priority: AlarmPriority.High, IsActive: true });
        Assert.Equal(2, AlarmSound.LevelOf(With(urgent with { State = AlarmState.Unacknowledged })));
        Assert.Equal(1, AlarmSound.LevelOf(With(urgent with { State = AlarmState.Acknowledged })));
        Assert.Equal(2, AlarmSound.LevelOf(With(urgent with { State = AlarmState.Acknowledged }, urgent with { Id = "another", State = AlarmState.Unacknowledged })));
    }

    [Fact]
    public void Cautions_and_what_is_gone_are_silent()
    {
        var urgent = ActNow.Alarms.First(a => a is { Priority: AlarmPriority.High, IsActive: true });
        Assert.Equal(0, AlarmSound.LevelOf(With(urgent with { Priority = AlarmPriority.Medium, State = AlarmState.Unacknowledged })));
        Assert.Equal(0, AlarmSound.LevelOf(With(urgent with { IsActive = false, State = AlarmState.ReturnedUnacknowledged })));
        Assert.Equal(0, AlarmSound.LevelOf(null));
    }

    private static PackState With(params AlarmView[] alarms) => ActNow with { Alarms = [.. alarms] };
}
