using System.Globalization;
using System.Text;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.Core.Wording;
using CellWatch.FrontEnds;
using CellWatch.FrontEnds.Options;

namespace CellWatch.Host.Site;

/// <summary>The front ends of a site: ranges of modules expanded, paths made whole, everything checked.</summary>
internal static class SiteFrontEnds
{
    /// <summary>The options as the front ends take them: <c>B01-B06</c> expanded, the database's path whole.</summary>
    public static FrontEndOptions Expand(FrontEndOptions options, string folder) => options with
    {
        Modules = [.. options.Modules.SelectMany(m => ModuleRange.Expand(m, out _) is { } ids ? ids.Select(id => id.Text) : [m])],
        Database = options.Database.Length > 0 ? Path.GetFullPath(Path.Combine(folder, options.Database)) : "",
    };

    public static void Check(SiteDocument document, PackLayout layout, string folder, Action<string, string> refuse)
    {
        var map = new ChannelMap(layout);
        var names = new Dictionary<string, int>(StringComparer.OrdinalIgnoreCase);
        var owners = new Dictionary<string, int>(StringComparer.OrdinalIgnoreCase);
        for (var i = 0; i < document.FrontEnds.Count; i++)
        {
            var path = string.Create(CultureInfo.InvariantCulture, $"$.frontEnds[{i}]");
            var options = Expand(document.FrontEnds[i], folder);
            if (!names.TryAdd(options.Name, i))
                refuse($"{path}.name", $"two front ends are named '{options.Name}' (entries {names[options.Name] + 1} and {i + 1})");
            foreach (var module in options.Modules)
            {
                if (!owners.TryAdd(module, i))
                    refuse($"{path}.modules", $"module {module} is measured by two front ends (entries {owners[module] + 1} and {i + 1})");
            }

            foreach (var problem in FrontEndFactory.Check(options, map))
                refuse($"{path}.{problem.Field}", $"'{problem.Value}' is not valid; allowed: {problem.Allowed}{(problem.Nearest.Length > 0 ? $"; did you mean '{problem.Nearest}'?" : "")}");
        }

        var unmeasured = layout.Modules.Where(m => !owners.ContainsKey(m.Id.Text)).Select(m => m.Id).ToList();
        if (document.FrontEnds.Count > 0 && unmeasured.Count > 0)
            refuse("$.frontEnds", $"no front end measures {ModuleRange.Contract(unmeasured)}: give every module to one, or take it out of the pack");
    }

    public static string Describe(FrontEndOptions options)
    {
        var text = new StringBuilder();
        text.Append(CultureInfo.InvariantCulture, $"{options.Name}: {Words(options.Wire)} on {options.Port}, modules {string.Join(", ", options.Modules)}, ");
        text.Append(options.Isolated switch
        {
            Core.FrontEnds.Isolation.Yes => "isolated.",
            Core.FrontEnds.Isolation.No => "NOT isolated: with three or more modules joined do not touch the laptop or its leads.",
            _ => "isolation unknown, treated as none.",
        });
        return text.ToString();
    }

    public static string Words(WireKind wire) => wire switch
    {
        WireKind.TextLines => "text lines",
        WireKind.PlainLines => "plain lines",
        WireKind.SerialCan => "serial CAN",
        _ => "Linux CAN",
    };
}
