using System.Globalization;
using CellWatch.Core.Inputs;
using CellWatch.FrontEnds.Inputs;

namespace CellWatch.Host.Site;

/// <summary>The wired inputs and the pedal's keys of a site: what must hold beyond names and types.</summary>
internal static class SiteInputs
{
    private const int LongestName = 40;

    public static void Check(SiteDocument document, Action<string, string> refuse)
    {
        var names = new Dictionary<string, int>(StringComparer.OrdinalIgnoreCase);
        var places = new Dictionary<string, int>(StringComparer.Ordinal);
        var boards = document.FrontEnds.SelectMany(f => f.OtherPorts.Prepend(f.Port)).ToHashSet(StringComparer.Ordinal);
        for (var i = 0; i < document.Inputs.Count; i++)
        {
            var (input, path) = (document.Inputs[i], string.Create(CultureInfo.InvariantCulture, $"$.inputs[{i}]"));
            if (input.Name.Trim().Length is < 1 or > LongestName || input.Name.Any(char.IsControl))
                refuse($"{path}.name", $"'{input.Name}' is no name: 1 to {LongestName} plain characters; every press is kept under it");
            else if (!names.TryAdd(input.Name.Trim(), i))
                refuse($"{path}.name", $"two inputs are named '{input.Name}' (entries {names[input.Name.Trim()] + 1} and {i + 1})");
            CheckPlace(input, path, i, places, boards, refuse);
        }

        CheckKey(document.Pedal.PresenceKey, "$.pedal.presenceKey", refuse);
        CheckKey(document.Pedal.SeenKey, "$.pedal.seenKey", refuse);
        if (document.Pedal.PresenceKey.Length > 0 && document.Pedal.PresenceKey == document.Pedal.SeenKey)
            refuse("$.pedal.seenKey", $"'{document.Pedal.SeenKey}' stands for both: one key cannot say I am here and seen");
    }

    /// <summary>The line a checked input hangs on.</summary>
    public static IContactLine LineOf(InputEntry input) => input.Wire == InputWire.Gpio ? new GpioContact(input.Line!.Value) : new SerialContact(input.Port, input.Signal);

    private static void CheckPlace(InputEntry input, string path, int index, Dictionary<string, int> places, HashSet<string> boards, Action<string, string> refuse)
    {
        if (input.Wire == InputWire.Gpio && input.Line is null)
        {
            refuse($"{path}.line", "a gpio input needs the number of its line, for example 17 (BCM number on Raspberry-class boards)");
            return;
        }

        if (input.Wire == InputWire.SerialLine && input.Port.Length == 0)
        {
            refuse($"{path}.port", "a serialLine input needs its port, best one of /dev/serial/by-id");
            return;
        }

        if (input.Wire == InputWire.Gpio && input.Port.Length > 0) refuse($"{path}.port", "a gpio input has no port: take it out, or set wire to serialLine");
        if (input.Wire == InputWire.SerialLine && input.Line is not null) refuse($"{path}.line", "a serialLine input has no GPIO line: say which of its own by signal, cts or dsr");
        var place = input.Wire == InputWire.Gpio ? string.Create(CultureInfo.InvariantCulture, $"GPIO line {input.Line}") : $"port {input.Port}";
        var at = input.Wire == InputWire.Gpio ? $"{path}.line" : $"{path}.port";
        if (!places.TryAdd(place, index)) refuse(at, $"{place} serves two inputs (entries {places[place] + 1} and {index + 1}): one switch each");
        else if (boards.Contains(input.Port)) refuse(at, $"{place} carries a front end: a switch needs a port of its own");
    }

    private static void CheckKey(string key, string path, Action<string, string> refuse)
    {
        if (key.Length > 0 && KeyCodes.WhyNot(key) is { } why) refuse(path, why);
    }
}
