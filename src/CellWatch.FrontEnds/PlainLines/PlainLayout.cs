using System.Text;
using CellWatch.FrontEnds.Options;

namespace CellWatch.FrontEnds.PlainLines;

/// <summary>One field of a group; <see cref="Channel"/> is -1 for a field that is skipped.</summary>
internal readonly record struct PlainField(int Channel, double Scale, double Offset, double Minimum, double Maximum, bool IsIdentity)
{
    public static PlainField Skipped { get; } = new(-1, 1, 0, 0, 0, false);
}

/// <summary>The fields behind one prefix, in order, without a gap.</summary>
internal sealed record PlainGroup(byte[] Prefix, PlainField[] Fields);

/// <summary>A mapping of plain lines to channels, worked out and checked once.</summary>
internal sealed class PlainLayout
{
    private const int MostFields = 256;
    private readonly PlainGroup[] _groups;

    private PlainLayout(PlainLineOptions options, PlainGroup[] groups)
    {
        _groups = groups;
        Separator = options.Separator == "blank" ? null : (byte)options.Separator[0];
        GroupSeparator = options.GroupSeparator.Length == 0 ? null : (byte)options.GroupSeparator[0];
        Missing = [.. options.Missing.Select(Encoding.ASCII.GetBytes)];
        Comment = Encoding.ASCII.GetBytes(options.Comment);
        HasIdentity = groups.Any(g => g.Fields.Any(f => f.IsIdentity));
        MaxReadings = groups.Sum(g => g.Fields.Count(f => f.Channel >= 0));
    }

    /// <summary>Parts fields; null for runs of blanks.</summary>
    public byte? Separator { get; }

    /// <summary>Parts groups; null where a line is one group.</summary>
    public byte? GroupSeparator { get; }

    public byte[][] Missing { get; }

    public byte[] Comment { get; }

    public bool HasIdentity { get; }

    /// <summary>Most readings a line gives when each group stands in it once; more is refused as a wrong number of fields.</summary>
    public int MaxReadings { get; }

    /// <summary>Every channel the mapping feeds.</summary>
    public IEnumerable<int> Channels => _groups.SelectMany(g => g.Fields).Select(f => f.Channel).Where(c => c >= 0);

    /// <summary>The group a piece of text belongs to by its first field; null where none fits.</summary>
    public PlainGroup? Find(ReadOnlySpan<byte> text)
    {
        new FieldReader(text, Separator).TryTake(out var first);
        first = first.Trim(" \t"u8);
        PlainGroup? bare = null;
        foreach (var group in _groups)
        {
            if (group.Prefix.Length == 0) bare = group;
            else if (first.SequenceEqual(group.Prefix)) return group;
        }

        return bare;
    }

    /// <summary>Works the mapping out; null, with the problems added, where it is not valid.</summary>
    public static PlainLayout? Build(PlainLineOptions options, BoardChannels channels, bool invertCurrent, List<OptionProblem> problems)
    {
        var before = problems.Count;
        if (options.Separator != "blank" && options.Separator is not [> ' ' and < (char)127] && options.Separator != "\t")
            problems.Add(new("plainLines.separator", options.Separator, "one character, or 'blank' for runs of blanks and tabs", Nearest.Of(options.Separator, ["blank"])));
        if (options.GroupSeparator.Length > 1 || options.GroupSeparator.Length == 1 && options.GroupSeparator == options.Separator)
            problems.Add(new("plainLines.groupSeparator", options.GroupSeparator, "one character other than the separator, or empty"));
        if (options.Runs.Count == 0) problems.Add(new("plainLines.runs", "", "at least one run of fields"));

        var user = new Dictionary<int, string>();
        var groups = options.Runs.GroupBy(r => r.Prefix, StringComparer.Ordinal)
            .Select(g => BuildGroup(g.Key, g, options, channels, invertCurrent, user, problems)).ToArray();
        return problems.Count > before ? null : new PlainLayout(options, groups);
    }

