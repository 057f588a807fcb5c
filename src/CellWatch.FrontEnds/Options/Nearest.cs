using CellWatch.Core.Wording;

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
            var changes = NearestName.Distance(wanted, candidate);
            if (changes >= fewest) continue;
            fewest = changes;
            best = candidate;
        }

        return best;
    }
}
