using System.Globalization;
using System.Text.Encodings.Web;
using System.Text.Json;
using System.Text.Json.Nodes;
using CellWatch.Core.Commands;
using CellWatch.Core.Pack;
using CellWatch.Core.Settings;
using CellWatch.Host.Site;

namespace CellWatch.Host.Settings;

/// <summary>
/// Reads the settings from the site file and writes changes back into its own text, so that comments stay. Every change passes the same
/// check as the file at a start; a file that would be refused then is never written. The running program keeps what it started with.
/// </summary>
/// <param name="file">Full path of the site file; empty where there is none.</param>
/// <param name="running">What the program started with.</param>
/// <param name="closed">Why nothing can be changed; null where it can.</param>
public sealed class SettingsDesk(string file, SiteDocument running, string? closed = null) : ISettingsDesk
{
    private static readonly JsonSerializerOptions Raw = new() { Encoder = JavaScriptEncoder.UnsafeRelaxedJsonEscaping };

    private readonly Lock _writing = new();

    /// <inheritdoc/>
    public string File => file;

    /// <inheritdoc/>
    public string? Closed => closed ?? (TryRead(out _, out var fault) ? null : fault);

    /// <inheritdoc/>
    public IReadOnlyList<SettingView> Read()
    {
        var written = closed is null && TryRead(out var now, out _) ? now.Document : running;
        var (w, r, u) = (Tree(written), Tree(running), Tree(new SiteDocument { CellType = written.CellType }));
        return [.. SettingTable.Rows.Select(row => View(row, w, r, u, written.CellType))];
    }

    /// <inheritdoc/>
    public IReadOnlyList<SettingFault> Check(IReadOnlyDictionary<string, string> typed)
    {
        if (Closed is { } why) return [new SettingFault("", why)];
        return Edit(typed, out _);
    }

    /// <summary>Writes changes into the file; refuses all of them where one cannot be.</summary>
    public CommandAnswer Write(ChangeSettings command)
    {
        if (command.Changes.IsDefaultOrEmpty) return new CommandAnswer(false, T("Nothing is changed."));
        if (Closed is { } why) return new CommandAnswer(false, why);
        lock (_writing)
        {
            var now = Read().ToDictionary(s => s.Name, StringComparer.Ordinal);
            foreach (var change in command.Changes)
            {
                if (now.TryGetValue(change.Name, out var setting) && setting.Written != change.From)
                    return new CommandAnswer(false, T($"{setting.Label} was changed to {Said(setting.Written)} meanwhile: look again. Nothing was written."));
            }

            var faults = Edit(command.Changes.ToDictionary(c => c.Name, c => c.To, StringComparer.Ordinal), out var text);
            if (faults.Count > 0) return new CommandAnswer(false, T($"{string.Join(" ", faults.Select(f => f.Message))} Nothing was written."));
            try
            {
                // Under another name first, so that a full disk leaves no half file under the final one.
                var part = file + ".part";
                System.IO.File.WriteAllBytes(part, text);
                System.IO.File.Move(part, file, overwrite: true);
            }
            catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
            {
                return new CommandAnswer(false, T($"The site file cannot be written: {fault.Message}"));
            }

            return new CommandAnswer(true, T($"Written into {Path.GetFileName(file)}. It holds from the next start of the program."));
        }
    }

    private List<SettingFault> Edit(IReadOnlyDictionary<string, string> typed, out byte[] text)
    {
        text = [];
        var faults = new List<SettingFault>();
        byte[] edited;
        try
        {
            edited = System.IO.File.ReadAllBytes(file);
        }
        catch (Exception fault) when (fault is IOException or UnauthorizedAccessException)
        {
            return [new SettingFault("", T($"The site file cannot be read: {fault.Message}"))];
        }

        foreach (var (name, value) in typed)
        {
            if (SettingTable.Rows.FirstOrDefault(r => r.Name == name) is not { } row) faults.Add(new SettingFault(name, T($"'{name}' cannot be changed here.")));
            else if (RawOf(row, value.Trim(), out var raw) is { } why) faults.Add(new SettingFault(name, why));
            else edited = SiteEdit.Put(edited, name, raw);
        }

        if (faults.Count > 0) return faults;
        try
        {
            var tree = Tree(SiteFile.Parse(edited, file).Document);
            // A name that stands in the file twice is read from its second place: the change would do nothing.
            if (typed.FirstOrDefault(t => !Same(At(tree, SettingTable.Rows.Single(r => r.Name == t.Key)), t.Value.Trim())) is { Key: { } twice })
                return [new SettingFault(twice, T($"{Capital(SettingTable.Rows.Single(r => r.Name == twice).Label)}: the site file holds '{twice}' twice. Take one out in an editor."))];
            text = edited;
            return [];
        }
        catch (SiteFileException refused)
        {
            return [.. refused.Faults.Select(f => Named(f, typed))];
        }
    }

