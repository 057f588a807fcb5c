using System.CommandLine;
using System.Text;
using CellWatch.FrontEnds.Transport;
using CellWatch.Host.NewSite;
using CellWatch.Host.Site;

namespace CellWatch.Host.CommandLine;

/// <summary><c>new FILE</c>: asks what stands on the bench and writes a commented site file that <c>check</c> passes.</summary>
public static class NewCommand
{
    /// <summary>Makes the command.</summary>
    public static Command Create()
    {
        var file = new Argument<FileInfo>("FILE") { Description = "The site file to write", DefaultValueFactory = _ => new FileInfo(ServeCommand.UsualFile) };
        var force = new Option<bool>("--force") { Description = "Write over an existing file" };
        var command = new Command("new", "Asks what stands on the bench, shows the lines arriving now and writes a commented site file") { file, force };
        command.SetAction((result, cancellation) => RunAsync(result.GetValue(file)!, result.GetValue(force), result.InvocationConfiguration, cancellation));
        return command;
    }

    private static async Task<int> RunAsync(FileInfo file, bool force, InvocationConfiguration console, CancellationToken cancellation)
    {
        if (file.Exists && !force)
        {
            console.Error.WriteLine($"{file.FullName} exists already. Choose another name, or write over it with --force.");
            return ExitCode.BadInput;
        }

        try
        {
            var wizard = new NewSiteWizard(new Interview(Console.In, console.Output), file.DirectoryName!, (port, baud) => new SerialDevicePort(port, baud));
            var text = CommentedSiteWriter.Write(await wizard.RunAsync(cancellation));
            Directory.CreateDirectory(file.DirectoryName!);
            await WriteWholeAsync(file.FullName, text, cancellation);
            await WriteWholeAsync(Path.Combine(file.DirectoryName!, SiteSchema.FileName), SiteSchema.Text(), cancellation);
            console.Output.WriteLine();
            console.Output.WriteLine($"Wrote {file.FullName} and {SiteSchema.FileName} beside it.");
            console.Output.WriteLine(SiteSummary.Of(SiteFile.Read(file.FullName)));
            console.Output.WriteLine($"Start it with: cellwatch serve --site {file.Name}");
            return ExitCode.Ok;
        }
        catch (EndOfStreamException fault)
        {
            console.Error.WriteLine();
            console.Error.WriteLine(fault.Message);
            return ExitCode.BadInput;
        }
        catch (SiteFileException fault)
        {
            console.Error.WriteLine("The file was written, but is not complete yet:");
            console.Error.WriteLine(fault.Message);
            return ExitCode.BadInput;
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            console.Error.WriteLine($"{file.FullName} cannot be written: {fault.Message}");
            return ExitCode.Failed;
        }
    }

    private static async Task WriteWholeAsync(string path, string text, CancellationToken cancellation)
    {
        // Under another name first, so that a full disk leaves no half file under the final one.
        var temporary = path + ".part";
        await File.WriteAllTextAsync(temporary, text, new UTF8Encoding(false), cancellation);
        File.Move(temporary, path, overwrite: true);
    }
}
