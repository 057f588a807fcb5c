using System.CommandLine;
using System.Globalization;
using CellWatch.Core.Wording;
using CellWatch.Host.Pipeline;
using CellWatch.Host.Site;
using CellWatch.Simulation.Stories;

namespace CellWatch.Host.CommandLine;

/// <summary><c>demo</c>: the simulated pack of the Petrel through the real decoders; no hardware, broker or database to install.</summary>
public static class DemoCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var story = StoryOption();
        var speed = new Option<double?>("--speed") { Description = "How many times as fast as real time the clock runs, 1 to 60; left out, the story's own pace" };
        speed.Validators.Add(result =>
        {
            if (result.GetValueOrDefault<double?>() is { } factor && factor is not (>= 1 and <= 60)) result.AddError("--speed is 1 to 60.");
        });
        var port = new Option<int>("--port") { Description = "Port of the pages", DefaultValueFactory = _ => 8080 };
        var mqttPort = new Option<int>("--mqtt-port") { Description = "Port of the embedded broker; 0 takes a free one, -1 none", DefaultValueFactory = _ => 0 };
        var folder = new Option<DirectoryInfo?>("--data") { Description = "Folder to keep the simulated log in; left out, a temporary one that is removed at the end" };
        var language = new Option<string>("--language") { Description = $"Language of the pages: {SiteLanguage.Choices}", DefaultValueFactory = _ => Texts.English };
        var command = new Command("demo", "Shows a simulated pack: a harbour launch with 18 salvaged modules (all data SIMULATED)") { story, speed, port, mqttPort, folder, language };
        command.SetAction((result, cancellation) => RunAsync(
            result.GetValue(language)!, result.GetValue(story)!, result.GetValue(speed), result.GetValue(port), result.GetValue(mqttPort), result.GetValue(folder), result.InvocationConfiguration, cancellation));
        return command;
    }

    /// <summary>The option that names a story.</summary>
    internal static Option<string> StoryOption()
    {
        var story = new Option<string>("--story") { Description = $"What happens: {string.Join(", ", AllStories.Names)}", DefaultValueFactory = _ => AllStories.Names[0] };
        story.AcceptOnlyFromAmong([.. AllStories.Names]);
        return story;
    }

    private static async Task<int> RunAsync(
        string language, string story, double? speed, int port, int mqttPort, DirectoryInfo? kept, InvocationConfiguration console, CancellationToken cancellation)
    {
        try
        {
            Texts.Speak(SiteLanguage.Read(language, Environment.CurrentDirectory));
        }
        catch (ArgumentException fault)
        {
            console.Error.WriteLine($"--language: {fault.Message}.");
            return ExitCode.BadInput;
        }

        var folder = kept?.FullName ?? Path.Combine(Path.GetTempPath(), string.Create(CultureInfo.InvariantCulture, $"cellwatch-demo-{Environment.ProcessId}"));
        Directory.CreateDirectory(folder);
        try
        {
            return await ServiceRun.RunAsync(DemoPlan.Of(AllStories.Named(story), speed, folder, port, mqttPort < 0 ? null : mqttPort, language: language), console, cancellation);
        }
        finally
        {
            if (kept is null) TryRemove(folder);
        }
    }

    private static void TryRemove(string folder)
    {
        try
        {
            Directory.Delete(folder, recursive: true);
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            // A temporary folder that stays behind harms nobody; the system clears it.
        }
    }
}
