using System.Net;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.Texts;

/// <summary>Marks within a sentence, so that the sentence stays one text: <c>Markup.Of(T($"Type {Markup.Code("cellwatch")}."))</c>.</summary>
public static class Markup
{
    /// <summary>A sentence with marks in it.</summary>
    public static MarkupString Of(string sentence) => new(sentence);

    /// <summary>Something to type.</summary>
    public static string Code(string typed) => $"<code>{WebUtility.HtmlEncode(typed)}</code>";

    /// <summary>Something that must be seen.</summary>
    public static string Bold(string words) => $"<b>{WebUtility.HtmlEncode(words)}</b>";

    /// <summary>A way to another page.</summary>
    public static string Link(string address, string words) => $"<a href=\"{WebUtility.HtmlEncode(address)}\">{WebUtility.HtmlEncode(words)}</a>";
}
