using System.Diagnostics;
using System.Text.RegularExpressions;
using CellWatch.Core.FrontEnds;
using CellWatch.FrontEnds.Tests.Running;
using CellWatch.FrontEnds.TextLines;

namespace CellWatch.FrontEnds.Tests.TextLines;

/// <summary>What the hardware notes and the samples say is what the program does.</summary>
public partial class HardwareNotesTests
{
    /// <summary>Folder of the checkout: the one that holds the solution.</summary>
    private static string Root { get; } = FindRoot();

    private static string FindRoot()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "CellWatch.sln"))) folder = folder.Parent;
        return folder?.FullName ?? throw new InvalidOperationException("The tests run outside a checkout.");
    }

    [GeneratedRegex("^@.*#[0-9A-F]{4}$", RegexOptions.Multiline | RegexOptions.ExplicitCapture, 1000)]
    private static partial Regex SentencesInText();

    [Fact]
    public async Task The_worked_examples_are_whole_and_mean_what_the_page_says()
    {
        var text = await File.ReadAllTextAsync(Path.Combine(Root, "hardware-notes", "text-line-wire.md"));
        var sentences = SentencesInText().Matches(text).Select(m => m.Value).ToArray();
        Assert.Equal(7, sentences.Length);

        await using var bench = new Bench();
        await bench.StartAsync();
        foreach (var sentence in sentences) bench.Send(sentence + "\r\n");
        await Bench.UntilAsync(() => bench.Health.Frames == 7);
        Assert.Empty(bench.Health.Garbage);
        var scan = bench.Scan();
        Assert.Equal([3.912, 3.9131, 3.9118], scan.RawValues.Slice(12, 3).ToArray());
        Assert.Equal([Core.Snapshots.Quality.Missing, Core.Snapshots.Quality.Good, Core.Snapshots.Quality.Open], scan.Quality[15..18].ToArray());
        Assert.Equal((-12.5, 398.21), (scan.RawValues[bench.Map.PackCurrent], scan.RawValues[bench.Map.StringVoltage]));
        Assert.Equal(Isolation.Yes, bench.Health.Isolated);
        Assert.Equal(60, bench.Health.BleedTimeoutS);
    }

    /// <summary>
    /// The reference sketch, compiled by the host's own C++ compiler with the serial port replaced by standard output, two scans of readings put in.
    /// </summary>
    [CompilerFact]
    public async Task The_reference_sketch_prints_sentences_that_are_read_without_a_fault()
    {
        var folder = Directory.CreateTempSubdirectory("cellwatch-sketch").FullName;
        try
        {
            var sketch = await File.ReadAllTextAsync(Path.Combine(Root, "samples", "text-line-board", "text-line-board.ino"));
            sketch = sketch.Replace("MODULES = 6", "MODULES = 3", StringComparison.Ordinal)
                .Replace("MEASURES_STRING = false", "MEASURES_STRING = true", StringComparison.Ordinal)
                .Replace("{ (void)module; (void)cell; return NO_DATA; }", "{ return module == 2 && cell == 5 ? OPEN_LEAD : 39000 + 10 * module + cell; }", StringComparison.Ordinal)
                .Replace("{ (void)module; (void)sensor; return NO_DATA; }", "{ return sensor == 2 ? -5 : 200 + module; }", StringComparison.Ordinal)
                .Replace("stringCentiamperes() { return NO_DATA; }", "stringCentiamperes() { return -1250; }", StringComparison.Ordinal);
            await File.WriteAllTextAsync(Path.Combine(folder, "board.cpp"), $$"""
                #include <cstdint>
                #include <cstdio>
                struct Port { void begin(long) {} void write(const uint8_t *bytes, size_t count) { fwrite(bytes, 1, count, stdout); } } Serial;
                static uint32_t now;
                static uint32_t millis() { return now; }
                {{sketch}}
                int main() { setup(); for (now = 0; now < 1200; now += 50) loop(); return 0; }
                """);
            var program = Path.Combine(folder, "board");
            Run("/usr/bin/g++", $"-Wall -Wextra -Werror -o {program} {Path.Combine(folder, "board.cpp")}");
            var printed = Run(program, "");

            await using var bench = new Bench();
            await bench.StartAsync();
            bench.Send(printed);
            // A status first, then at 500 ms: status, three modules with everything, the string; at 1000 ms: voltages and the string.
            await Bench.UntilAsync(() => bench.Health.Frames == 1 + 1 + 9 + 1 + 3 + 1);
            Assert.Empty(bench.Health.Garbage);
            Assert.Equal(0, bench.Health.LostFrames);
            var scan = bench.Scan();
            Assert.Equal(3.9023, scan.RawValues[8], 1e-9);
            Assert.Equal(Core.Snapshots.Quality.Open, scan.Quality[10]);
            Assert.Equal([20.1, -0.5], scan.RawValues.Slice(bench.Map.FirstTemperature, 2).ToArray());
            Assert.Equal(-12.5, scan.RawValues[bench.Map.PackCurrent]);
            Assert.Equal(Core.Snapshots.Quality.Missing, scan.Quality[bench.Map.StringVoltage]);
            Assert.Equal(Core.Snapshots.Origin.Measured, scan.Origin[0]);
        }
        finally
        {
            Directory.Delete(folder, recursive: true);
        }
    }

    private static string Run(string program, string arguments)
    {
        using var process = Process.Start(new ProcessStartInfo(program, arguments) { RedirectStandardOutput = true, RedirectStandardError = true, UseShellExecute = false })!;
        var errors = process.StandardError.ReadToEndAsync();
        var output = process.StandardOutput.ReadToEnd();
        process.WaitForExit();
        Assert.True(process.ExitCode == 0, errors.Result);
        return output;
    }

    /// <summary>A fact that skips where the host has no C++ compiler.</summary>
    [AttributeUsage(AttributeTargets.Method)]
    private sealed class CompilerFactAttribute : FactAttribute
    {
        public CompilerFactAttribute()
        {
            if (!File.Exists("/usr/bin/g++")) Skip = "no C++ compiler (apt install g++)";
        }
    }
}
