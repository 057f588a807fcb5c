using System.Globalization;
using Serilog;
using Serilog.Core;
using Serilog.Events;
using Serilog.Formatting.Compact;

namespace CellWatch.Host.Logging;

/// <summary>
/// The service's own log: a quiet console for people and a rolling structured file. The level is switched while running by
/// <see cref="Level"/>, from outside by the command <c>/commands/log-level</c>.
/// </summary>
public static class ServiceLog
{
    /// <summary>Days a rolled file is kept.</summary>
    public const int KeptDays = 31;

    /// <summary>The level of both outputs, switchable while running.</summary>
    public static LoggingLevelSwitch Level { get; } = new(LogEventLevel.Information);

    /// <summary>Names of the levels, the most talkative first. Nothing silences errors.</summary>
    public static IReadOnlyList<string> Levels { get; } = ["verbose", "debug", "information", "warning", "error"];

    /// <summary>Switches the level of both outputs.</summary>
    /// <param name="name">One of <see cref="Levels"/>, in any case.</param>
    /// <returns>False for any other name; nothing changes then.</returns>
    public static bool TrySwitch(string name)
    {
        if (!Levels.Contains(name, StringComparer.OrdinalIgnoreCase)) return false;
        Level.MinimumLevel = Enum.Parse<LogEventLevel>(name, ignoreCase: true);
        return true;
    }

    /// <summary>Makes the logger.</summary>
    /// <param name="folder">Where the structured file goes; null for the console alone.</param>
    /// <param name="simulated">Every line of a simulated pack says so.</param>
    public static Serilog.Core.Logger Create(string? folder, bool simulated)
    {
        var configuration = new LoggerConfiguration()
            .MinimumLevel.ControlledBy(Level)
            // The framework tells of every request and every circuit; only its troubles are of use here.
            .MinimumLevel.Override("Microsoft", LogEventLevel.Warning)
            .MinimumLevel.Override("System", LogEventLevel.Warning)
            .MinimumLevel.Override("Microsoft.Hosting.Lifetime", LogEventLevel.Warning)
            .Enrich.FromLogContext()
            .Enrich.WithProperty("Simulated", simulated)
            .WriteTo.Console(
                outputTemplate: simulated ? "{Timestamp:HH:mm:ss} {Level:u4} SIMULATED {Message:lj}{NewLine}{Exception}" : "{Timestamp:HH:mm:ss} {Level:u4} {Message:lj}{NewLine}{Exception}",
                formatProvider: CultureInfo.InvariantCulture);
        if (folder is not null)
        {
            configuration.WriteTo.File(
                new CompactJsonFormatter(), Path.Combine(folder, simulated ? "service-SIMULATED-.jsonl" : "service-.jsonl"),
                rollingInterval: RollingInterval.Day, retainedFileCountLimit: KeptDays, shared: false, flushToDiskInterval: TimeSpan.FromSeconds(1));
        }

        return configuration.CreateLogger();
    }
}
