using System.Globalization;
using CellWatch.Core.FrontEnds;
using CellWatch.Core.Pack;
using CellWatch.FrontEnds.Options;
using CellWatch.FrontEnds.SignalDatabase;
using CellWatch.FrontEnds.Transport;
using CellWatch.Host.Site;

namespace CellWatch.Host.NewSite;

/// <summary>
/// Asks what stands on the bench, listens to it, proposes the mapping and returns a site document. Nobody types 108 channels.
/// </summary>
public sealed class NewSiteWizard(Interview ask, string folder, Func<string, int, IBytePort> openPort)
{
    private const double ListenS = 3;

    /// <summary>Runs the questions.</summary>
    public async Task<SiteDocument> RunAsync(CancellationToken cancellation)
    {
        ask.Say("A site file says what is wired to what. Empty lines take what stands in brackets. Everything can be changed later with an editor.");
        ask.Say("More than 60 V DC can kill. This program supervises and advises; it never replaces hardware protection or a licensed person.");
        var site = ask.Ask("Name of the site (letters, digits, hyphens; also the root of the MQTT topics)", "bench",
            a => a.Length is >= 1 and <= 32 && a.All(c => char.IsAsciiLetterOrDigit(c) || c == '-') ? null : "Use 1 to 32 letters, digits or hyphens.");
        var range = ask.Ask("Modules in electrical order from the pack's negative end (B01-B18, or one identity)", "B01-B18",
            a => ModuleRange.Expand(a, out var why) is null ? why : null);
        var modules = ModuleRange.Expand(range, out _)!;
        var topologyText = ask.Ask("Topology of each module (series S, parallel P)", "6S2P", a => ModuleTopology.TryParse(a, out _) ? null : "Write series and parallel, for example 6S2P or 12S1P.");
        var topology = ModuleTopology.Parse(topologyText);
        var temperatures = int.Parse(ask.Ask("Temperature sensors on each module", "2", a => int.TryParse(a, NumberStyles.None, CultureInfo.InvariantCulture, out var n) && n <= PackModule.MaxTemperatureSensors ? null : "Give a number from 0 to 16."), CultureInfo.InvariantCulture);
        var cellType = ask.Choose("Cell type (without one there are no limits, and no charge can be called supervised):",
            [.. CellType.BuiltIn.Select(t => (t.Name, $"{t.Name}: {t.Description}")), ("", "not known yet")], 0);
        var capacityAh = double.Parse(ask.Ask("Capacity of one cell group in Ah, as labelled (0: not known)", "0",
            a => double.TryParse(a, NumberStyles.Float, CultureInfo.InvariantCulture, out var ah) && ah is >= 0 and <= 10_000 ? null : "Give Ah with a decimal point, for example 110."), CultureInfo.InvariantCulture);
        var cutOff = ask.Ask("Your hand cut-off, as you would point at it", "red button on the station");

        var frontEnds = new List<FrontEndOptions>();
        var left = modules.ToList();
        while (left.Count > 0)
        {
            if (await FrontEndAsync(frontEnds.Count + 1, left, topology, temperatures, cancellation) is not { } frontEnd) break;
            frontEnds.Add(frontEnd);
            left.RemoveAll(m => frontEnd.Modules.Any(r => ModuleRange.Expand(r, out _)!.Contains(m)));
        }

        return new SiteDocument
        {
            Schema = $"./{SiteSchema.FileName}",
            Site = site,
            CellType = cellType,
            CapacityAh = capacityAh,
            HandCutOff = cutOff,
            Modules = [new ModuleEntry { Id = range, Topology = topology.ToString(), Temperatures = temperatures }],
            FrontEnds = frontEnds,
        };
    }

