using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Core.Snapshots;
using CellWatch.Log.Codec;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Store;

/// <summary>
/// The writing side of a site's file. Used by one thread at a time. Everything handed to <see cref="Write"/> is on disk when it returns, or
/// nothing of it is.
/// </summary>
internal sealed class SiteFile : IDisposable
{
    private readonly SqliteConnection _connection;
    private readonly CellLogOptions _options;
    private readonly ChunkEncoder _encoder = new();
    private readonly ChunkDecoder _decoder = new();
    private readonly Pyramid _pyramid;
    private readonly SqliteCommand _addTail;
    private readonly SqliteCommand _addChunk;
    private OpenStretch _open = new();
    private int _nextSession = 1;

    private SiteFile(SqliteConnection connection, CellLogOptions options)
    {
        _connection = connection;
        _options = options;
        _pyramid = new Pyramid(Layouts);
        Layouts.Refresh(connection);
        _addTail = connection.With("INSERT INTO tail (first_us, block) VALUES (@first, @block)", ("@first", 0L), ("@block", Array.Empty<byte>()));
        _addChunk = connection.With(
            "INSERT INTO chunk (first_us, last_us, snapshots, block) VALUES (@first, @last, @snapshots, @block)",
            ("@first", 0L),
            ("@last", 0L),
            ("@snapshots", 0),
            ("@block", Array.Empty<byte>()));
    }

    public Layouts Layouts { get; } = new();

    public SqliteConnection Connection => _connection;

    /// <summary>Elapsed time of this run's newest snapshot on disk, µs; <see cref="long.MinValue"/> where it has none.</summary>
    public long LastElapsedUs => _open.Session == 0 ? long.MinValue : _open.LastElapsedUs;

    /// <summary>Opens the file, makes it where it is not there, and seals what an earlier run left in the tail.</summary>
    /// <param name="path">The file.</param>
    /// <param name="options">How it is kept.</param>
    /// <param name="now">For the note of who writes.</param>
    /// <param name="before">Where this same run stood when writing failed; null at the start of a run.</param>
    /// <exception cref="SqliteException">The file cannot be opened or written.</exception>
    /// <exception cref="InvalidDataException">It is not a cell log, or of a later version.</exception>
    public static SiteFile Open(string path, CellLogOptions options, DateTimeOffset now, SiteFile? before = null)
    {
        var connection = new SqliteConnection(new SqliteConnectionStringBuilder { DataSource = path, Pooling = false }.ConnectionString);
        try
        {
            connection.Open();
            connection.Run($"PRAGMA page_size = {Schema.PageSize}; PRAGMA journal_mode = WAL; PRAGMA temp_store = MEMORY; PRAGMA cell_size_check = ON; PRAGMA synchronous = {(options.SurvivePowerCut ? "FULL" : "NORMAL")}");
            if (options.MostPages() is > 0 and var most) connection.Run(string.Create(CultureInfo.InvariantCulture, $"PRAGMA max_page_count = {most}"));
            Schema.Ensure(connection);
            connection.Run(
                "INSERT OR REPLACE INTO meta (key, value) VALUES ('writer', @w)",
                ("@w", string.Create(CultureInfo.InvariantCulture, $"process {Environment.ProcessId} on {Environment.MachineName} since {now:yyyy-MM-dd HH:mm:ss}Z")));
            var file = new SiteFile(connection, options);
            file.Recover(before?._open);
            return file;
        }
        catch
        {
            connection.Dispose();
            throw;
        }
    }

    /// <summary>Writes snapshots and records in one transaction.</summary>
    /// <param name="snapshots">In order.</param>
    /// <param name="records">Each inserts a row and gives its number.</param>
    /// <returns>The numbers, in the order of <paramref name="records"/>.</returns>
    public long[] Write(ReadOnlySpan<Snapshot> snapshots, ReadOnlySpan<Func<SqliteConnection, long>> records)
    {
        var open = _open.Copy();
        var numbers = new long[records.Length];
        using (var transaction = _connection.BeginTransaction())
        {
            _addTail.Transaction = _addChunk.Transaction = transaction;
            foreach (var snapshot in snapshots) Take(open, snapshot);
            WriteTail(open);
            for (var i = 0; i < records.Length; i++) numbers[i] = records[i](_connection);
            transaction.Commit();
        }

        _open = open;
        if (open.Layout is { } layout) Layouts.Keep(layout);
        return numbers;
    }