    private static PlainGroup BuildGroup(string prefix, IEnumerable<PlainRun> runs, PlainLineOptions options, BoardChannels channels,
        bool invertCurrent, Dictionary<int, string> user, List<OptionProblem> problems)
    {
        var fields = new List<PlainField>();
        foreach (var run in runs)
        {
            var where = $"plainLines.runs ({(prefix.Length > 0 ? $"'{prefix}', " : "")}{run.Quantity} at {run.Position})";
            if (!IsValid(run, where, channels, problems)) continue;
            var count = CountOf(run, channels);
            while (fields.Count < run.Position - 1 + count) fields.Add(PlainField.Skipped);
            for (var i = 0; i < count; i++)
            {
                var at = run.Position - 1 + i;
                var field = FieldOf(run, run.First + i, channels, invertCurrent);
                if (fields[at] != PlainField.Skipped)
                    problems.Add(new(where, $"field {at + 1}", "one quantity a field: another run already takes it"));
                else if (field.Channel >= 0 && !user.TryAdd(field.Channel, where))
                    problems.Add(new(where, channels.Map.NameOf(field.Channel), $"one field a channel: {user[field.Channel]} already feeds it"));
                fields[at] = field;
            }
        }

        if (options.FieldCounts.TryGetValue(prefix, out var total))
        {
            if (total < fields.Count || total > MostFields)
                problems.Add(new("plainLines.fieldCounts", $"{prefix}: {total}", $"{fields.Count} to {MostFields}, the fields the runs already take"));
            else
                while (fields.Count < total) fields.Add(PlainField.Skipped);
        }

        return new PlainGroup(Encoding.ASCII.GetBytes(prefix), [.. fields]);
    }

    private static bool IsValid(PlainRun run, string where, BoardChannels channels, List<OptionProblem> problems)
    {
        var before = problems.Count;
        if (run.Position is < 1 or > MostFields) problems.Add(new($"{where}.position", Text(run.Position), $"1 to {MostFields}"));
        if (run.Scale == 0 || !double.IsFinite(run.Scale)) problems.Add(new($"{where}.scale", Text(run.Scale), "any number but 0"));
        if (run.Minimum >= run.Maximum) problems.Add(new($"{where}.minimum", Text(run.Minimum ?? 0), "less than the maximum"));
        var most = MostMembers(run, channels);
        if (run.Quantity is PlainQuantity.Cells or PlainQuantity.Temperatures && (run.Module < 1 || run.Module > channels.ModuleCount))
            problems.Add(new($"{where}.module", Text(run.Module), $"1 to {channels.ModuleCount}, the modules of this front end"));
        else if (run.First < 1 || run.First > most) problems.Add(new($"{where}.first", Text(run.First), $"1 to {most}"));
        else if (run.Count < 0 || run.First + run.Count - 1 > most) problems.Add(new($"{where}.count", Text(run.Count), $"0 (all) to {most - run.First + 1}"));
        return problems.Count == before;
    }

    private static int MostMembers(PlainRun run, BoardChannels channels) => run.Quantity switch
    {
        PlainQuantity.Cells => run.Module >= 1 && run.Module <= channels.ModuleCount ? channels.CellCount(run.Module) : 0,
        PlainQuantity.Temperatures => run.Module >= 1 && run.Module <= channels.ModuleCount ? channels.TemperatureCount(run.Module) : 0,
        PlainQuantity.Auxiliaries => channels.AuxiliaryCount,
        _ => 1,
    };

    private static int CountOf(PlainRun run, BoardChannels channels) => run.Count > 0 ? run.Count : MostMembers(run, channels) - run.First + 1;

    private static PlainField FieldOf(PlainRun run, int number, BoardChannels channels, bool invertCurrent)
    {
        // Defaults are what the quantity can be at all, not the limits of a cell type (common practice, no source).
        var (channel, least, most) = run.Quantity switch
        {
            PlainQuantity.Cells => (channels.Cell(run.Module, number), 0.0, 6.0),
            PlainQuantity.Temperatures => (channels.Temperature(run.Module, number), -60.0, 150.0),
            PlainQuantity.PackCurrent => (channels.Map.PackCurrent, -5000.0, 5000.0),
            PlainQuantity.StringVoltage => (channels.Map.StringVoltage, 0.0, 1500.0),
            PlainQuantity.Auxiliaries => (channels.Auxiliary(number), double.MinValue, double.MaxValue),
            _ => (-1, 0, 0),
        };
        var sign = run.Quantity == PlainQuantity.PackCurrent && invertCurrent ? -1 : 1;
        return new PlainField(channel, sign * run.Scale, sign * run.Offset, run.Minimum ?? least, run.Maximum ?? most, run.Quantity == PlainQuantity.Identity);
    }

    private static string Text(double value) => value.ToString(System.Globalization.CultureInfo.InvariantCulture);
}
