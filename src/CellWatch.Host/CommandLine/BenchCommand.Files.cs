using System.CommandLine;
using System.Net.Http.Headers;
using CellWatch.Core.History;

namespace CellWatch.Host.CommandLine;

public static partial class BenchCommand
{
    /// <summary>Hands in a photograph or file of a module.</summary>
    private static Command File()
    {
        var (at, by) = (At(), By());
        var module = new Argument<string>("MODULE") { Description = "The module it shows" };
        var file = new Argument<FileInfo>("FILE") { Description = "Picture (png, jpg, webp) or file (pdf, csv, json, parquet, zip), at most 16 MiB" };
        var caption = new Option<string>("--caption") { Description = "What it shows; printed with it", Required = true };
        var about = new Option<string>("--about") { Description = "intake, inspection, joint or thermal-picture", DefaultValueFactory = _ => "inspection" };
        var joint = new Option<int?>("--joint") { Description = "Number of the joint on the joint sheet" };
        var command = new Command("file", "Keeps a photograph or file of a module with its records, for good") { module, file, caption, about, joint, by, at };
        command.SetAction((result, cancellation) => Talk(result.InvocationConfiguration, async (http, console) =>
        {
            var path = result.GetValue(file)!;
            if (!path.Exists)
            {
                console.Error.WriteLine($"There is no file {path.FullName}.");
                return ExitCode.BadInput;
            }

            if (path.Length > AttachmentRules.MostBytes)
            {
                console.Error.WriteLine(AttachmentRules.TooLarge);
                return ExitCode.BadInput;
            }

            string Part(string? text) => Uri.EscapeDataString(text ?? "");
            using var body = new ByteArrayContent(await System.IO.File.ReadAllBytesAsync(path.FullName, cancellation));
            var kind = AttachmentRules.KindOfName(path.Name);
            body.Headers.ContentType = new MediaTypeHeaderValue(kind.Length > 0 ? kind : "application/octet-stream");
            var query = $"bench/modules/{Part(result.GetValue(module))}/files?name={Part(path.Name)}&by={Part(result.GetValue(by))}&caption={Part(result.GetValue(caption))}&about={Part(result.GetValue(about))}"
                + (result.GetValue(joint) is { } number ? string.Create(System.Globalization.CultureInfo.InvariantCulture, $"&joint={number}") : "");
            return Print(await http.PostAsync(new Uri(query, UriKind.Relative), body, cancellation), console, json => $"Kept. SHA-256 {json.RootElement.GetProperty("value").GetProperty("sha256").GetString()}");
        }, result.GetValue(at)!));
        return command;
    }
}