    /// <summary>Removes old data by the rule.</summary>
    /// <param name="isShort">Whether room is short: then the oldest full rate gives way early.</param>
    /// <param name="wallMsOf">Wall time of log time.</param>
    /// <returns>Blocks removed.</returns>
    public int Thin(bool isShort, Func<long, long> wallMsOf)
    {
        var rule = _options.Retention;
        using var transaction = _connection.BeginTransaction();
        var fullRate = Thinning.FullRate(_connection, rule);
        Note(fullRate, "full rate", "10 s", $"older than {rule.FullRateDays:0.#} days");
        var tenSeconds = Thinning.TenSeconds(_connection, rule);
        Note(tenSeconds, "10 s", "1 min", $"older than {rule.TenSecondDays:0.#} days");
        var forRoom = isShort ? Thinning.ForRoom(_connection, rule) : default;
        Note(forRoom, "full rate", "10 s", $"room was short");
        transaction.Commit();
        return fullRate.Blocks + tenSeconds.Blocks + forRoom.Blocks;

        void Note(Thinning.Pass pass, string from, string to, FormattableString why)
        {
            if (pass.Blocks == 0) return;
            var upTo = DateTimeOffset.FromUnixTimeMilliseconds(wallMsOf(pass.ToUs));
            var now = _open.LastUs == long.MinValue ? pass.ToUs : _open.LastUs;
            Records.AddEvent(
                _connection,
                EventKinds.Thinned,
                string.Create(CultureInfo.InvariantCulture, $"Up to {upTo:yyyy-MM-dd HH:mm}Z {from} was thinned to {to}: {FormattableString.Invariant(why)}. Frozen stretches stay."),
                wallMsOf(now),
                "",
                null);
        }
    }

    /// <summary>Seals what is open and notes that the run ended in order.</summary>
    public void Close(Func<SqliteConnection, long>? record = null)
    {
        var open = _open.Copy();
        using (var transaction = _connection.BeginTransaction())
        {
            _addTail.Transaction = _addChunk.Transaction = transaction;
            Seal(open);
            _pyramid.JoinNewestHour(_connection);
            if (open.Session > 0) _connection.Run("UPDATE session SET ended_us = @e WHERE id = @id", ("@e", open.LastUs), ("@id", open.Session));
            record?.Invoke(_connection);
            transaction.Commit();
        }

        _open = open;
        // Folds the write-ahead log into the file, so that what is left is one file.
        _connection.Run("PRAGMA wal_checkpoint(TRUNCATE)");
    }

    public void Dispose()
    {
        _addTail.Dispose();
        _addChunk.Dispose();
        _connection.Dispose();
    }

    private void Take(OpenStretch open, Snapshot snapshot)
    {
        if (open.Session == 0 || snapshot.Time.ElapsedUs <= open.LastElapsedUs) BeginSession(open, snapshot);
        var us = open.BaseUs + snapshot.Time.ElapsedUs;
        if (!ReferenceEquals(snapshot.Map, open.Map) || open.Layout is null)
        {
            var layout = Layouts.Ensure(_connection, snapshot.Map, _options.StepsPerUnit, us, open.Layout);
            if (open.Layout is { } old && old.Revision != layout.Revision)
            {
                Seal(open);
                Record(EventKinds.Layout, $"The pack's layout changed: revision {layout.Revision} from here.", snapshot.Time);
            }

            open.Layout = layout;
            open.Map = snapshot.Map;
        }

        if (open.Snapshots.Count > 0
            && (open.Snapshots.Count == ChunkEncoder.MaxSnapshots || Math.DivRem(us, OpenStretch.CutUs).Quotient != Math.DivRem(open.FirstUs, OpenStretch.CutUs).Quotient))
            Seal(open);
        NoteClock(open, snapshot, us);
        if (open.Snapshots.Count == 0) open.FirstUs = us;
        open.Snapshots.Add(snapshot);
        open.LastUs = us;
        open.LastElapsedUs = snapshot.Time.ElapsedUs;
    }

