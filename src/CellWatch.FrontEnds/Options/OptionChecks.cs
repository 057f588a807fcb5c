using System.Globalization;
using System.Text;
using CellWatch.Core.Pack;
using CellWatch.Core.Snapshots;
using CellWatch.FrontEnds.TextLines;

namespace CellWatch.FrontEnds.Options;

/// <summary>Checks that hold for every wire.</summary>
internal static class OptionChecks
{
    public static void Common(FrontEndOptions options, List<OptionProblem> problems)
    {
        if (options.Name.Length is < 1 or > 40) problems.Add(new("name", options.Name, "1 to 40 characters"));
        if (options.Port.Length == 0) problems.Add(new("port", "", "a serial device such as /dev/serial/by-id/..., or a CAN interface such as can0"));
        if (!Enum.IsDefined(options.Wire)) problems.Add(new("wire", options.Wire.ToString(), "textLines, plainLines, serialCan or linuxCan"));
        if (options.Baud is < 1200 or > 4_000_000) problems.Add(new("baud", options.Baud.ToString(CultureInfo.InvariantCulture), "1200 to 4000000"));
        if (!(options.SilenceS is >= 1 and <= 300)) problems.Add(new("silenceS", options.SilenceS.ToString(CultureInfo.InvariantCulture), "1 to 300"));
        if (options.Identity.Length > 0 && (options.Identity.Length > 33 || !Ascii.IsValid(options.Identity)))
            problems.Add(new("identity", options.Identity, "up to 33 plain characters"));
        if (options.Wire == WireKind.TextLines && options.Identity.Length > 0 && !TextSentence.IsSerial(Encoding.UTF8.GetBytes(options.Identity)))
            problems.Add(new("identity", options.Identity, "1 to 16 letters, digits, '-', '_' or '.'"));
        if (options.OtherPorts.Count > 0 && options.Identity.Length == 0)
            problems.Add(new("otherPorts", string.Join(", ", options.OtherPorts), "none while 'identity' is empty: nothing would tell this front end from another"));
        if (options.Signals.FirstModule is < 0 or > 255)
            problems.Add(new("signals.firstModule", options.Signals.FirstModule.ToString(CultureInfo.InvariantCulture), "0 to 255"));
    }

    /// <summary>The board's channels; null, with the problems added, when a name is not in the pack.</summary>
    public static BoardChannels? Channels(FrontEndOptions options, ChannelMap map, List<OptionProblem> problems)
    {
        var before = problems.Count;
        var modules = new List<int>();
        foreach (var text in options.Modules)
        {
            if (!ModuleId.IsValid(text) || !map.Layout.TryFindModule(new ModuleId(text), out var module))
                problems.Add(new("modules", text, "a module of this pack", Nearest.Of(text, map.Layout.Modules.Select(m => m.Id.Text))));
            else if (modules.Contains(module)) problems.Add(new("modules", text, "each module once"));
            else modules.Add(module);
        }

        var auxiliaries = new List<int>();
        foreach (var name in options.Auxiliaries)
        {
            var index = map.Layout.Auxiliaries.ToList().FindIndex(a => string.Equals(a.Name, name, StringComparison.OrdinalIgnoreCase));
            if (index < 0) problems.Add(new("auxiliaries", name, "a channel beside the pack of this site", Nearest.Of(name, map.Layout.Auxiliaries.Select(a => a.Name))));
            else if (auxiliaries.Contains(index)) problems.Add(new("auxiliaries", name, "each channel once"));
            else auxiliaries.Add(index);
        }

        return problems.Count > before ? null : new BoardChannels(map, modules, options.MeasuresPack, auxiliaries);
    }
}
