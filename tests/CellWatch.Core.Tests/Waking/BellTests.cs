using CellWatch.Core.Waking;

namespace CellWatch.Core.Tests.Waking;

public class BellTests
{
    [Fact]
    public async Task Rung_by_many_at_once_it_is_rung_once_and_throws_nothing()
    {
        using var bell = new Bell();
        Parallel.For(0, 10_000, _ => bell.Ring());
        await bell.WaitAsync(CancellationToken.None);
        Assert.False(bell.WaitAsync(CancellationToken.None).IsCompleted);
    }

    [Fact]
    public void The_first_wait_ends_at_once_where_that_is_asked_for()
    {
        using var bell = new Bell(isRung: true);
        Assert.True(bell.WaitAsync(CancellationToken.None).IsCompleted);
    }

    [Fact]
    public void Rung_after_nobody_listens_it_throws_nothing()
    {
        var bell = new Bell();
        bell.Dispose();
        Assert.Null(Record.Exception(bell.Ring));
    }
}
