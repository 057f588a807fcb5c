using System.Globalization;
using CellWatch.Core.History;
using CellWatch.Log.Codec;
using CellWatch.Log.Queries;
using CellWatch.Log.Store;
using Microsoft.Data.Sqlite;

namespace CellWatch.Log.Maintenance;

/// <summary>Judges what was salvaged: which blocks read, and what is missing between them.</summary>
internal sealed class Verdict
{
    private const long BucketUs = 10_000_000;

    private readonly Salvage _salvage;
    private readonly Dictionary<int, KnownLayout> _layouts = [];
    private readonly HashSet<(string Table, long Id)> _damaged = [];
    private readonly List<LostPart> _lost = [];
    private readonly ClockTable _clock = new();
    private readonly List<(long FirstUs, long EndUs)> _rolled = [];
    private readonly List<(long FromUs, int Snapshots)> _buckets = [];
    private readonly SortedDictionary<long, (int Session, long FirstSequence, long LastSequence, long LastUs)> _good = [];

    public Verdict(string path, Salvage salvage, IProgress<double>? progress)
    {
        _salvage = salvage;
        foreach (var values in salvage.Rows["clock"].Values) _clock.Add(Long(values[0]), Long(values[1]), Long(values[2]));
        ReadLayouts();
        var (snapshots, blocks) = JudgeFullRate(progress);
        var rolls = JudgeRollUps();
        FindMissing();
        JudgeAttachments();
        foreach (var table in salvage.BrokenTables.Intersect(Salvage.RecordTables, StringComparer.Ordinal))
            _lost.Add(new LostPart($"{table.Replace('_', ' ')}s, some of them", null, null, "the table's pages are damaged", $"{salvage.Rows[table].Count} of them read."));
        Report = new LogReport
        {
            Path = path,
            Opens = salvage.Opens,
            Structure = salvage.Structure,
            Snapshots = snapshots,
            FullRateBlocks = blocks,
            RollUpBlocks = rolls,
            Records = Salvage.RecordTables.Sum(t => salvage.Rows[t].Count),
            FullRate = _good.Count == 0 ? null : new TimeRange(_clock.WallMs(_good.Keys.First()), _clock.WallMs(_good.Values.Last().LastUs)),
            Lost = [.. _lost.OrderBy(l => l.Range?.FromUnixMs ?? long.MaxValue)],
        };
    }

    public LogReport Report { get; }

    /// <summary>Whether a row's block does not read.</summary>
    public bool IsDamaged(string table, long id) => _damaged.Contains((table, id));

    /// <summary>Makes 10 s roll-ups anew for every chunk that lacks one.</summary>
    public void RestoreRollUps(SqliteConnection connection)
    {
        var decoder = new ChunkDecoder();
        var layouts = new Layouts();
        layouts.Refresh(connection);
        var pyramid = new Pyramid(layouts);
        foreach (var (id, values) in _salvage.Rows["chunk"])
        {
            if (IsDamaged("chunk", id) || IsRolledUp(id)) continue;
            decoder.Open((byte[])values[3]!);
            if (layouts.Find(decoder.Place.Layout) is { } layout) pyramid.AddFinest(connection, decoder, layout, id, Long(values[1]));
        }
    }

    /// <summary>Whether a roll-up that reads answers for a chunk.</summary>
    private bool IsRolledUp(long chunk)
    {
        var at = _rolled.BinarySearch((chunk, long.MaxValue));
        return at < 0 && ~at > 0 && _rolled[~at - 1].EndUs > chunk;
    }

    private void ReadLayouts()
    {
        foreach (var (id, values) in _salvage.Rows["layout"].ToArray())
        {
            try
            {
                _layouts[(int)id] = LayoutText.Parse((int)id, (string)values[2]!);
            }
            catch (InvalidDataException e)
            {
                _salvage.Rows["layout"].Remove(id);
                _lost.Add(new LostPart("layout", null, null, e.Message, "Blocks of this layout cannot be named."));
            }
        }
    }

    private (long Snapshots, long Blocks) JudgeFullRate(IProgress<double>? progress)
    {
        var decoder = new ChunkDecoder();
        var (values, status) = (new double[ChunkEncoder.MaxSnapshots], new byte[ChunkEncoder.MaxSnapshots]);
        long snapshots = 0, blocks = 0, done = 0;
        var all = _salvage.Rows["chunk"].Count + _salvage.Rows["tail"].Count;
        foreach (var table in (string[])["chunk", "tail"])
        {
            foreach (var (id, row) in _salvage.Rows[table])
            {
                try
                {
                    decoder.Open(row[^1] as byte[] ?? []);
                    for (var c = 0; c < decoder.Channels; c++) decoder.Read(c, values.AsSpan(0, decoder.Snapshots), status.AsSpan(0, decoder.Snapshots));
                    if (!_layouts.TryGetValue(decoder.Place.Layout, out var layout) || layout.Map.Count != decoder.Channels) throw new DamagedBlockException("its layout is not in the file");
                    var firstUs = decoder.Place.BaseUs + decoder.ElapsedUs[0];
                    if (firstUs != id) throw new DamagedBlockException("it stands at another time than it was written for");
                    _good[id] = (decoder.Place.Session, decoder.Sequence[0], decoder.Sequence[^1], decoder.Place.BaseUs + decoder.ElapsedUs[^1]);
                    snapshots += decoder.Snapshots;
                    blocks++;
                }
                catch (DamagedBlockException e)
                {
                    _damaged.Add((table, id));
                    var end = table == "chunk" ? Long(row[1]) : id + 1_000_000;
                    AddLost("full rate", id, end, table == "chunk" ? Long(row[2]) : null, e.Message);
                }

                if (++done % 64 == 0) progress?.Report(0.6 + (0.4 * done / all));
            }
        }

        return (snapshots, blocks);
    }

