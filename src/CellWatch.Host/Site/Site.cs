using CellWatch.Core.Pack;

namespace CellWatch.Host.Site;

/// <summary>A checked site: everything the service needs, ready to be used.</summary>
/// <param name="Document">The file as written.</param>
/// <param name="Folder">The folder relative paths start from.</param>
/// <param name="Layout">The pack.</param>
/// <param name="CellType">The cell type with the site's own limits; null where none is chosen.</param>
public sealed record Site(SiteDocument Document, string Folder, PackLayout Layout, CellType? CellType)
{
    /// <summary>Full path of the cell log.</summary>
    public string LogFile => Path.GetFullPath(Path.Combine(Folder, Document.Log.File.Length > 0 ? Document.Log.File : $"{Document.Site}.cells.db"));
}
