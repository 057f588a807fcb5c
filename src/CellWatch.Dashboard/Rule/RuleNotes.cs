using System.Text.Json;
using CellWatch.Core.Live;
using CellWatch.Dashboard.Live;
using CellWatch.Dashboard.Texts;

namespace CellWatch.Dashboard.Rule;

/// <summary>A limit that falls on the rule: an edge line at the value, 14 px of hatch on the forbidden side, its words set in.</summary>
/// <param name="At">Where, in display units from the median.</param>
/// <param name="Side">1: forbidden above; -1: forbidden below.</param>
/// <param name="Words">Set into the hatch; empty for none.</param>
public sealed record RuleLimit(double At, int Side, string Words);

/// <summary>Name and figure beside a mark that stands out.</summary>
/// <param name="At">Position in the frame.</param>
/// <param name="Text">As written.</param>
public sealed record RuleLabel(int At, string Text);

/// <summary>What is written on the rule beside its marks. Sent to the browser only when it changed.</summary>
public sealed record RuleNotes
{
    /// <summary>Most labels; more would shout.</summary>
    public const int MaxLabels = 4;

    /// <summary>The median in words; empty where it is not known.</summary>
    public string Median { get; init; } = "";

    /// <summary>The median as a number, for the cursor; null where it is not known.</summary>
    public double? MedianValue { get; init; }

    /// <summary>Figure and unit of the spread; null where it is not known.</summary>
    public string[]? Spread { get; init; }

    /// <summary>Limits.</summary>
    public IReadOnlyList<RuleLimit> Limits { get; init; } = [];

    /// <summary>Labels.</summary>
    public IReadOnlyList<RuleLabel> Labels { get; init; } = [];

    /// <summary>Words in the columns of modules without data, by identity.</summary>
    public IReadOnlyDictionary<string, string[]> Columns { get; init; } = new Dictionary<string, string[]>(StringComparer.Ordinal);

    /// <summary>A text that differs when any part differs.</summary>
    public string Key() => JsonSerializer.Serialize(this);

    /// <summary>Takes them from a state.</summary>
    public static RuleNotes From(PackState state, RuleFrame frame, string medianWords, Picture picture) => new()
    {
        Median = medianWords,
        MedianValue = frame.Median,
        Spread = SpreadOf(state, frame),
        Limits = frame.Mode == RuleMode.Voltage ? LimitsOf(state) : [],
        Labels = LabelsOf(state, frame),
        Columns = LostColumns(state, picture),
    };

    private static string[]? SpreadOf(PackState state, RuleFrame frame)
    {
        if (frame.Mode == RuleMode.Voltage && state.Summary.SpreadV is { } v) return [Figures.Number(v * 1000, 0), "mV"];
        if (frame is not { Highest: { } h, Lowest: { } l }) return null;
        return [Figures.Number(frame.Deviation[h] - frame.Deviation[l], frame.Scale.Decimals), frame.Scale.Unit];
    }

    private static List<RuleLimit> LimitsOf(PackState state)
    {
        var limits = new List<RuleLimit>();
        if (state.Summary.MedianV is not { } median) return limits;
        double At(double limitV) => (limitV - median) * 1000;
        if (state.Summary.DeviationWarnV is { } warn)
        {
            var because = state.Summary.DeviationWarnBecause;
            var words = (because.Length > 0 ? because + ", " : "") + Figures.With(warn * 1000, 0, "mV");
            limits.Add(new RuleLimit(-warn * 1000, -1, words));
            limits.Add(new RuleLimit(warn * 1000, 1, ""));
        }

        var charging = state.Summary.Mode == PackMode.Charging;
        if (charging && state.Charge is { } charge) limits.Add(new RuleLimit(At(charge.TargetV), 1, T($"charge target {Figures.CellVoltage(charge.TargetV)}")));
        if (state.Limits is { } l)
        {
            limits.Add(new RuleLimit(At(l.HighStopV), 1, T($"top limit {Figures.CellVoltage(l.HighStopV)}")));
            var bottom = state.Summary.Mode == PackMode.Discharging ? l.LowLoadStopV : l.LowRestStopV;
            limits.Add(new RuleLimit(At(bottom), -1, T($"bottom limit {Figures.CellVoltage(bottom)}")));
        }

        return limits;
    }

    private static List<RuleLabel> LabelsOf(PackState state, RuleFrame frame)
    {
        var labels = new List<RuleLabel>();
        if (frame.Mode == RuleMode.Temperature) return labels;
        foreach (var cell in state.StandsOut.Select(s => s.Cell).Concat(state.Alarms.Where(a => a.IsActive).Select(a => a.Cell)))
        {
            if (frame.PositionOf(cell) is not { } at || double.IsNaN(frame.Deviation[at]) || labels.Any(l => l.At == at)) continue;
            labels.Add(new RuleLabel(at, $"{frame.NameAt(at)}  {Figures.With(frame.Deviation[at], frame.Scale.Decimals, frame.Scale.Unit, signed: true)}"));
            if (labels.Count == MaxLabels) break;
        }

        return labels;
    }

    private static Dictionary<string, string[]> LostColumns(PackState state, Picture picture)
    {
        var said = new Dictionary<string, string[]>(StringComparer.Ordinal);
        var layout = state.Layout;
        for (var m = 0; m < layout.Modules.Length; m++)
        {
            var youngestUs = long.MaxValue;
            var lost = true;
            for (var cell = layout.FirstCell(m); cell < layout.FirstCell(m + 1) && lost; cell++)
            {
                lost = state.CellStates[cell] == StateWord.NoData;
                youngestUs = Math.Min(youngestUs, state.Snapshot.AgeUs[cell]);
            }

            if (!lost) continue;
            said[layout.Modules[m].Id.Text] = youngestUs == long.MaxValue
                ? T("no data yet").Split(' ')
                : T($"no data since {picture.Minute(state.Snapshot.Time.WallUnixMs - youngestUs / 1000)}").Split(' ');
        }

        return said;
    }
}