    private async Task<FrontEndOptions?> FrontEndAsync(int number, List<ModuleId> left, ModuleTopology topology, int temperatures, CancellationToken cancellation)
    {
        ask.Say("");
        var wire = ask.Choose<WireKind?>($"Front end {number}: how does it speak?",
        [
            (WireKind.TextLines, "text lines of hardware-notes/text-line-wire.md (identity, sequence, checksum)"),
            (WireKind.PlainLines, "plain delimited lines your own board already prints"),
            (WireKind.SerialCan, "a CAN adapter on a serial line, with a signal database (DBC)"),
            (WireKind.LinuxCan, "a CAN interface of the Linux kernel, with a signal database (DBC)"),
            (null, "none yet: write the file without it"),
        ], 0);
        if (wire is null) return null;

        var mine = ModuleRange.Contract(left);
        var range = ask.Ask("Modules on it, in the order the board numbers them", mine,
            a => ModuleRange.Expand(a, out var why) is not { } ids ? why : ids.Except(left).Any() ? $"Not in the pack or taken already: {string.Join(", ", ids.Except(left))}." : null);
        var modules = ModuleRange.Expand(range, out _)!;
        var port = Port(wire.Value);
        var isolated = ask.Choose("Is it galvanically isolated from this computer?",
            [(Isolation.Yes, "yes"), (Isolation.No, "no"), (Isolation.Unknown, "not known (treated as no)")], 2);
        if (isolated != Isolation.Yes && modules.Count >= 3)
            ask.Say("  Not isolated with three or more modules joined puts the pack on the laptop: no charge will be called supervised. Do not touch the laptop or its leads.");

        var options = new FrontEndOptions { Name = number.ToString(CultureInfo.InvariantCulture), Wire = wire.Value, Port = port, Modules = [range], Isolated = isolated };
        return wire.Value switch
        {
            WireKind.TextLines => await TextAsync(options, cancellation),
            WireKind.PlainLines => await PlainAsync(options, [.. modules.Select(_ => topology)], [.. modules.Select(_ => temperatures)], cancellation),
            _ => Can(options),
        };
    }

    private string Port(WireKind wire)
    {
        if (wire == WireKind.LinuxCan) return ask.Ask("CAN interface", "can0");
        var ports = PortList.Read();
        if (ports.Count == 0) ask.Say("No serial device is plugged in now; type its path.");
        else ask.Say("Plugged in now: " + string.Join(", ", ports.Select(p => p.StableName)));
        return ask.Ask("Port", ports.Count > 0 ? ports[0].StableName : "/dev/ttyUSB0", a => a.Length > 0 ? null : "Give the port's path.");
    }

    private async Task<FrontEndOptions> TextAsync(FrontEndOptions options, CancellationToken cancellation)
    {
        await ListenAsync(options, cancellation);
        return options with { MeasuresPack = ask.Confirm("Does this board measure current and string voltage?", false) };
    }

    private async Task<FrontEndOptions> PlainAsync(FrontEndOptions options, IReadOnlyList<ModuleTopology> topologies, IReadOnlyList<int> temperatures, CancellationToken cancellation)
    {
        var lines = await ListenAsync(options, cancellation);
        if (PlainLineProposal.Of(lines, topologies, temperatures) is { } proposal)
        {
            ask.Say("It looks like this: " + string.Join("; ", proposal.Reasons) + ".");
            if (ask.Confirm("Use it", true)) return options with { PlainLines = proposal.Options };
        }
        else
        {
            ask.Say("No line shows the expected number of cells: the file gets one field a cell, from the first; edit plainLines.runs to suit.");
        }

        var position = 1;
        var runs = new List<PlainRun>();
        for (var m = 0; m < topologies.Count; position += topologies[m++].Series)
            runs.Add(new PlainRun { Position = position, Quantity = PlainQuantity.Cells, Module = m + 1, Count = topologies[m].Series });
        return options with { PlainLines = new PlainLineOptions { Runs = runs } };
    }

    private FrontEndOptions Can(FrontEndOptions options)
    {
        var path = ask.Ask("Signal database (DBC file)", "", a =>
        {
            try
            {
                CanDatabase.Load(Path.GetFullPath(Path.Combine(folder, a)));
                return null;
            }
            catch (Exception fault) when (fault is DatabaseException or IOException or UnauthorizedAccessException or ArgumentException)
            {
                return fault.Message;
            }
        });
        options = options with { Database = path };
        if (SignalProposal.Of(CanDatabase.Load(Path.GetFullPath(Path.Combine(folder, path)))) is not { } proposal)
        {
            ask.Say("No family of signals in V with two numbers (module and cell) in the name was found: fill in signals.cells by hand.");
            return options;
        }

        ask.Say("It looks like this: " + string.Join("; ", proposal.Reasons) + ".");
        return ask.Confirm("Use it", true) ? options with { Signals = proposal.Options } : options;
    }

    private async Task<IReadOnlyList<string>> ListenAsync(FrontEndOptions options, CancellationToken cancellation)
    {
        try
        {
            ask.Say(string.Create(CultureInfo.InvariantCulture, $"Listening on {options.Port} for {ListenS} s ..."));
            var lines = await LinePeek.ReadAsync(openPort(options.Port, options.Baud), ListenS, cancellation);
            foreach (var line in lines.Take(10)) ask.Say("  | " + line);
            ask.Say(lines.Count == 0 ? "  Nothing arrived. Is the board powered, and is the rate right?" : $"  {lines.Count} lines.");
            return lines;
        }
        catch (PortException fault)
        {
            ask.Say("  " + fault.Message);
            return [];
        }
    }
}
