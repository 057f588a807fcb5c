using CellWatch.Host.Site;

namespace CellWatch.Host.CommandLine;

/// <summary>Reads the site file a command was given, and says what is wrong with it.</summary>
internal static class SiteArgument
{
    /// <summary>The site, or null after the fault was said.</summary>
    public static Site.Site? Read(FileInfo file, TextWriter error)
    {
        try
        {
            return SiteFile.Read(file.FullName);
        }
        catch (SiteFileException fault)
        {
            error.WriteLine(fault.Message);
            error.WriteLine(fault.Faults.Count == 1 ? "1 fault. Nothing was started." : $"{fault.Faults.Count} faults. Nothing was started.");
        }
        catch (FileNotFoundException)
        {
            error.WriteLine($"There is no file {file.FullName}. 'cellwatch new {file.Name}' writes one.");
        }
        catch (DirectoryNotFoundException)
        {
            error.WriteLine($"There is no folder for {file.FullName}.");
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            error.WriteLine($"{file.FullName} cannot be read: {fault.Message}");
        }

        return null;
    }
}