    private long JudgeRollUps()
    {
        var blocks = new RollUpBlock();
        long good = 0;
        foreach (var level in Pyramid.Levels)
        {
            foreach (var (id, row) in _salvage.Rows[level.Table])
            {
                try
                {
                    var rollUp = blocks.Decode(row[^1] as byte[] ?? [], null, r => _layouts.GetValueOrDefault(r)?.Kinds);
                    good++;
                    if (level != Pyramid.Levels[0]) continue;
                    _rolled.Add((id, Long(row[1])));
                    for (var b = 0; b < rollUp.Buckets.Count; b++) _buckets.Add((rollUp.Buckets[b] * BucketUs, rollUp.Snapshots[b]));
                }
                catch (DamagedBlockException e)
                {
                    _damaged.Add((level.Table, id));
                    var end = Long(row[1]);
                    var finer = _good.Any(g => g.Key >= id && g.Key < end);
                    _lost.Add(new LostPart($"{level.Seconds} s roll-up", Range(id, end), null, e.Message, finer ? "Full rate stands in; repair makes it anew." : "A coarser level stands in where there is one."));
                }
            }
        }

        return good;
    }

    private void JudgeAttachments()
    {
        foreach (var (id, row) in _salvage.Rows["attachment"])
        {
            if (row[6] is byte[] content && AttachmentSeal.Holds(row[4] as string ?? "", content)) continue;
            var at = Long(row[1]);
            _lost.Add(new LostPart($"attachment {id.ToString(CultureInfo.InvariantCulture)} ({row[3]})", new TimeRange(at, at), null, "its checksum is wrong", "What is said about it is kept."));
        }

        foreach (var row in _salvage.Rows[Salvage.BenchFiles].Values)
        {
            var sha256 = row[1] as string ?? "";
            if (row[2] is byte[] content && Convert.ToHexStringLower(System.Security.Cryptography.SHA256.HashData(content)) == sha256) continue;
            _lost.Add(new LostPart($"file {sha256[..Math.Min(12, sha256.Length)]} of a module", null, null, "its SHA-256 is another", "What is said about it is kept."));
        }
    }

    /// <summary>What is not there at all: chunks whose roll-up is there, and sequence numbers that are left out within a run.</summary>
    private void FindMissing()
    {
        var thinnedUs = _salvage.Meta.TryGetValue(Thinning.FullRateThinned, out var text) ? long.Parse(text, CultureInfo.InvariantCulture) : long.MinValue;
        FindGoneBlocks(thinnedUs);

        var told = _lost.Where(l => l.What == "full rate").Select(l => l.Range!.Value).ToList();
        // What was given up while the disk could not be written is in the record as a gap: that is no damage.
        told.AddRange(_salvage.Rows["event"].Values.Where(v => (v[2] as string) == EventKinds.Gap).Select(v => new TimeRange(Long(v[1]) - 2000, Long(v[1]) + (long)(1000 * (v[5] as double? ?? 0)) + 2000)));
        KeyValuePair<long, (int Session, long FirstSequence, long LastSequence, long LastUs)>? before = null;
        foreach (var here in _good)
        {
            if (before is { } b && b.Value.Session == here.Value.Session && here.Value.FirstSequence > b.Value.LastSequence + 1)
            {
                var range = Range(b.Value.LastUs + 1, here.Key);
                if (!told.Exists(t => t.FromUnixMs < range.ToUnixMs && t.ToUnixMs > range.FromUnixMs) && !IsThinned(b.Value.LastUs, thinnedUs))
                    AddLost("full rate", b.Value.LastUs + 1, here.Key, here.Value.FirstSequence - b.Value.LastSequence - 1, "the snapshots between two blocks are gone");
            }

            before = here;
        }
    }

    /// <summary>Stretches that were summed up and have no block at full rate, sound or not.</summary>
    private void FindGoneBlocks(long thinnedUs)
    {
        var blocks = _salvage.Rows["chunk"].Select(c => (FromUs: c.Key, ToUs: Long(c.Value[1]))).ToList();
        var at = 0;
        long fromUs = 0, toUs = long.MinValue, snapshots = 0;
        foreach (var bucket in _buckets.Where(b => b.FromUs > thinnedUs && b.Snapshots > 0))
        {
            while (at < blocks.Count && blocks[at].ToUs < bucket.FromUs) at++;
            if (at < blocks.Count && blocks[at].FromUs < bucket.FromUs + BucketUs) continue;
            // Blocks are cut at these marks: what lies across one was two blocks.
            if (bucket.FromUs != toUs || bucket.FromUs % OpenStretch.CutUs == 0) Tell();
            if (snapshots == 0) fromUs = bucket.FromUs;
            toUs = bucket.FromUs + BucketUs;
            snapshots += bucket.Snapshots;
        }

        Tell();

        void Tell()
        {
            if (snapshots > 0) AddLost("full rate", fromUs, toUs, snapshots, "its block is gone");
            snapshots = 0;
        }
    }

    private static bool IsThinned(long us, long thinnedUs) => us <= thinnedUs;

    private void AddLost(string what, long fromUs, long toUs, long? snapshots, string reason)
    {
        var standsIn = _salvage.Rows["roll_10s"].Any(r => r.Key < toUs && Long(r.Value[1]) > fromUs && !IsDamaged("roll_10s", r.Key));
        _lost.Add(new LostPart(what, Range(fromUs, toUs), snapshots, reason, standsIn ? "Least, greatest and mean of every 10 s stand in." : "Coarser levels stand in where there are any."));
    }

    private TimeRange Range(long fromUs, long toUs) => new(_clock.WallMs(fromUs), _clock.WallMs(toUs));

    private static long Long(object? value) => value as long? ?? 0;
}
