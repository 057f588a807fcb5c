using System.Globalization;
using System.Runtime.CompilerServices;

namespace CellWatch.Core.Wording;

/// <summary>
/// An interpolated text on its way to the screen. In English it is formatted as it is written, invariantly and without a detour. In another
/// language the written pieces make up the key, <c>Keep {0}. {1} will be first</c>, and what stands in the holes is put into its translation.
/// </summary>
[InterpolatedStringHandler]
public ref struct TextWithHoles
{
    private readonly Language? _language;
    private readonly List<string>? _holes;
    private DefaultInterpolatedStringHandler _text;

    /// <summary>Called by the compiler.</summary>
    /// <param name="literalLength">Characters that are written.</param>
    /// <param name="formattedCount">Holes.</param>
    public TextWithHoles(int literalLength, int formattedCount)
        : this(literalLength, formattedCount, Texts.Other)
    {
    }

    /// <summary>Called by the compiler, for a language named at the call.</summary>
    /// <param name="literalLength">Characters that are written.</param>
    /// <param name="formattedCount">Holes.</param>
    /// <param name="language">The language; null for English.</param>
    public TextWithHoles(int literalLength, int formattedCount, Language? language)
    {
        _language = language;
        _text = new DefaultInterpolatedStringHandler(literalLength, formattedCount, CultureInfo.InvariantCulture);
        if (language is not null) _holes = new List<string>(formattedCount);
    }

    /// <summary>A written piece.</summary>
    public void AppendLiteral(string value) => _text.AppendLiteral(_holes is null ? value : Language.Escape(value));

    /// <summary>A hole.</summary>
    public void AppendFormatted<T>(T value) => AppendFormatted(value, 0, null);

    /// <summary>A hole with a format.</summary>
    public void AppendFormatted<T>(T value, string? format) => AppendFormatted(value, 0, format);

    /// <summary>A hole with a width.</summary>
    public void AppendFormatted<T>(T value, int alignment) => AppendFormatted(value, alignment, null);

    /// <summary>A hole with a width and a format.</summary>
    public void AppendFormatted<T>(T value, int alignment, string? format)
    {
        if (_holes is null)
        {
            _text.AppendFormatted(value, alignment, format);
            return;
        }

        _text.AppendLiteral(string.Create(CultureInfo.InvariantCulture, $"{{{_holes.Count}}}"));
        var hole = new DefaultInterpolatedStringHandler(0, 1, CultureInfo.InvariantCulture);
        hole.AppendFormatted(value, alignment, format);
        _holes.Add(hole.ToStringAndClear());
    }

    /// <summary>The text in the language that was spoken when it was begun.</summary>
    internal string Fill()
    {
        var text = _text.ToStringAndClear();
        return _holes is null ? text : string.Format(CultureInfo.InvariantCulture, _language!.Of(text), _holes.ToArray<object>());
    }
}
