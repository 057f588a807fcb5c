using CellWatch.FrontEnds.Tests.Running;

namespace CellWatch.FrontEnds.Tests.TextLines;

/// <summary>Recorded lines: one good scan, and bad ones in folders named after the reason that must be counted.</summary>
public class RecordedLinesTests
{
    private static string Folder { get; } = Path.Combine(AppContext.BaseDirectory, "Wire", "text-lines");

    public static TheoryData<string, string> Bad()
    {
        var data = new TheoryData<string, string>();
        foreach (var reason in Directory.GetDirectories(Path.Combine(Folder, "bad")).Order(StringComparer.Ordinal))
            foreach (var file in Directory.GetFiles(reason).Order(StringComparer.Ordinal)) data.Add(Path.GetFileName(reason), Path.GetFileName(file));
        return data;
    }

    [Theory]
    [MemberData(nameof(Bad))]
    public async Task A_bad_line_is_counted_under_the_reason_it_is_filed_under(string reason, string file)
    {
        await using var bench = new Bench();
        await bench.StartAsync();
        bench.Send(File.ReadAllBytes(Path.Combine(Folder, "bad", reason, file)));
        await Bench.UntilAsync(() => bench.Health.Garbage.Length > 0);
        Assert.Equal(reason.Replace('-', ' '), bench.Health.Garbage[^1].Reason);
        Assert.Equal(0, bench.Health.Frames);
        Assert.All(bench.Scan().Quality.ToArray(), q => Assert.Equal(Core.Snapshots.Quality.Missing, q));

        // It never stops the reader.
        bench.Send(File.ReadAllBytes(Path.Combine(Folder, "good", "one-scan.bin")));
        await Bench.UntilAsync(() => bench.Health.Frames == 3);
        Assert.Equal(3.912, bench.Value(0));
    }
}