    /// <summary>Log time never goes back and never repeats: a run begins at its wall time, or just after the last where the clock says less.</summary>
    private void BeginSession(OpenStretch open, Snapshot snapshot)
    {
        Seal(open);
        open.Session = _nextSession++;
        var first = snapshot.Time.WallUnixMs * 1000;
        if (open.LastUs != long.MinValue) first = Math.Max(first, open.LastUs + 1000);
        open.BaseUs = first - snapshot.Time.ElapsedUs;
        _connection.Run(
            "INSERT INTO session (id, base_us, first_us) VALUES (@id, @base, @first)",
            ("@id", open.Session),
            ("@base", open.BaseUs),
            ("@first", first));
        var offsetMs = snapshot.Time.WallUnixMs - (first / 1000);
        AddClock(open, first, offsetMs, 0);
        open.NewestOffsetMs = offsetMs;
        open.LastElapsedUs = long.MinValue;
    }

    /// <summary>A jump of a second or more between two snapshots is a step and breaks every line; less is drift and only moves labels.</summary>
    private void NoteClock(OpenStretch open, Snapshot snapshot, long us)
    {
        const long stepMs = 1000, driftMs = 250;
        var offsetMs = snapshot.Time.WallUnixMs - (us / 1000);
        var jumpMs = offsetMs - open.NewestOffsetMs;
        if (Math.Abs(jumpMs) >= stepMs)
        {
            AddClock(open, us, offsetMs, jumpMs);
            var length = TimeSpan.FromMilliseconds(Math.Abs(jumpMs));
            Record(EventKinds.ClockStep, $"The wall clock was set {(jumpMs > 0 ? "forward" : "back")} by {Words.Duration(length)}. Counts and timers do not use it.", snapshot.Time, jumpMs / 1000.0);
        }
        else if (Math.Abs(offsetMs - open.OffsetMs) >= driftMs)
        {
            AddClock(open, us, offsetMs, 0);
        }

        open.NewestOffsetMs = offsetMs;
    }

    private void AddClock(OpenStretch open, long us, long offsetMs, long stepMs)
    {
        _connection.Run("INSERT OR REPLACE INTO clock (from_us, offset_ms, step_ms) VALUES (@f, @o, @s)", ("@f", us), ("@o", offsetMs), ("@s", stepMs));
        open.OffsetMs = offsetMs;
    }

    private void WriteTail(OpenStretch open)
    {
        var fresh = open.Snapshots.Count - open.InTail;
        if (fresh == 0) return;
        var slice = open.Snapshots.GetRange(open.InTail, fresh);
        _addTail.Parameters[0].Value = open.BaseUs + slice[0].Time.ElapsedUs;
        _addTail.Parameters[1].Value = _encoder.Encode(slice, open.Place, open.Layout!.StepsPerUnit).ToArray();
        _addTail.ExecuteNonQuery();
        open.InTail = open.Snapshots.Count;
    }

    private void Seal(OpenStretch open)
    {
        if (open.Snapshots.Count == 0) return;
        var block = _encoder.Encode(open.Snapshots, open.Place, open.Layout!.StepsPerUnit).ToArray();
        // Reading it back here costs little and means that nothing leaves the tail that does not read.
        _decoder.Open(block);
        _addChunk.Parameters[0].Value = open.FirstUs;
        _addChunk.Parameters[1].Value = open.LastUs;
        _addChunk.Parameters[2].Value = open.Snapshots.Count;
        _addChunk.Parameters[3].Value = block;
        _addChunk.ExecuteNonQuery();
        _pyramid.Add(_connection, _decoder, open.Layout, open.FirstUs, open.LastUs);
        // The tail holds nothing but this stretch; without a condition SQLite drops its pages unread.
        if (open.InTail > 0) _connection.Run("DELETE FROM tail");
        open.Snapshots.Clear();
        open.InTail = 0;
    }

