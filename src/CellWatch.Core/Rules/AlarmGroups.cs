using System.Collections.Immutable;

namespace CellWatch.Core.Rules;

/// <summary>Order of urgency, and grouping by cause: the most urgent of a group stands for the others.</summary>
internal static class AlarmGroups
{
    public static ImmutableArray<AlarmView> Group(List<(AlarmView View, string Group)> alarms)
    {
        alarms.Sort((a, b) => Compare(a.View, b.View));
        var leaders = new Dictionary<string, (int Index, int Grouped)>(StringComparer.Ordinal);
        var views = new AlarmView[alarms.Count];
        for (var i = 0; i < views.Length; i++)
        {
            var (view, group) = alarms[i];
            if (leaders.TryGetValue(group, out var leader))
            {
                leaders[group] = (leader.Index, leader.Grouped + 1);
                view = view with { GroupedUnder = views[leader.Index].Id };
            }
            else
            {
                leaders.Add(group, (i, 0));
            }

            views[i] = view;
        }

        foreach (var (index, grouped) in leaders.Values)
            if (grouped > 0) views[index] = views[index] with { Grouped = grouped };
        return ImmutableArray.Create(views);
    }

    private static int Compare(AlarmView a, AlarmView b)
    {
        var order = Rank(b).CompareTo(Rank(a));
        if (order == 0) order = a.SinceElapsedUs.CompareTo(b.SinceElapsedUs);
        return order != 0 ? order : string.CompareOrdinal(a.Id, b.Id);
    }

    /// <summary>Shown before hidden, present before gone, then priority, then not yet seen before seen.</summary>
    private static int Rank(AlarmView a)
    {
        var shown = a.State is AlarmState.Shelved or AlarmState.Suppressed or AlarmState.OutOfService ? 0 : 1;
        var unseen = a.State is AlarmState.Unacknowledged or AlarmState.LatchedUnacknowledged or AlarmState.ReturnedUnacknowledged ? 1 : 0;
        // Leaving comes before stopping a charge.
        var fire = a.Message.StartsWith(T("LEAVE "), StringComparison.Ordinal) ? 1 : 0;
        return shown * 1000 + (a.IsActive ? 100 : 0) + (int)a.Priority * 10 + fire * 5 + unseen;
    }
}
