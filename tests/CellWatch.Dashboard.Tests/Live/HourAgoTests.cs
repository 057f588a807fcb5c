using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Tests.Strips;
using CellWatch.Testing.Pages;
using Microsoft.Extensions.Logging.Abstractions;
using Xunit;

namespace CellWatch.Dashboard.Tests.Live;

public sealed class HourAgoTests : IDisposable
{
    private const int B07Third = 6 * 6 + 2;

    private readonly HourAgo _ago = new(new ScriptedLiveView(), null, NullLogger<HourAgo>.Instance);

    public void Dispose() => _ago.Dispose();

    [Fact]
    public async Task A_cell_is_set_against_the_median_now_and_an_hour_earlier()
    {
        var state = Petrel.At("normal");
        var map = state.Snapshot.Map;
        var now = state.Snapshot.Time.WallUnixMs;
        // The pack falls by 0.1 V, this cell by 5 mV more; half an hour ago it lay elsewhere, which must not count.
        double Cell(int i) => new[] { 3.88, 3.5, 3.775 }[i];
        double Others(int i) => new[] { 3.9, 3.9, 3.8 }[i];
        var history = new MadeHistory(map, [now - 3_600_000, now - 1_800_000, now], (name, i) => name == map.NameOf(map.PackCurrent) ? 3.5 + i : name == map.NameOf(B07Third) ? Cell(i) : Others(i));
        await _ago.ReadAsync(history, state, default);
        Assert.Equal(-0.005, _ago.MovedV(B07Third), 9);
        Assert.Equal(0, _ago.MovedV(0), 9);
        Assert.Equal(3.5, _ago.PackCurrentA);
    }

    [Fact]
    public async Task Without_either_minute_nothing_is_known_even_where_it_was_known_before()
    {
        var state = Petrel.At("normal");
        var now = state.Snapshot.Time.WallUnixMs;
        Assert.True(double.IsNaN(_ago.MovedV(0)));
        await _ago.ReadAsync(new MadeHistory(state.Snapshot.Map, [now - 3_600_000, now], (_, _) => 3.9), state, default);
        Assert.Equal(0, _ago.MovedV(0));
        foreach (var only in new[] { now, now - 3_600_000 })
        {
            await _ago.ReadAsync(new MadeHistory(state.Snapshot.Map, [only], (_, _) => 3.9), state, default);
            Assert.True(double.IsNaN(_ago.MovedV(0)));
        }

        Assert.True(double.IsNaN(_ago.MovedV(10_000)));
    }
}
