using CellWatch.Core.Snapshots;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>Every revision of the layout in the file, read once and kept.</summary>
internal sealed class Layouts
{
    private readonly List<KnownLayout> _known = [];
    private readonly Lock _lock = new();
    private KnownLayout? _uncommitted;

    /// <summary>All, oldest first.</summary>
    public KnownLayout[] All
    {
        get
        {
            lock (_lock) return [.. _known];
        }
    }

    /// <summary>A revision; null where there is none.</summary>
    public KnownLayout? Find(int revision)
    {
        lock (_lock) return _known.Find(l => l.Revision == revision) ?? (_uncommitted?.Revision == revision ? _uncommitted : null);
    }

    /// <summary>Reads what has been added to the file since the last call.</summary>
    public void Refresh(SqliteConnection connection)
    {
        lock (_lock)
        {
            using var command = connection.With("SELECT revision, definition FROM layout WHERE revision > @after ORDER BY revision", ("@after", _known.Count == 0 ? 0 : _known[^1].Revision));
            using var reader = command.ExecuteReader();
            while (reader.Read()) _known.Add(LayoutText.Parse(reader.GetInt32(0), reader.GetString(1)));
        }
    }

    /// <summary>The revision for a map: the newest if it is the same, else a new one, added to the file.</summary>
    /// <param name="connection">The writer's.</param>
    /// <param name="map">The map.</param>
    /// <param name="stepsPerUnit">Its resolutions.</param>
    /// <param name="sinceUs">Log time from which it holds.</param>
    /// <param name="present">The layout in use, which a transaction not yet committed may have added; null at a start.</param>
    public KnownLayout Ensure(SqliteConnection connection, ChannelMap map, Func<ChannelMap, int, double> stepsPerUnit, long sinceUs, KnownLayout? present)
    {
        var text = LayoutText.Of(map, stepsPerUnit);
        lock (_lock)
        {
            var newest = present ?? (_known.Count == 0 ? null : _known[^1]);
            if (newest?.Text == text) return newest;
            var revision = (newest?.Revision ?? 0) + 1;
            connection.Run("INSERT INTO layout (revision, since_us, definition) VALUES (@r, @s, @d)", ("@r", revision), ("@s", sinceUs), ("@d", text));
            // Kept when the transaction succeeds; if it fails, it never was.
            return _uncommitted = LayoutText.Parse(revision, text);
        }
    }

    /// <summary>Adds a revision whose transaction has succeeded.</summary>
    public void Keep(KnownLayout layout)
    {
        lock (_lock)
        {
            if (_known.Count == 0 || _known[^1].Revision < layout.Revision) _known.Add(layout);
        }
    }
}
