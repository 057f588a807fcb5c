using System.Collections.Concurrent;
using System.Globalization;
using System.Text;
using CellWatch.Core.Pack;

namespace CellWatch.Mqtt;

/// <summary>
/// Names of all topics of one site. The root is the site's name in lower case; identities below it keep their spelling (<c>B07</c>).
/// A character that is not a letter, a digit, <c>.</c>, <c>_</c> or <c>-</c> becomes <c>-</c>, so no level holds <c>+ # / $</c> or a space
/// (MQTT 5.0, 4.7: those have a meaning of their own). Safe to use from any thread.
/// </summary>
public sealed class Topics
{
    private readonly ConcurrentDictionary<string, string> _alarms = new(StringComparer.Ordinal);
    private readonly ConcurrentDictionary<string, string> _instruments = new(StringComparer.Ordinal);

    /// <summary>Names the topics of a site.</summary>
    /// <param name="siteName">The site's name as a person writes it; one without a letter or digit gives the root <c>site</c>.</param>
    public Topics(string siteName)
    {
        var root = Level(siteName.ToLower(CultureInfo.InvariantCulture));
        Root = root.Length == 0 ? "site" : root;
        Pack = $"{Root}/pack";
        Permit = $"{Root}/permit";
        Presence = $"{Root}/presence";
    }

    /// <summary>The first level, the same for all.</summary>
    public string Root { get; }

    /// <summary>Figures over the whole pack.</summary>
    public string Pack { get; }

    /// <summary>The charge permit.</summary>
    public string Permit { get; }

    /// <summary>Whether the program is there; also its will.</summary>
    public string Presence { get; }

    /// <summary>Filter for every topic of the site.</summary>
    public string Everything => $"{Root}/#";

    /// <summary>Filter for all alarms.</summary>
    public string AllAlarms => $"{Root}/alarm/+";

    /// <summary>Voltages of a module's cells.</summary>
    public string Cells(ModuleId module) => $"{Root}/module/{module.Text}/cells";

    /// <summary>Temperatures in a module.</summary>
    public string Temperatures(ModuleId module) => $"{Root}/module/{module.Text}/temperatures";

    /// <summary>One alarm, by its identity.</summary>
    public string Alarm(string id) => _alarms.GetOrAdd(id, static (id, root) => $"{root}/alarm/{Level(id)}", Root);

    /// <summary>One front end, by its name in the site file.</summary>
    public string Instrument(string name) => _instruments.GetOrAdd(name, static (name, root) => $"{root}/instrument/{Level(name)}", Root);

    /// <summary>One run, by its identity.</summary>
    public string Run(string id) => $"{Root}/run/{Level(id)}";

    /// <summary>A text as one topic level: never empty unless nothing in it can stand in one.</summary>
    internal static string Level(string text)
    {
        var level = new StringBuilder(text.Length);
        foreach (var c in text)
        {
            if (char.IsLetterOrDigit(c) || c is '.' or '_' or '-') level.Append(c);
            else if (level.Length > 0 && level[^1] != '-') level.Append('-');
        }

        return level.ToString().Trim('-');
    }
}
