namespace CellWatch.Core.Wording;

/// <summary>
/// The texts a person reads, in the language of this process. The English text in the code is the key, so code reads as the page does:
/// <c>T("Who limits next")</c>, <c>T($"{cell} first in about {time}")</c>. Every such text stands in <c>Texts.resx</c>; another language is
/// one file <c>Texts.LL.resx</c>. The argument is a literal, never a variable: a test lists the texts by reading the sources.
/// </summary>
public static class Texts
{
    /// <summary>The language of the code itself.</summary>
    public const string English = "en";

    /// <summary>The other language; null while English is spoken, which needs no look-up.</summary>
    internal static Language? Other { get; private set; }

    /// <summary>Tag of the language spoken, as written in a document's <c>lang</c> (BCP 47).</summary>
    public static string Spoken => Other?.Tag ?? English;

    /// <summary>
    /// Chooses the language of the whole process. Called once at the start, before anything is worked out: tables and records keep the
    /// words they were made with.
    /// </summary>
    /// <param name="language">The language; null for English.</param>
    public static void Speak(Language? language) => Other = language;

    /// <summary>A text without figures.</summary>
    /// <param name="english">The English text.</param>
    public static string T(string english) => Other is { } other ? other.Of(english) : english;

    /// <summary>A text with figures in it, formatted invariantly. A call cannot lose its holes: an interpolated string never binds to the other form.</summary>
    /// <param name="english">The English text; its holes are numbered in the order they are written.</param>
    public static string T(TextWithHoles english) => english.Fill();

    /// <summary>The same for a text that is written elsewhere: the scripts' words, which C# only hands over.</summary>
    /// <param name="english">The English text, its holes numbered.</param>
    public static string TextOf(string english) => Other is { } other ? other.Of(english) : english;
}
