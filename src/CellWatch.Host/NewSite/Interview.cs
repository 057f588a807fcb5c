using System.Globalization;

namespace CellWatch.Host.NewSite;

/// <summary>Asks questions on a console; an empty line takes the proposed answer, a wrong one is asked again with the reason.</summary>
public sealed class Interview(TextReader input, TextWriter output)
{
    /// <summary>Asks for a text.</summary>
    /// <param name="question">The question.</param>
    /// <param name="proposed">Taken for an empty line.</param>
    /// <param name="refuse">Says why an answer will not do, or null.</param>
    /// <exception cref="EndOfStreamException">Nobody answers any more.</exception>
    public string Ask(string question, string proposed, Func<string, string?>? refuse = null)
    {
        while (true)
        {
            output.Write(proposed.Length > 0 ? $"{question} [{proposed}]: " : $"{question}: ");
            var line = input.ReadLine() ?? throw new EndOfStreamException("The answers ended before the questions. Nothing was written.");
            var answer = line.Trim().Length > 0 ? line.Trim() : proposed;
            if (refuse?.Invoke(answer) is not { } reason) return answer;
            output.WriteLine($"  {reason}");
        }
    }

    /// <summary>Asks for one of several, by number or by word.</summary>
    public T Choose<T>(string question, IReadOnlyList<(T Value, string Words)> choices, int proposed)
    {
        output.WriteLine(question);
        for (var i = 0; i < choices.Count; i++) output.WriteLine(string.Create(CultureInfo.InvariantCulture, $"  {i + 1}  {choices[i].Words}"));
        var text = Ask("Number", (proposed + 1).ToString(CultureInfo.InvariantCulture), answer =>
            int.TryParse(answer, NumberStyles.None, CultureInfo.InvariantCulture, out var n) && n >= 1 && n <= choices.Count ? null : $"Give a number from 1 to {choices.Count}.");
        return choices[int.Parse(text, CultureInfo.InvariantCulture) - 1].Value;
    }

    /// <summary>Asks yes or no.</summary>
    public bool Confirm(string question, bool proposed) =>
        Ask(question, proposed ? "yes" : "no", answer => answer.ToLowerInvariant() is "yes" or "y" or "no" or "n" ? null : "Answer yes or no.") is ['y' or 'Y', ..];

    /// <summary>Says something.</summary>
    public void Say(string text) => output.WriteLine(text);
}
