namespace CellWatch.Core.Wording;

/// <summary>Finds the name a person probably meant, for error messages.</summary>
public static class NearestName
{
    /// <summary>
    /// The candidate with the smallest edit distance (Levenshtein: insertions, deletions, substitutions; case ignored), or null
    /// where even the best differs in more than half of its letters and would only confuse.
    /// </summary>
    public static string? Of(string typed, IEnumerable<string> candidates)
    {
        string? best = null;
        var bestDistance = int.MaxValue;
        foreach (var candidate in candidates)
        {
            var distance = Distance(typed, candidate);
            if (distance >= bestDistance) continue;
            bestDistance = distance;
            best = candidate;
        }

        return best is not null && bestDistance <= Math.Max(1, Math.Max(typed.Length, best.Length) / 2) ? best : null;
    }

    /// <summary>A sentence part: <c>; did you mean 'topology'?</c>, or nothing where no name is near.</summary>
    public static string Suggestion(string typed, IEnumerable<string> candidates) =>
        Of(typed, candidates) is { } near ? T($"; did you mean '{near}'?") : "";

    /// <summary>Edit distance after Levenshtein: insertions, deletions and substitutions of single letters, case ignored.</summary>
    public static int Distance(string a, string b)
    {
        var previous = new int[b.Length + 1];
        var current = new int[b.Length + 1];
        for (var j = 0; j <= b.Length; j++) previous[j] = j;
        for (var i = 1; i <= a.Length; i++)
        {
            current[0] = i;
            for (var j = 1; j <= b.Length; j++)
            {
                var same = char.ToUpperInvariant(a[i - 1]) == char.ToUpperInvariant(b[j - 1]) ? 0 : 1;
                current[j] = Math.Min(Math.Min(previous[j] + 1, current[j - 1] + 1), previous[j - 1] + same);
            }

            (previous, current) = (current, previous);
        }

        return previous[b.Length];
    }
}
