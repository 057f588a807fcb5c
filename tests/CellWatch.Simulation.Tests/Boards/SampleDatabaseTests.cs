using CellWatch.Core.Pack;
using CellWatch.Simulation.Boards;
using Xunit;

namespace CellWatch.Simulation.Tests.Boards;

public class SampleDatabaseTests
{
    [Fact]
    public void The_sample_database_is_the_one_the_simulated_board_speaks()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder!.FullName, "CellWatch.sln"))) folder = folder.Parent;
        var modules = Enumerable.Range(1, 6).Select(n => new PackModule(new ModuleId($"B{n:00}"), new ModuleTopology(6, 2), 2, n)).ToArray();
        Assert.Equal(BoardDatabase.Text(modules), File.ReadAllText(Path.Combine(folder.FullName, "samples", "can-board", "petrel-board.dbc")));
    }
}
