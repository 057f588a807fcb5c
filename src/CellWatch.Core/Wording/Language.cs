using System.Collections.Frozen;
using System.Diagnostics.CodeAnalysis;
using System.Runtime.CompilerServices;
using System.Text;
using System.Text.RegularExpressions;
using System.Xml;
using System.Xml.Linq;

namespace CellWatch.Core.Wording;

/// <summary>
/// One language beside English: every text by its English. A text it lacks is said in English. The files lie in this assembly as they are
/// and are asked for by name: the process knows no culture but the invariant one, so satellite assemblies would not be found, and a compiled
/// resource takes two names that differ only in capitals for one.
/// </summary>
public sealed partial class Language
{
    private const string Prefix = "CellWatch.Core.Wording.Texts.";
    private const string Suffix = ".resx";

    private readonly FrozenDictionary<string, string> _texts;

    /// <summary>Takes the texts of a language.</summary>
    /// <param name="tag">Its tag (BCP 47), as in <c>Texts.LL.resx</c>.</param>
    /// <param name="texts">Translations by English text.</param>
    /// <exception cref="FormatException">A translation has other holes than its English text, or a brace that is none.</exception>
    public Language(string tag, IEnumerable<KeyValuePair<string, string>> texts)
    {
        Tag = tag;
        _texts = texts.Where(t => t.Value.Length > 0).ToFrozenDictionary(StringComparer.Ordinal);
        foreach (var (english, said) in _texts)
            if (!Fits(english, said)) throw new FormatException($"Language {tag}: the holes of \"{said}\" are not those of \"{english}\".");
    }

    /// <summary>Its tag (BCP 47).</summary>
    public string Tag { get; }

    /// <summary>Tags of the languages in this build, English first.</summary>
    public static IReadOnlyList<string> Carried { get; } =
    [
        Texts.English,
        .. typeof(Language).Assembly.GetManifestResourceNames()
            .Where(n => n.StartsWith(Prefix, StringComparison.Ordinal) && n.EndsWith(Suffix, StringComparison.Ordinal) && n.Length > Prefix.Length + Suffix.Length)
            .Select(n => n[Prefix.Length..^Suffix.Length]).Order(StringComparer.Ordinal),
    ];

    /// <summary>A language in this build; null for English.</summary>
    /// <exception cref="ArgumentException">There is none of that tag; the message names those there are.</exception>
    /// <exception cref="FormatException">A text of it cannot be used.</exception>
    public static Language? Named(string tag)
    {
        if (tag == Texts.English) return null;
        if (!Carried.Contains(tag, StringComparer.Ordinal)) throw new ArgumentException($"'{tag}' is not one of {string.Join(", ", Carried)}{NearestName.Suggestion(tag, Carried)}");
        using var file = new StreamReader(typeof(Language).Assembly.GetManifestResourceStream(Prefix + tag + Suffix)!, Encoding.UTF8);
        return Parse(tag, file.ReadToEnd());
    }

    /// <summary>A language from the text of its file.</summary>
    /// <param name="tag">Its tag.</param>
    /// <param name="resx">The file: XML as resource editors write it.</param>
    /// <exception cref="FormatException">It is no such file, or a text in it cannot be used.</exception>
    public static Language Parse(string tag, string resx)
    {
        try
        {
            return new Language(tag, XDocument.Parse(resx, LoadOptions.PreserveWhitespace).Root!.Elements("data")
                .Select(d => KeyValuePair.Create((string?)d.Attribute("name") ?? "", (string?)d.Element("value") ?? "")));
        }
        catch (Exception fault) when (fault is XmlException or ArgumentException)
        {
            throw new FormatException($"Language {tag}: this is no file of texts, or a text stands in it twice: {fault.Message}", fault);
        }
    }

    /// <summary>A text with holes in this language, whatever the process speaks.</summary>
    /// <param name="english">The English text.</param>
    [SuppressMessage("Performance", "CA1822", Justification = "The handler of the text is made from this language.")]
    public string Say([InterpolatedStringHandlerArgument("")] TextWithHoles english) => english.Fill();

    /// <summary>The text in this language.</summary>
    internal string Of(string english) => _texts.GetValueOrDefault(english, english);

    /// <summary>A written piece as it stands in the key of a text with holes.</summary>
    internal static string Escape(string written) => written.AsSpan().IndexOfAny('{', '}') < 0
        ? written
        : written.Replace("{", "{{", StringComparison.Ordinal).Replace("}", "}}", StringComparison.Ordinal);

    // Whatever passes here can be filled later without a fault.
    private static bool Fits(string english, string said)
    {
        var holes = Hole().Matches(english).Select(m => m.Value).ToHashSet(StringComparer.Ordinal);
        if (!holes.SetEquals(Hole().Matches(said).Select(m => m.Value))) return false;
        // A rule's sentence has holes with names; AlarmWording fills them.
        if (!holes.Any(h => char.IsAsciiDigit(h[1]))) return true;
        try
        {
            return CompositeFormat.Parse(said).MinimumArgumentCount == holes.Count;
        }
        catch (FormatException)
        {
            return false;
        }
    }

    [GeneratedRegex(@"(?<!\{)\{\w+\}(?!\})", RegexOptions.CultureInvariant)]
    private static partial Regex Hole();
}
