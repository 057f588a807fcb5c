namespace CellWatch.Core.Rules;

/// <summary>All alarms of a rule table by row and place, and which of them are not normal. Answers what others ask about them.</summary>
internal sealed class AlarmRoll
{
    private readonly Places _places;
    private readonly List<(int Row, int Place)> _open = [];

    public AlarmRoll(RuleTable table, Measures measures, Places places)
    {
        _places = places;
        Rows = [.. table.Rules.Select(rule => new AlarmRow(rule, measures.PlaceCount(Quantities.PlaceOf(rule.Quantity)), rule.SuppressedBy is { } by ? table.IndexOf(by) : -1))];
    }

    /// <summary>One row a rule, in the table's order.</summary>
    public AlarmRow[] Rows { get; }

    /// <summary>Alarms that are not normal.</summary>
    public List<(int Row, int Place)> Open => _open;

    public ref AlarmSlot Slot(int row, int place) => ref Rows[row].Slots[place];

    public void Opened(int row, int place) => _open.Add((row, place));

    public void Closed(int row, int place) => _open.Remove((row, place));

    /// <summary>An alarm's identity.</summary>
    public string IdOf(int row, int place) => _places.IdOf(Rows[row].Rule, place);

    /// <summary>Whether any alarm of that action is present or held, shelved ones included.</summary>
    public bool AnyHeld(RuleAction action)
    {
        foreach (var (row, place) in _open)
            if (Rows[row].Rule.Action == action && Slot(row, place).IsHeld) return true;
        return false;
    }

    /// <summary>The first present or held alarm that withdraws the permit, by its identity; empty where there is none.</summary>
    public string FirstAgainstPermit()
    {
        foreach (var (row, place) in _open)
            if (Rows[row].Rule.Action == RuleAction.WithdrawPermit && Slot(row, place).IsHeld) return IdOf(row, place);
        return "";
    }

    /// <summary>Whether that rule's alarm is present at any place.</summary>
    public bool IsPresentAnywhere(string rule)
    {
        foreach (var (row, place) in _open)
            if (Rows[row].Rule.Name == rule && Slot(row, place).Persistence.IsPresent) return true;
        return false;
    }

    /// <summary>Finds an alarm by its identity.</summary>
    public bool TryFind(string id, out int row, out int place)
    {
        place = -1;
        for (row = 0; row < Rows.Length; row++)
        {
            var rule = Rows[row].Rule;
            if (!id.StartsWith(rule.Name, StringComparison.Ordinal) || id.Length <= rule.Name.Length || id[rule.Name.Length] != '.') continue;
            for (place = 0; place < Rows[row].Slots.Length; place++)
                if (string.Equals(IdOf(row, place), id, StringComparison.Ordinal)) return true;
        }

        return false;
    }
}
