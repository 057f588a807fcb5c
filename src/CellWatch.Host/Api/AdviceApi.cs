using CellWatch.Core.Imbalance;
using CellWatch.Core.Live;
using Microsoft.AspNetCore.Http.HttpResults;

namespace CellWatch.Host.Api;

/// <summary>One cell of a night's plan in an answer.</summary>
public sealed record BalanceCellDocument(string Cell, string Turn, double RemoveAh, double Hours, double LeftAh, double BleedA);

/// <summary>When switches may be on: the odd cells' turn, the even cells' turn, then a window in which all are off and cells are measured.</summary>
public sealed record BalanceScheduleDocument(double PeriodS, double TurnS, double MeasureS, double Duty, double FloorV, double BoardLimitDegC, IReadOnlyList<string> Stops);

/// <summary>A plan for the next night. Empty <paramref name="Cells"/> with a reason in <paramref name="Withheld"/> where none may be made.</summary>
public sealed record BalanceDocument(
    string Site, DateTimeOffset Time, bool Simulated, string Sentence, IReadOnlyList<string> LeftAlone, IReadOnlyList<string> Withheld, string Caution, string ByHand, double AtPercent, double? LevelPercent,
    double Hours, double TotalAh, double HeatWh, double SpreadAh, double ExpectedSpreadAh, BalanceScheduleDocument Schedule, IReadOnlyList<BalanceCellDocument> Cells);

/// <summary>What the record says of one cell; a figure that is not told is null.</summary>
public sealed record CauseDocument(
    string Cell, SuspectedCause Cause, string Evidence, string Decides, double? OffsetAh, double? CapacityAh, double? LeakA, double? ExtraMilliohm);

/// <summary>What the record says of the cells, named causes first.</summary>
public sealed record CausesDocument(string Site, DateTimeOffset Time, bool Simulated, int TooLittleOnRecord, IReadOnlyList<CauseDocument> Cells);

/// <summary>The HTTP door to advice that is worked out when somebody asks, under <c>/advice</c>. It switches nothing.</summary>
public static class AdviceApi
{
    /// <summary>Longest night that may be asked for, h.</summary>
    private const double MostHours = 24;

    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    /// <summary>Maps the endpoints.</summary>
    public static void MapAdviceApi(this IEndpointRouteBuilder app)
    {
        app.MapGet("/advice/causes", Causes).WithName("causes").WithTags("advice").WithSummary("Why cells stand out, or what would decide")
            .WithDescription(
                "One entry a cell of which the record says something: the cause where its rivals are excluded, by which figures, and what to do; else undecided, and the test that decides. "
                + "A figure that is not told is null. tooLittleOnRecord counts the cells of which nothing can be said yet.")
            .ProducesProblem(StatusCodes.Status503ServiceUnavailable);
        app.MapGet("/advice/links", Links).WithName("links").WithTags("advice").WithSummary("The link ledger: resistance of all links and difference of the meters, entry by entry")
            .ProducesProblem(StatusCodes.Status404NotFound).ProducesProblem(StatusCodes.Status503ServiceUnavailable);
        app.MapGet("/advice/balance", Balance).WithName("balance").WithTags("advice").WithSummary("A plan for the next night of bleeding")
            .WithDescription(
                "Per cell the charge to take out, Ah, the hours it takes, and in whose turn it bleeds (odd or even). atPercent: level at which the cells are to be in line, 20 to 100, "
                + "else the one this pack is kept at; hours: longest night, above 0 to 24, else 10. The plan is empty, and says why, unless the pack has rested for half an hour near that level. "
                + "Cells of front ends that do not open their switches by themselves are never in it.")
            .ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status503ServiceUnavailable);
    }

    private static Results<Ok<LinksDocument>, ProblemHttpResult> Links(ILiveView live) =>
        live.Latest is not { } state ? NotYet()
        : state.Links is { } links ? TypedResults.Ok(LinksDocument.Of(links, true))
        : TypedResults.Problem("Nothing is told of the links yet: it takes half an hour in which the current changes, every cell seen and a pack voltage measured.", statusCode: StatusCodes.Status404NotFound);

    private static async Task<Results<Ok<CausesDocument>, ProblemHttpResult>> Causes(IAdviceDesk desk, ILiveView live, CancellationToken cancellation) =>
        await WithPatience(desk.CausesAsync, cancellation) is { } advice && live.Latest is { } state ? TypedResults.Ok(Document(advice, state)) : NotYet();

    private static async Task<Results<Ok<BalanceDocument>, ProblemHttpResult>> Balance(IAdviceDesk desk, double? atPercent, double? hours, CancellationToken cancellation)
    {
        if (atPercent is { } at && !(at is >= 20 and <= 100)) return Refused($"atPercent is {at}; allowed: 20 to 100.");
        if (hours is { } h && !(h is > 0 and <= MostHours)) return Refused($"hours is {h}; allowed: above 0 to {MostHours}.");
        return await WithPatience(c => desk.PlanAsync(atPercent, hours ?? 10, c), cancellation) is { } advice ? TypedResults.Ok(Document(advice)) : NotYet();
    }

    /// <summary>Null before the first scan, and while the pack's task is busy for longer than a person waits.</summary>
    private static async Task<T?> WithPatience<T>(Func<CancellationToken, Task<T?>> ask, CancellationToken cancellation)
        where T : class
    {
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        patience.CancelAfter(Patience);
        try
        {
            return await ask(patience.Token);
        }
        catch (OperationCanceledException) when (!cancellation.IsCancellationRequested)
        {
            return null;
        }
    }

    private static CausesDocument Document(CausesAdvice advice, PackState state)
    {
        static double? Known(double v) => double.IsFinite(v) ? v : null;
        var layout = state.Layout;
        return new CausesDocument(
            layout.SiteName, state.Snapshot.Time.Wall, state.Simulated, advice.TooLittle,
            [.. advice.Findings.Select(f => new CauseDocument(layout.CellAt(f.Cell).ToString(), f.Cause, f.Evidence, f.Decides, Known(f.OffsetAh), Known(f.CapacityAh), Known(f.LeakA), Known(1000 * f.ExtraOhm)))]);
    }

    private static BalanceDocument Document(BalanceAdvice advice)
    {
        var (plan, schedule, layout) = (advice.Plan, advice.Schedule, advice.Map.Layout);
        return new BalanceDocument(
            layout.SiteName, advice.Time.Wall, advice.Simulated, plan.Sentence, plan.LeftAlone, plan.Withheld, plan.Caution, BalanceAdvice.ByHand, advice.ReferencePercent, advice.LevelPercent,
            plan.Hours, plan.TotalAh, plan.HeatWh, plan.SpreadAh, plan.ExpectedSpreadAh,
            new BalanceScheduleDocument(schedule.PeriodS, schedule.TurnS, schedule.MeasureS, schedule.Duty, schedule.FloorV, schedule.BoardLimitDegC, schedule.Stops),
            [.. plan.Cells.Select(c => new BalanceCellDocument(layout.CellAt(c.Cell).ToString(), c.OddTurn ? "odd" : "even", c.RemoveAh, c.Hours, c.LeftAh, c.BleedA))]);
    }

    private static ProblemHttpResult Refused(FormattableString why) => TypedResults.Problem(FormattableString.Invariant(why), statusCode: StatusCodes.Status400BadRequest);

    private static ProblemHttpResult NotYet() => TypedResults.Problem("No scan has been taken yet, or the pack's task is busy. Ask again in a few seconds.", statusCode: StatusCodes.Status503ServiceUnavailable);
}
