using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.SignalDatabase;

namespace CellWatch.FrontEnds.Tests.SignalDatabase;

/// <summary>The database in samples/can-board and the options beside it fit each other.</summary>
public class SampleDatabaseTests
{
    private static readonly System.Text.Json.JsonSerializerOptions StrictWeb =
        new(System.Text.Json.JsonSerializerDefaults.Web) { UnmappedMemberHandling = System.Text.Json.Serialization.JsonUnmappedMemberHandling.Disallow };

    [Fact]
    public void The_sample_is_read_without_a_warning_and_feeds_every_channel_of_six_modules()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (!File.Exists(Path.Combine(folder!.FullName, "CellWatch.sln"))) folder = folder.Parent;
        var path = Path.Combine(folder.FullName, "samples", "can-board");
        var database = CanDatabase.Load(Path.Combine(path, "petrel-board.dbc"));
        Assert.Empty(database.Warnings);
        Assert.Equal(18, database.Messages.Length);

        var json = File.ReadAllText(Path.Combine(path, "README.md"));
        json = json[json.IndexOf("```json", StringComparison.Ordinal)..][7..];
        json = json[..json.IndexOf("```", StringComparison.Ordinal)];
        var options = System.Text.Json.JsonSerializer.Deserialize<FrontEndOptions>(json,
            StrictWeb)!;
        var layout = new PackLayout("petrel", Enumerable.Range(1, 18).Select(n => new PackModule(new ModuleId($"B{n:00}"), new ModuleTopology(6, 2), 2, n)));
        var map = new ChannelMap(layout);
        Assert.Empty(FrontEndFactory.Check(options, map, path));
        var frontEnd = FrontEndFactory.Create(options, map, new ReadingInbox(map, "x", Origin.Measured), CellWatch.FrontEnds.Running.FrontEndContext.On(TimeProvider.System), path);
        Assert.Equal(36 + 12 + 2 + 36, frontEnd.Health.Channels.Distinct().Count());
        Assert.Equal("B07-B12", frontEnd.Health.Modules);
    }
}
