using System.CommandLine;
using System.Globalization;
using System.Net.Http.Json;
using System.Text.Json;
using CellWatch.Core.Register;
using CellWatch.Core.Wording;
using CellWatch.Host.Bench;
using CellWatch.Host.Site;
using CellWatch.Simulation.Stories;

namespace CellWatch.Host.CommandLine;

/// <summary>
/// <c>bench ...</c>: the builder's project from the command line. Everything goes through the HTTP door of a running service, so that the command
/// line, the pages and a script meet the same refusals.
/// </summary>
public static partial class BenchCommand
{
    private static readonly JsonSerializerOptions Indented = new(RecordJson.Options) { WriteIndented = true };

    /// <summary>Makes the command.</summary>
    public static Command Create() => new("bench", "The project from intake to first charge: modules, tests, grades, plan, proofs, gates, reports")
    {
        Show(), Enter(), File(), Stack(), Charge(), Gates(), Report(), Petrel(),
    };

    private static Option<Uri> At() => new("--at")
    {
        Description = "Address of the running service, for example http://localhost:8080",
        DefaultValueFactory = _ => new Uri("http://localhost:8080"),
        CustomParser = result =>
        {
            var typed = result.Tokens[0].Value;
            if (Uri.TryCreate(typed, UriKind.Absolute, out var address) && address.Scheme is "http" or "https") return address;
            result.AddError($"'{typed}' is no address of a service: write it like http://localhost:8080.");
            return null;
        },
    };

    private static Option<string> By() => new("--by") { Description = "Your name; every record carries it", Required = true };

    private static Command Show()
    {
        var (at, path) = (At(), new Argument<string>("PATH") { Description = "What to show: modules, modules/B07, gates, grades, price, proofs, runs, reports ...", DefaultValueFactory = _ => "" });
        var command = new Command("show", "Shows a part of the project as JSON") { path, at };
        command.SetAction((result, cancellation) => Talk(result.InvocationConfiguration, async (http, console) =>
            Print(await http.GetAsync(new Uri($"bench/{result.GetValue(path)}", UriKind.Relative), cancellation), console, JsonText), result.GetValue(at)!));
        return command;
    }

    private static Command Enter()
    {
        var (at, by) = (At(), By());
        var path = new Argument<string>("PATH") { Description = "Where it goes: modules, gates/9/prove, isolation ... (see /openapi/v1.json)" };
        var entry = new Argument<string>("JSON") { Description = "The entry as JSON; - reads it from standard input", DefaultValueFactory = _ => "" };
        var file = new Option<FileInfo?>("--file") { Description = "The entry from a file instead: what is long does not fit a command line" };
        var basedOn = new Option<int>("--based-on") { Description = "Revision you had in view, when you revise something" };
        var command = new Command("enter", "Enters something, or says in a sentence why it cannot be taken") { path, entry, file, by, basedOn, at };
        command.SetAction((result, cancellation) => Talk(result.InvocationConfiguration, async (http, console) =>
        {
            var typed = result.GetValue(entry)!;
            if (typed.Length > 0 == result.GetValue(file) is not null)
            {
                console.Error.WriteLine("Give the entry as JSON, or --file with the file that holds it.");
                return ExitCode.Usage;
            }

            var text = result.GetValue(file) is { } from ? await System.IO.File.ReadAllTextAsync(from.FullName, cancellation) : typed is "-" ? await Console.In.ReadToEndAsync(cancellation) : typed;
            var body = new { by = result.GetValue(by), entry = JsonDocument.Parse(text).RootElement, basedOn = result.GetValue(basedOn) };
            return Print(await http.PostAsJsonAsync(new Uri($"bench/{result.GetValue(path)}", UriKind.Relative), body, cancellation), console, JsonText);
        }, result.GetValue(at)!));
        return command;
    }

    private static Command Stack()
    {
        var (at, by) = (At(), By());
        var module = new Argument<string>("MODULE") { Description = "Module whose connector is unplugged" };
        var readings = new Argument<double[]>("VOLTS") { Description = "Hand-meter readings from the lowest pin to each pin, lead 0 first: 0 3.91 7.82 ...", Arity = ArgumentArity.OneOrMore };
        var command = new Command("stack", "Checks a sense connector before it is plugged in") { module, readings, by, at };
        command.SetAction((result, cancellation) => Talk(result.InvocationConfiguration, async (http, console) =>
        {
            var body = new { by = result.GetValue(by), entry = new { module = result.GetValue(module), readingsV = result.GetValue(readings) } };
            return Print(await http.PostAsJsonAsync(new Uri("bench/proofs/stack", UriKind.Relative), body, cancellation), console, json =>
                json.RootElement.GetProperty("outcome").GetProperty("sentence").GetString()!, json => json.RootElement.GetProperty("outcome").GetProperty("passed").GetBoolean());
        }, result.GetValue(at)!));
        return command;
    }

    private static Command Gates()
    {
        var at = At();
        var command = new Command("gates", "The twenty gates, and what the next one needs") { at };
        command.SetAction((result, cancellation) => Talk(result.InvocationConfiguration, async (http, console) =>
            Print(await http.GetAsync(new Uri("bench/gates", UriKind.Relative), cancellation), console, GateText), result.GetValue(at)!));
        return command;
    }

