using CellWatch.Core.Imbalance;
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

/// <summary>The HTTP door to advice that is worked out when somebody asks, under <c>/advice</c>. It switches nothing.</summary>
public static class AdviceApi
{
    /// <summary>Longest night that may be asked for, h.</summary>
    private const double MostHours = 24;

    private static readonly TimeSpan Patience = TimeSpan.FromSeconds(5);

    /// <summary>Maps the endpoints.</summary>
    public static void MapAdviceApi(this IEndpointRouteBuilder app) =>
        app.MapGet("/advice/balance", Balance).WithName("balance").WithTags("advice").WithSummary("A plan for the next night of bleeding")
            .WithDescription(
                "Per cell the charge to take out, Ah, the hours it takes, and in whose turn it bleeds (odd or even). atPercent: level at which the cells are to be in line, 20 to 100, "
                + "else the one this pack is kept at; hours: longest night, above 0 to 24, else 10. The plan is empty, and says why, unless the pack has rested for half an hour near that level. "
                + "Cells of front ends that do not open their switches by themselves are never in it.")
            .ProducesProblem(StatusCodes.Status400BadRequest).ProducesProblem(StatusCodes.Status503ServiceUnavailable);

    private static async Task<Results<Ok<BalanceDocument>, ProblemHttpResult>> Balance(IBalanceDesk desk, double? atPercent, double? hours, CancellationToken cancellation)
    {
        if (atPercent is { } at && !(at is >= 20 and <= 100)) return Refused($"atPercent is {at}; allowed: 20 to 100.");
        if (hours is { } h && !(h is > 0 and <= MostHours)) return Refused($"hours is {h}; allowed: above 0 to {MostHours}.");
        using var patience = CancellationTokenSource.CreateLinkedTokenSource(cancellation);
        patience.CancelAfter(Patience);
        try
        {
            return await desk.PlanAsync(atPercent, hours ?? 10, patience.Token) is { } advice ? TypedResults.Ok(Document(advice)) : NotYet("No scan has been taken yet. Ask again in a second.");
        }
        catch (OperationCanceledException) when (!cancellation.IsCancellationRequested)
        {
            return NotYet("The pack's task is busy. Ask again in a few seconds.");
        }
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

    private static ProblemHttpResult NotYet(string why) => TypedResults.Problem(why, statusCode: StatusCodes.Status503ServiceUnavailable);
}
