using CellWatch.Core.Register;
using PdfSharp.Fonts;

namespace CellWatch.Host.Reports;

/// <summary>Faces for the PDF, taken from those installed on the machine; none is carried with the program.</summary>
public sealed class InstalledFonts : IFontResolver
{
    /// <summary>Family name used by the PDF.</summary>
    public const string Family = "report";

    private static readonly (string Plain, string Bold)[] Known =
    [
        ("DejaVuSans.ttf", "DejaVuSans-Bold.ttf"), ("LiberationSans-Regular.ttf", "LiberationSans-Bold.ttf"), ("NotoSans-Regular.ttf", "NotoSans-Bold.ttf"), ("arial.ttf", "arialbd.ttf"),
    ];

    private static readonly Lazy<InstalledFonts?> Found = new(Find);
    private readonly string plain;
    private readonly string bold;

    private InstalledFonts(string plain, string bold) => (this.plain, this.bold) = (plain, bold);

    /// <summary>Sets the faces once for the process.</summary>
    /// <exception cref="RefusedException">No face is installed; the message says what to install.</exception>
    public static void Use()
    {
        var fonts = Found.Value ?? throw new RefusedException(
            "No font is installed that the PDF can carry. Install DejaVu Sans (Debian: apt-get install fonts-dejavu-core), or print the HTML page, which looks the same.");
        GlobalFontSettings.FontResolver ??= fonts;
    }

    /// <inheritdoc/>
    public FontResolverInfo? ResolveTypeface(string familyName, bool bold, bool italic) => new(bold ? "bold" : "plain");

    /// <inheritdoc/>
    public byte[]? GetFont(string faceName) => File.ReadAllBytes(faceName == "bold" ? bold : plain);

    private static InstalledFonts? Find()
    {
        var folders = new[]
        {
            "/usr/share/fonts", "/usr/local/share/fonts", Path.Combine(Environment.GetFolderPath(Environment.SpecialFolder.UserProfile), ".fonts"),
            Environment.GetFolderPath(Environment.SpecialFolder.Fonts), "/System/Library/Fonts", "/Library/Fonts",
        };
        var files = folders.Where(f => f.Length > 0 && Directory.Exists(f))
            .SelectMany(f => Directory.EnumerateFiles(f, "*.ttf", new EnumerationOptions { RecurseSubdirectories = true, IgnoreInaccessible = true }))
            .GroupBy(f => Path.GetFileName(f), StringComparer.OrdinalIgnoreCase).ToDictionary(g => g.Key, g => g.First(), StringComparer.OrdinalIgnoreCase);
        foreach (var (plain, bold) in Known)
            if (files.TryGetValue(plain, out var regular)) return new InstalledFonts(regular, files.GetValueOrDefault(bold, regular));
        return null;
    }
}