    private void Record(string kind, string text, SnapshotTime time, double? lengthS = null) =>
        Records.AddEvent(_connection, kind, text, time.WallUnixMs, "", lengthS);

    /// <summary>Seals the tail an earlier run left, or takes up the one this run left when writing failed.</summary>
    private void Recover(OpenStretch? before)
    {
        var lastChunk = _connection.MaybeNumber("SELECT last_us FROM chunk ORDER BY first_us DESC LIMIT 1");
        _open.LastUs = lastChunk ?? long.MinValue;
        _nextSession = (int)(_connection.MaybeNumber("SELECT max(id) FROM session") ?? 0) + 1;
        using var transaction = _connection.BeginTransaction();
        _addTail.Transaction = _addChunk.Transaction = transaction;
        var damaged = 0;
        foreach (var (block, _) in ReadTail())
        {
            try
            {
                TakeBack(block);
            }
            catch (DamagedBlockException)
            {
                damaged++;
            }
        }

        if (before is not null && _nextSession - 1 >= Math.Max(1, before.Session))
        {
            // The file, not memory, says what is written: a commit may have succeeded although it was reported to have failed.
            _open.Session = _nextSession - 1;
            _open.BaseUs = _connection.Number("SELECT base_us FROM session WHERE id = @id", ("@id", _open.Session));
            _open.LastElapsedUs = _open.LastUs - _open.BaseUs;
            (_open.OffsetMs, _open.NewestOffsetMs) = (before.OffsetMs, before.NewestOffsetMs);
        }
        else
        {
            var unfinished = _connection.MaybeNumber("SELECT id FROM session WHERE ended_us IS NULL ORDER BY id DESC LIMIT 1");
            var last = _open.Snapshots.Count > 0 ? _open.Snapshots[^1].Time.WallUnixMs : (long?)null;
            Seal(_open);
            if (unfinished is not null)
            {
                _connection.Run("UPDATE session SET ended_us = first_us WHERE ended_us IS NULL");
                var at = last ?? (_open.LastUs == long.MinValue ? 0 : _open.LastUs / 1000);
                Records.AddEvent(_connection, EventKinds.Recovered, "The run before this one did not end in order. Everything up to its last commit is kept.", at, "", null);
            }

            (_open.Session, _open.Layout) = (0, null);
        }

        if (damaged > 0)
        {
            Records.AddEvent(_connection, EventKinds.Damage, $"{damaged} commits at the end of the record did not read and are left out.", _open.LastUs == long.MinValue ? 0 : _open.LastUs / 1000, "", null);
            WriteAnew();
        }

        transaction.Commit();
    }

    private List<(byte[] Block, long FirstUs)> ReadTail()
    {
        var rows = new List<(byte[] Block, long FirstUs)>();
        using var command = _connection.With("SELECT block, first_us FROM tail ORDER BY first_us");
        using var reader = command.ExecuteReader();
        while (reader.Read()) rows.Add((reader.Bytes(0), reader.GetInt64(1)));
        return rows;
    }

    private void TakeBack(byte[] block)
    {
        var reader = new SnapshotReader();
        var snapshots = reader.Read(block, Layouts.Find);
        var layout = Layouts.Find(reader.Place.Layout)!;
        if (_open.Snapshots.Count > 0 && (_open.Place != reader.Place || _open.Snapshots.Count + snapshots.Length > ChunkEncoder.MaxSnapshots)) Seal(_open);
        (_open.Layout, _open.Session, _open.BaseUs) = (layout, reader.Place.Session, reader.Place.BaseUs);
        if (_open.Snapshots.Count == 0) _open.FirstUs = _open.BaseUs + snapshots[0].Time.ElapsedUs;
        _open.Snapshots.AddRange(snapshots);
        _open.InTail = _open.Snapshots.Count;
        _open.LastUs = _open.BaseUs + snapshots[^1].Time.ElapsedUs;
        _open.LastElapsedUs = snapshots[^1].Time.ElapsedUs;
    }

    private void WriteAnew()
    {
        _connection.Run("DELETE FROM tail");
        _open.InTail = 0;
        WriteTail(_open);
    }
}
