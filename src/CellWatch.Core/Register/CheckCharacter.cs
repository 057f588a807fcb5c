using CellWatch.Core.Pack;

namespace CellWatch.Core.Register;

/// <summary>
/// The character printed behind an identity (<c>B07-K</c>) so that a mistyped one is noticed: any single wrong character is found, and
/// all but one exchange of neighbours.
/// <para>Source: ISO 7064, hybrid system MOD 37,36 (from memory; checked against the published example of the global release identifier).</para>
/// </summary>
public static class CheckCharacter
{
    private const string Characters = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";

    /// <summary>The check character of a text of letters and digits.</summary>
    /// <exception cref="FormatException">A character is neither.</exception>
    public static char Of(string text)
    {
        var product = 36;
        foreach (var character in text.ToUpperInvariant())
        {
            var value = Characters.IndexOf(character, StringComparison.Ordinal);
            if (value < 0) throw new FormatException($"'{character}' is neither a letter nor a digit.");
            var sum = (product + value) % 36;
            product = (sum == 0 ? 36 : sum) * 2 % 37;
        }

        return Characters[(37 - product) % 36];
    }

    /// <summary>The identity as it stands on the label.</summary>
    public static string Label(ModuleId id) => $"{id.Text}-{Of(id.Text)}";

    /// <summary>Reads what a person typed: <c>B07-K</c>, checked, or <c>B07</c> alone, which cannot be checked.</summary>
    /// <exception cref="RefusedException">No identity, or the check character does not fit.</exception>
    public static ModuleId Read(string? typed)
    {
        var text = (typed ?? "").Trim();
        var dash = text.IndexOf('-', StringComparison.Ordinal);
        var identity = dash < 0 ? text : text[..dash];
        RefusedException.Unless(ModuleId.IsValid(identity),
            $"'{text}' is no module identity: use one to eight letters or digits, for example B07, with the check character behind a dash if you read it from a label.");
        var id = new ModuleId(identity);
        if (dash < 0) return id;
        var given = text[(dash + 1)..].ToUpperInvariant();
        RefusedException.Unless(given.Length == 1 && given[0] == Of(id.Text),
            $"The check character of '{text}' does not fit {id}: read the label again. A wrong letter or digit shows like this.");
        return id;
    }
}
