using System.Text.Json;
using CellWatch.Core.Register;
using CellWatch.Host.Bench;

namespace CellWatch.Host.Api;

/// <summary>How the bench answers: a refusal is a sentence in problem details, 409 where someone else was first, 422 else.</summary>
internal static class BenchAnswers
{
    /// <summary>Reads something.</summary>
    public static IResult Read<T>(BenchDoor door, Func<Core.Bench.Project.BenchProject, T> read) => Answer(() => door.Read(read));

    /// <summary>Enters something.</summary>
    public static IResult Enter<TEntry, TAnswer>(BenchDoor door, BenchEntry<TEntry>? body, Func<Core.Bench.Project.BenchProject, TEntry, Core.Bench.Project.Stamp, TAnswer> enter)
    {
        if (body is null || body.Entry is null) return NoEntry();
        return Answer(() => door.Enter(body.By, body.Simulated, (project, who) => enter(project, body.Entry, who)));
    }

    /// <summary>Does something that is not itself a record, with what it needs from the body.</summary>
    public static IResult Play<TEntry, TAnswer>(BenchEntry<TEntry>? body, Func<TAnswer> play) => body is null || body.Entry is null ? NoEntry() : Answer(play);

    /// <summary>The same for something that takes a while.</summary>
    public static async Task<IResult> PlayAsync<TEntry, TAnswer>(BenchEntry<TEntry>? body, Func<Task<TAnswer>> play)
    {
        if (body is null || body.Entry is null) return NoEntry();
        try
        {
            return Taken(await play());
        }
        catch (RefusedException refused)
        {
            return Refusal(refused);
        }
    }

    /// <summary>A kept thing as a document.</summary>
    public static BenchDocument<T> Document<T>(Kept<T> kept) => new(kept.Value, kept.Record.Revision, kept.Record.By, kept.Record.At, kept.Record.Simulated);

    /// <summary>An outcome with the record it is kept in.</summary>
    public static JudgedDocument<T> Judged<T>(T outcome, BenchRecord record) => new(outcome, record.Revision, record.By, record.At, record.Simulated);

    /// <summary>A word of an address, upper or lower case and with or without dashes.</summary>
    /// <exception cref="RefusedException">It is none of the words; the message lists them.</exception>
    public static TWord Word<TWord>(string text)
        where TWord : struct, Enum =>
        Enum.TryParse<TWord>(text.Replace("-", "", StringComparison.Ordinal), ignoreCase: true, out var word) && Enum.IsDefined(word)
            ? word
            : throw new RefusedException($"'{text}' is none of {string.Join(", ", Enum.GetNames<TWord>())}{Core.Wording.NearestName.Suggestion(text, Enum.GetNames<TWord>())}.");

    private static IResult Answer<T>(Func<T> work)
    {
        try
        {
            return Taken(work());
        }
        catch (RefusedException refused)
        {
            return Refusal(refused);
        }
    }

    private static IResult Taken<T>(T answer) => answer is IResult result ? result : Results.Json(answer, RecordJson.Options);

    private static IResult Refusal(RefusedException refused) =>
        Results.Problem(refused.Message, statusCode: refused.IsConflict ? StatusCodes.Status409Conflict : StatusCodes.Status422UnprocessableEntity);

    private static IResult NoEntry() => Results.Problem("Send an object with 'by' (your name) and 'entry'.", statusCode: StatusCodes.Status400BadRequest);
}
