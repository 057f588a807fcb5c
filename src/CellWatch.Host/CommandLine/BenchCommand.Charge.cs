using System.CommandLine;
using System.Net.Http.Json;
using CellWatch.Core.Bench;
using CellWatch.Core.Register;

namespace CellWatch.Host.CommandLine;

public static partial class BenchCommand
{
    /// <summary>Makes the record of a charge out of the cell log.</summary>
    private static Command Charge()
    {
        var (at, by) = (At(), By());
        var name = new Argument<string>("NAME") { Description = "Name of the record, for example 'first DC charge'" };
        var kind = new Option<string>("--kind") { Description = "ac or dc", Required = true };
        kind.AcceptOnlyFromAmong("ac", "dc");
        var run = new Option<long?>("--run") { Description = "Number of the charge among the log's runs" };
        var from = new Option<DateTimeOffset?>("--from") { Description = "Beginning, with --to, where it is no run: 2026-03-01T10:00:00+01:00" };
        var to = new Option<DateTimeOffset?>("--to") { Description = "End" };
        var isolated = new Option<bool?>("--isolated") { Description = "true: every instrument is isolated; false: one is not; left out: not known" };
        var people = new Option<int?>("--people") { Description = "People present; left out: as many as confirmed it" };
        var wall = new Option<double?>("--wall-wh") { Description = "Energy from the wall, Wh, where measured" };
        var command = new Command("charge", "Makes the record of a charge out of the cell log of a running service") { name, kind, run, from, to, isolated, people, wall, by, at };
        command.SetAction((result, cancellation) => Talk(result.InvocationConfiguration, async (http, console) =>
        {
            var order = new ChargeOrder(
                result.GetValue(name)!, result.GetValue(kind) == "ac" ? ChargeKind.Ac : ChargeKind.Dc, result.GetValue(run), result.GetValue(from), result.GetValue(to), result.GetValue(isolated), result.GetValue(people), result.GetValue(wall));
            var body = new { by = result.GetValue(by), entry = order };
            return Print(await http.PostAsJsonAsync(new Uri("bench/charges/from-log", UriKind.Relative), body, RecordJson.Options, cancellation), console, JsonText);
        }, result.GetValue(at)!));
        return command;
    }
}
