using System.CommandLine;
using System.Globalization;
using CellWatch.Core.Assess;

namespace CellWatch.Host.CommandLine;

/// <summary><c>assess KIND FILE [--json]</c>: reads a measured file and says what it shows, or why it cannot be used.</summary>
public static class AssessCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var kind = new Argument<AssessKind>("KIND") { Description = "capacity, pulse, rest, charge or string" };
        var file = new Argument<FileInfo>("FILE") { Description = "CSV with units in the headers, or Battery Data Format labels" };
        var json = new Option<bool>("--json") { Description = "One JSON object instead of a text" };
        var between = new Option<string?>("--between") { Description = "Currents between which a taper is fitted, A: 1.5,12" };
        var command = new Command("assess", "Reads a measured file: capacity, pulse resistance, rest, charge taper or a string of cells") { kind, file, json, between };
        command.SetAction(result => Run(
            result.GetValue(kind), result.GetValue(file)!, result.GetValue(json), result.GetValue(between), result.InvocationConfiguration));
        return command;
    }

    private static int Run(AssessKind kind, FileInfo file, bool json, string? between, InvocationConfiguration console)
    {
        if (!TryReadBetween(between, out var window))
        {
            console.Error.WriteLine($"--between takes two currents in A parted by a comma, the smaller first, for example 1.5,12; it was '{between}'.");
            return ExitCode.Usage;
        }

        try
        {
            using var reader = file.OpenText();
            var options = window is null ? null : new AssessOptions { BetweenA = window };
            var report = Assessment.Run(kind, file.Name, reader, options);
            console.Output.WriteLine(json ? report.ToJson() : AssessText.Render(report));
            return ExitCode.Ok;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            console.Error.WriteLine($"{file.FullName} cannot be read: {fault.Message}");
            return ExitCode.Failed;
        }
    }

    private static bool TryReadBetween(string? text, out (double FromA, double ToA)? window)
    {
        window = null;
        if (text is null) return true;
        var parts = text.Split(',');
        if (parts.Length != 2 || !double.TryParse(parts[0], NumberStyles.Float, CultureInfo.InvariantCulture, out var low)
            || !double.TryParse(parts[1], NumberStyles.Float, CultureInfo.InvariantCulture, out var high) || !(low > 0 && low < high)) return false;
        window = (low, high);
        return true;
    }
}