    private static Command Report()
    {
        var at = At();
        var kind = new Argument<string>("KIND") { Description = string.Join(", ", Reports.BenchReports.Kinds.Keys) };
        var about = new Argument<string>("ABOUT") { Description = "Module, run, charge or night, where there are several", DefaultValueFactory = _ => "" };
        var format = new Option<string>("--format") { Description = "html, csv, json or pdf", DefaultValueFactory = _ => "html" };
        var output = new Option<FileInfo>("--out") { Description = "File to write", Required = true };
        var command = new Command("report", "Writes a report to a file") { kind, about, format, output, at };
        command.SetAction((result, cancellation) => Talk(result.InvocationConfiguration, async (http, console) =>
        {
            var query = $"bench/reports/{Uri.EscapeDataString(result.GetValue(kind)!)}?about={Uri.EscapeDataString(result.GetValue(about)!)}&format={Uri.EscapeDataString(result.GetValue(format)!)}";
            using var answer = await http.GetAsync(new Uri(query, UriKind.Relative), cancellation);
            if (!answer.IsSuccessStatusCode) return Print(answer, console, JsonText);
            var file = result.GetValue(output)!;
            await System.IO.File.WriteAllBytesAsync(file.FullName, await answer.Content.ReadAsByteArrayAsync(cancellation), cancellation);
            console.Output.WriteLine($"{file.FullName} written.");
            return ExitCode.Ok;
        }, result.GetValue(at)!));
        return command;
    }

    private static Command Petrel()
    {
        var file = new Option<FileInfo>("--file") { Description = "Where the project is kept; made when it is not there", DefaultValueFactory = _ => new FileInfo(Path.Combine(Path.GetTempPath(), "petrel-project.cellwatch")) };
        var port = new Option<int>("--port") { Description = "Port on this machine; 0 takes a free one", DefaultValueFactory = _ => 5081 };
        var makeOnly = new Option<bool>("--make-only") { Description = "Makes the file and ends" };
        // How the demo gets the project as it stood when its story opens.
        var story = new Option<string?>("--story") { Hidden = true };
        story.AcceptOnlyFromAmong([.. AllStories.Names]);
        var until = new Option<DateTimeOffset>("--until") { Hidden = true };
        var language = new Option<string>("--language") { Hidden = true, DefaultValueFactory = _ => Texts.English };
        var command = new Command("petrel", "Opens the invented sample project, from intake to the first season; every figure is simulated") { file, port, makeOnly, story, until, language };
        command.SetAction((result, cancellation) =>
        {
            Texts.Speak(SiteLanguage.Read(result.GetValue(language)!, Environment.CurrentDirectory));
            return SampleProject.Run(
                result.GetValue(file)!, result.GetValue(port), result.GetValue(makeOnly),
                result.GetValue(story) is { } name ? (AllStories.Named(name), result.GetValue(until)) : null, result.InvocationConfiguration, cancellation);
        });
        return command;
    }

    private static async Task<int> Talk(InvocationConfiguration console, Func<HttpClient, InvocationConfiguration, Task<int>> talk, Uri at)
    {
        using var http = new HttpClient { BaseAddress = at, Timeout = TimeSpan.FromSeconds(60) };
        try
        {
            return await talk(http, console);
        }
        catch (HttpRequestException fault)
        {
            console.Error.WriteLine($"No service answers at {at}: {fault.Message} Start one with 'serve', 'demo' or 'bench petrel', or say --at.");
            return ExitCode.Failed;
        }
        catch (JsonException fault)
        {
            console.Error.WriteLine($"The entry is no JSON: {fault.Message}");
            return ExitCode.BadInput;
        }
        catch (IOException fault)
        {
            console.Error.WriteLine(fault.Message);
            return ExitCode.Failed;
        }
    }

    private static int Print(HttpResponseMessage answer, InvocationConfiguration console, Func<JsonDocument, string> text, Func<JsonDocument, bool>? passed = null)
    {
        using var json = JsonDocument.Parse(answer.Content.ReadAsStream());
        if (answer.IsSuccessStatusCode)
        {
            console.Output.WriteLine(text(json));
            return passed?.Invoke(json) ?? true ? ExitCode.Ok : ExitCode.BadInput;
        }

        console.Error.WriteLine(json.RootElement.TryGetProperty("detail", out var detail) ? detail.GetString() : json.RootElement.ToString());
        return ExitCode.BadInput;
    }

    private static string JsonText(JsonDocument json) => JsonSerializer.Serialize(json.RootElement, Indented);

    private static string GateText(JsonDocument json)
    {
        var lines = new List<string>();
        var nextSaid = false;
        foreach (var gate in json.RootElement.EnumerateArray())
        {
            var state = gate.GetProperty("state").GetString()!;
            var reason = gate.GetProperty("reason").GetString()!;
            lines.Add(string.Create(CultureInfo.InvariantCulture, $"{gate.GetProperty("number").GetInt32(),2}  {state.ToUpperInvariant(),-9} {gate.GetProperty("title").GetString()}{(reason.Length > 0 ? $": {reason}" : "")}"));
            if (nextSaid || state == "proven") continue;
            nextSaid = true;
            if (gate.GetProperty("caution").GetString() is { Length: > 0 } caution) lines.Add($"      {caution}");
            foreach (var need in gate.GetProperty("needs").EnumerateArray()) lines.Add($"      needs {need.GetProperty("name").GetString()}: {need.GetProperty("ask").GetString()} ({need.GetProperty("rule").GetString()})");
        }

        return string.Join(Environment.NewLine, lines);
    }
}
