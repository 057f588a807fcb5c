namespace CellWatch.Mqtt;

/// <summary>Which alarms this run of the program has told, by topic, and what an earlier run left; for the sending task.</summary>
internal sealed class ToldAlarms
{
    private readonly HashSet<string> _before = new(StringComparer.Ordinal);
    private readonly HashSet<string> _overThisLink = new(StringComparer.Ordinal);

    /// <summary>Alarms that the broker retains from an earlier run.</summary>
    public LeftOverAlarms LeftOver { get; } = new();

    /// <summary>Whether those have been dealt with.</summary>
    public bool LeftOversAreDone { get; set; }

    /// <summary>A new connection: what was told until now was told before it.</summary>
    public void BeginLink()
    {
        _before.UnionWith(_overThisLink);
        _overThisLink.Clear();
    }

    /// <summary>An alarm was told.</summary>
    public void Add(string topic) => _overThisLink.Add(topic);

    /// <summary>Whether an alarm was told in this run.</summary>
    public bool InThisRun(string topic) => _before.Contains(topic) || _overThisLink.Contains(topic);

    /// <summary>Whether an alarm was told in this run, but not over this connection.</summary>
    public bool OnlyBefore(string topic) => _before.Contains(topic) && !_overThisLink.Contains(topic);
}
