namespace CellWatch.Core.Pack;

/// <summary>
/// A module's identity, given once and kept for ever (<c>B07</c>); not its slot, which can change.
/// One to eight letters or digits, upper case. <c>default</c> has an empty <see cref="Text"/> and names no module.
/// </summary>
public readonly record struct ModuleId
{
    /// <exception cref="FormatException">The text is not one to eight letters or digits.</exception>
    public ModuleId(string text)
    {
        if (!IsValid(text))
            throw new FormatException($"'{text}' is no module identity: use one to eight letters or digits, for example B07.");
        Text = text.ToUpperInvariant();
    }

    /// <summary>The identity as written on the module's label.</summary>
    public string Text { get => field ?? ""; }

    /// <summary>Whether a text can be a module identity.</summary>
    public static bool IsValid(string? text) =>
        text is { Length: >= 1 and <= 8 } && text.All(char.IsAsciiLetterOrDigit);

    /// <inheritdoc/>
    public override string ToString() => Text;
}
