using CellWatch.Dashboard.Strips;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.Logging.Abstractions;
using Xunit;

namespace CellWatch.Dashboard.Tests.Strips;

public sealed class TraceWarmUpTests
{
    private readonly ScriptedLiveView _live = new();

    [Fact]
    public async Task Once_after_the_first_scan_the_last_ten_minutes_are_read_as_a_view_is_read()
    {
        var history = new MadeHistory(Petrel.At("normal").Snapshot.Map, [Petrel.NoonMs - 2_000, Petrel.NoonMs - 1_000], (_, _) => 3.9);
        using var warmUp = new TraceWarmUp(_live, history, NullLogger<TraceWarmUp>.Instance);
        await warmUp.StartAsync(default);
        Assert.Empty(history.Asked);

        _live.Show(Petrel.At("normal"));
        await warmUp.ExecuteTask!.WaitAsync(TimeSpan.FromSeconds(30));

        Assert.Equal(2, history.Asked.Count);
        Assert.All(history.Asked, q => Assert.Equal(600_000, q.Range.LengthMs));
        Assert.Contains(history.Asked, q => q.Channels.Length == 108);
    }

    [Fact]
    public async Task An_empty_log_and_one_that_cannot_be_read_end_nothing()
    {
        var state = Petrel.At("normal");
        var map = state.Snapshot.Map;
        using var warmUp = new TraceWarmUp(_live, null, NullLogger<TraceWarmUp>.Instance);
        await warmUp.ReadOnceAsync(new MadeHistory(map, [], (_, _) => 3.9), state, default);
        await warmUp.ReadOnceAsync(new MadeHistory(map, [Petrel.NoonMs - 1_000], (_, _) => throw new IOException("the disk is gone")), state, default);
    }
}