    // A fault that shows only beside other values (order of limits) is said of the value that was typed.
    private static SettingFault Named(SiteFault fault, IReadOnlyDictionary<string, string> typed)
    {
        var name = fault.Path.TrimStart('$', '.');
        var row = SettingTable.Rows.FirstOrDefault(r => r.Name == name);
        if (!typed.ContainsKey(name) && typed.Keys.FirstOrDefault(k => fault.Message.Contains(k.Split('.')[^1], StringComparison.Ordinal)) is { } other) name = other;
        var words = SettingTable.Rows.Where(r => r.IsLimit).Aggregate(fault.Message, (m, r) => m.Replace(r.Name.Split('.')[1], r.Label, StringComparison.Ordinal));
        return new SettingFault(name, row is null || words.Contains(row.Label, StringComparison.Ordinal) ? $"{Capital(words)}." : $"{Capital(row.Label)}: {words}.");
    }

    private static string? RawOf(SettingRow row, string typed, out string raw)
    {
        raw = "";
        var head = Capital(row.Label);
        var allowed = Empty(row).Allowed;
        switch (row.Kind)
        {
            case SettingKind.Number:
                if (!double.TryParse(typed, NumberStyles.AllowLeadingSign | NumberStyles.AllowDecimalPoint, CultureInfo.InvariantCulture, out var number) || !double.IsFinite(number))
                    return T($"{head}: '{typed}' is no number. Write it with a point, {allowed}.");
                if (number < row.Low || number > row.High) return T($"{head}: {number} is outside {allowed}.");
                raw = number.ToString("R", CultureInfo.InvariantCulture);
                return null;
            case SettingKind.YesNo:
                if (typed is not ("yes" or "no")) return T($"{head}: '{typed}' is neither yes nor no.");
                raw = typed == "yes" ? "true" : "false";
                return null;
            case SettingKind.Choice:
                if (!row.Choices.Contains(typed)) return T($"{head}: '{typed}' is not one of {allowed}.");
                break;
            default:
                if (typed.Length < row.Low || typed.Length > row.High) return T($"{head}: {typed.Length} characters, {allowed}.");
                if (typed.Any(char.IsControl)) return T($"{head}: only one line of plain characters.");
                break;
        }

        raw = JsonSerializer.Serialize(typed, Raw);
        return null;
    }

    private static SettingView View(SettingRow row, JsonObject written, JsonObject running, JsonObject usual, string cellType) => Empty(row) with
    {
        Written = At(written, row),
        Running = At(running, row),
        Usual = At(usual, row),
        Source = row.Source.Length > 0 ? row.Source : CellType.BuiltIn.FirstOrDefault(t => t.Name == cellType)?.Source ?? T("no cell type is chosen"),
    };

    private static SettingView Empty(SettingRow row) => new()
    {
        Name = row.Name,
        Group = row.Group,
        Label = row.Label,
        Says = row.Says,
        Kind = row.Kind,
        Unit = row.Unit,
        Low = row.Low,
        High = row.High,
        Choices = row.Choices,
        Written = "",
        Running = "",
        Usual = "",
        Source = "",
    };

    // The document with every limit spelled out, so that all settings are found the same way.
    private static JsonObject Tree(SiteDocument document)
    {
        var tree = JsonSerializer.SerializeToNode(document, SiteFile.Json)!.AsObject();
        var own = tree["limits"] as JsonObject;
        var type = CellType.BuiltIn.FirstOrDefault(t => t.Name == document.CellType);
        var limits = type is null ? [] : JsonSerializer.SerializeToNode(type.Limits, SiteFile.Json)!.AsObject();
        foreach (var (name, value) in own ?? []) limits[name] = value?.DeepClone();
        tree["limits"] = limits;
        return tree;
    }

    private static string At(JsonObject tree, SettingRow row)
    {
        JsonNode? node = tree;
        foreach (var part in row.Name.Split('.')) node = node?[part];
        return node?.GetValueKind() switch
        {
            null or JsonValueKind.Null => "",
            JsonValueKind.True => "yes",
            JsonValueKind.False => "no",
            JsonValueKind.Number => node.GetValue<double>().ToString("R", CultureInfo.InvariantCulture),
            _ => node.ToString(),
        };
    }

    private bool TryRead(out Site.Site site, out string fault)
    {
        (site, fault) = (null!, "");
        try
        {
            site = SiteFile.Read(file);
            return true;
        }
        catch (SiteFileException refused)
        {
            fault = T($"The site file has faults since the start and must be mended in an editor first: {refused.Faults[0].Message} (line {refused.Faults[0].Line}).");
        }
        catch (Exception e) when (e is IOException or UnauthorizedAccessException)
        {
            fault = T($"The site file cannot be read: {e.Message}");
        }

        return false;
    }

    private static bool Same(string read, string typed) =>
        read == typed || (double.TryParse(typed, NumberStyles.Float, CultureInfo.InvariantCulture, out var number) && read == number.ToString("R", CultureInfo.InvariantCulture));

    private static string Said(string value) => value.Length == 0 ? "nothing" : value;

    private static string Capital(string text) => char.ToUpperInvariant(text[0]) + text[1..];
}
