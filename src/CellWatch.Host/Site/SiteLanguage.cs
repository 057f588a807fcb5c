using CellWatch.Core.Wording;

namespace CellWatch.Host.Site;

/// <summary>The language a site file or an option asks for: one of this build by its tag, or a file <c>Texts.LL.resx</c> that lies beside.</summary>
public static class SiteLanguage
{
    private const string Suffix = ".resx";

    /// <summary>What may be asked for, in words.</summary>
    public static string Choices => $"{string.Join(", ", Language.Carried)}, or a file of texts such as Texts.xx{Suffix}";

    /// <summary>Reads it; null for English.</summary>
    /// <param name="asked">Tag or file.</param>
    /// <param name="folder">Folder a relative path starts from.</param>
    /// <exception cref="ArgumentException">There is no such language or file, or it cannot be used.</exception>
    public static Language? Read(string asked, string folder)
    {
        try
        {
            if (!asked.EndsWith(Suffix, StringComparison.OrdinalIgnoreCase)) return Language.Named(asked);
            var file = Path.Combine(folder, asked);
            // Texts.de.resx speaks de.
            var tag = Path.GetFileNameWithoutExtension(file).Split('.')[^1];
            return Language.Parse(tag, File.ReadAllText(file));
        }
        catch (FormatException fault)
        {
            throw new ArgumentException(fault.Message, fault);
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            throw new ArgumentException($"the file of texts '{asked}' cannot be read: {fault.Message}", fault);
        }
    }
}
