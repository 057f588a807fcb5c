using System.Globalization;
using CellWatch.Core.Imbalance;
using CellWatch.Dashboard.Texts;
using Microsoft.AspNetCore.Components;

namespace CellWatch.Dashboard.Parts;

/// <summary>The plan of the next night, for the level chosen here.</summary>
public sealed partial class NextNight
{
    private const int FewRows = 8;
    private const double LongestH = 10;

    private double? _atPercent;
    private string? _typed;
    private string _refused = "";
    private bool _all;

    private string Level => _typed ?? (Advice is { } advice ? Figures.Number(advice.ReferencePercent, 0) : "");

    private string Trouble => _refused.Length > 0 ? _refused : WasBusy ? T("The pack's task is busy: the plan is asked for again in a moment.") : "";

    /// <inheritdoc/>
    protected override Task<BalanceAdvice?> QuestionAsync(IAdviceDesk desk, CancellationToken cancellation) => desk.PlanAsync(_atPercent, LongestH, cancellation);

    private async Task ChooseAsync(ChangeEventArgs typed)
    {
        var text = typed.Value?.ToString()?.Trim() ?? "";
        if (text.Length == 0) (_atPercent, _typed, _refused) = (null, null, "");
        else if (double.TryParse(text, NumberStyles.Float, CultureInfo.InvariantCulture, out var percent) && percent is >= 20 and <= 100) (_atPercent, _typed, _refused) = (percent, text, "");
        else
        {
            (_typed, _refused) = (text, T($"'{text}' is no level to plan for: 20 to 100 %."));
            return;
        }

        await AskAsync();
    }

    private static string Turns(BleedSchedule schedule) =>
        T($"Every {Figures.Duration(schedule.PeriodS)}: odd cells of each module for {Minutes(schedule.TurnS)}, even cells for {Minutes(schedule.TurnS)}, then all off for {Minutes(schedule.MeasureS)} to settle and be measured.");

    private static string Minutes(double s) => Figures.With(s / 60, s % 60 == 0 ? 0 : 1, "min");

    private static string Link(string cell) => T($"module-sheet/{cell.Split('.')[0]}?cell={cell.Split('.')[^1]}");
}
