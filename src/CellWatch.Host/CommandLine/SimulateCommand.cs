using System.CommandLine;
using System.Text;
using CellWatch.Host.NewSite;
using CellWatch.Host.Site;
using CellWatch.Simulation;
using CellWatch.Simulation.Boards;
using CellWatch.Simulation.PseudoTerminals;
using CellWatch.Simulation.Stories;

namespace CellWatch.Host.CommandLine;

/// <summary><c>simulate</c>: the emulated boards on pseudo-terminals, with a site file that reads them, to practise <c>serve</c>.</summary>
public static class SimulateCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var story = DemoCommand.StoryOption();
        var file = new Option<FileInfo>("--site") { Description = "Site file to write for the boards", DefaultValueFactory = _ => new FileInfo("petrel-SIMULATED.json") };
        var command = new Command("simulate", "Serves the emulated boards on pseudo-terminals and writes a site file that reads them (all data SIMULATED)") { story, file };
        command.SetAction((result, cancellation) => RunAsync(result.GetValue(story)!, result.GetValue(file)!, result.InvocationConfiguration, cancellation));
        return command;
    }

    private static async Task<int> RunAsync(string name, FileInfo file, InvocationConfiguration console, CancellationToken cancellation)
    {
        var story = AllStories.Named(name);
        // Real instruments run at the pace of the world, so the boards do too.
        var clock = SimulatedSite.CreateClock(story, 1);
        var site = new SimulatedSite(story, clock);
        var terminals = new List<PseudoTerminalRunner>();
        try
        {
            site.Pack.AdvanceTo(0);
            foreach (var plan in story.Boards) terminals.Add(new PseudoTerminalRunner(SimulatedSite.BoardOf(plan, site.Pack), site.StoryClock, clock));
            var folder = file.DirectoryName!;
            var document = new SiteDocument
            {
                Site = site.Layout.SiteName,
                CellType = site.CellType.Name,
                CapacityAh = PetrelPack.NominalAh,
                HandCutOff = story.HandCutOff,
                Modules = [.. site.Layout.Modules.Select(m => new ModuleEntry { Id = m.Id.Text, Topology = m.Topology.ToString(), Temperatures = m.TemperatureSensors, Slot = m.Slot, Box = m.Box })],
                Auxiliaries = [.. site.Layout.Auxiliaries],
                FrontEnds = [.. story.Boards.Select((plan, i) => BoardWiring.WriteOptions(plan, site.Layout, folder, terminals[i].Path))],
            };
            await File.WriteAllTextAsync(file.FullName, CommentedSiteWriter.Write(document), new UTF8Encoding(false), cancellation);
            for (var i = 0; i < terminals.Count; i++) console.Output.WriteLine($"{story.Boards[i].Name}: {terminals[i].Path}");
            console.Output.WriteLine($"SIMULATED boards. Read them with: cellwatch serve --site {file.Name}   Stop with Ctrl+C.");
            await Task.WhenAll(terminals.Select(t => t.RunAsync(cancellation)));
            return ExitCode.Ok;
        }
        catch (OperationCanceledException)
        {
            return ExitCode.Ok;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException or PlatformNotSupportedException)
        {
            console.Error.WriteLine(fault.Message);
            return ExitCode.Failed;
        }
        finally
        {
            foreach (var terminal in terminals) terminal.Dispose();
        }
    }
}
