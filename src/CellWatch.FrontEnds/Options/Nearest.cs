namespace CellWatch.FrontEnds.Options;

/// <summary>Finds the name a person probably meant.</summary>
internal static class Nearest
{
    /// <summary>The candidate with the fewest single-letter changes, case ignored; empty where none is near (more than a third of the letters).</summary>
    public static string Of(string wanted, IEnumerable<string> candidates)
    {
        var best = "";
        var fewest = Math.Max(2, wanted.Length / 3) + 1;
        foreach (var candidate in candidates)
        {
            var changes = Distance(wanted, candidate);
            if (changes >= fewest) continue;
            fewest = changes;
            best = candidate;
        }

        return best;
    }

    /// <summary>Levenshtein distance, case ignored.</summary>
    private static int Distance(string a, string b)
    {
        var row = Enumerable.Range(0, b.Length + 1).ToArray();
        for (var i = 1; i <= a.Length; i++)
        {
            var diagonal = row[0];
            row[0] = i;
            for (var j = 1; j <= b.Length; j++)
            {
                var same = char.ToUpperInvariant(a[i - 1]) == char.ToUpperInvariant(b[j - 1]) ? 0 : 1;
                (diagonal, row[j]) = (row[j], Math.Min(Math.Min(row[j], row[j - 1]) + 1, diagonal + same));
            }
        }

        return row[^1];
    }
}
