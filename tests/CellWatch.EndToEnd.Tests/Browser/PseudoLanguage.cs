using System.Text.RegularExpressions;
using System.Xml.Linq;
using CellWatch.EndToEnd.Tests.Support;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>
/// A language nobody speaks: every letter of every English text is exchanged for one with a mark, so that a person can still read it, and
/// whatever shows plain letters did not come from the file of texts. Holes keep their numbers and names.
/// </summary>
internal static partial class PseudoLanguage
{
    /// <summary>Its tag, one for private use (BCP 47).</summary>
    public const string Tag = "x-marked";

    private const string Plain = "abcdefghijklmnopqrstuvwxyzABCDEFGHIJKLMNOPQRSTUVWXYZ";
    private const string Marked = "áƀçđéƒğħíĵķłɱñóþɋŕšŧúṽŵẋýžÁɃÇĐÉƑĞĦÍĴĶŁṀÑÓÞɊŔŠŦÚṼŴẊÝŽ";

    /// <summary>Writes it as a file of texts, made from the English one.</summary>
    /// <returns>Its path.</returns>
    public static string Write(string folder)
    {
        var file = XDocument.Load(Path.Combine(Repository.Root, "src", "CellWatch.Core", "Wording", "Texts.resx"), LoadOptions.PreserveWhitespace);
        foreach (var text in file.Root!.Elements("data")) text.Element("value")!.Value = Of(text.Attribute("name")!.Value);
        var path = Path.Combine(folder, $"Texts.{Tag}.resx");
        file.Save(path);
        return path;
    }

    /// <summary>A text in it.</summary>
    public static string Of(string english) =>
        Piece().Replace(english, piece => piece.Value[0] == '{' ? piece.Value : string.Concat(piece.Value.Select(c => Plain.IndexOf(c) is >= 0 and var at ? Marked[at] : c)));

    [GeneratedRegex(@"\{\w+\}|[^{]+|\{")]
    private static partial Regex Piece();
}
