using CellWatch.Core.History;

namespace CellWatch.Log.Codec;

/// <summary>
/// Reads a chunk that <see cref="ChunkEncoder"/> packed: clocks at once, channels when asked. Reused for many chunks; not safe for two
/// threads at a time.
/// </summary>
internal sealed class ChunkDecoder
{
    private readonly ColumnDecoder _columns = new();
    private readonly List<(byte Status, int Snapshots)> _runs = [];
    private int[] _firstRun = [];
    private int[] _runCount = [];
    private int[] _distanceColumn = [];
    private double[] _stepsPerUnit = [];
    private long[] _steps = [];
    private long[] _distances = [];
    private long[] _sequence = [];
    private long[] _elapsedUs = [];
    private long[] _wallUnixMs = [];

    /// <summary>Where the chunk belongs.</summary>
    public ChunkPlace Place { get; private set; }

    /// <summary>How many snapshots it holds.</summary>
    public int Snapshots { get; private set; }

    /// <summary>How many channels each has.</summary>
    public int Channels { get; private set; }

    public ReadOnlySpan<long> Sequence => _sequence.AsSpan(0, Snapshots);

    public ReadOnlySpan<long> ElapsedUs => _elapsedUs.AsSpan(0, Snapshots);

    public ReadOnlySpan<long> WallUnixMs => _wallUnixMs.AsSpan(0, Snapshots);

    /// <summary>Steps per unit of a channel.</summary>
    public double StepsPerUnit(int channel) => _stepsPerUnit[channel];

    /// <summary>Whether every value of the channel is a whole number of steps.</summary>
    public bool IsExact(int channel) => _distanceColumn[channel] < 0;

    /// <summary>Checks the block and reads everything but the channels.</summary>
    /// <exception cref="DamagedBlockException">The checksum is wrong, the version is unknown, or it does not hold together.</exception>
    public void Open(ReadOnlySpan<byte> block)
    {
        var content = Checked(block);
        var reader = new ByteReader(content);
        reader.Bytes(4);
        Place = new ChunkPlace(reader.Count(int.MaxValue), reader.Count(int.MaxValue), reader.Signed());
        Snapshots = reader.Count(ChunkEncoder.MaxSnapshots);
        Channels = reader.Count(1 << 20);
        if (Snapshots == 0) throw new DamagedBlockException("it holds no snapshot");
        Reserve();
        ReadResolutions(ref reader);
        ReadStatus(ref reader);
        var inexact = ReadInexact(ref reader);
        _columns.Open(content[reader.Position..], 3 + Channels + inexact);
        _columns.Read(0, _sequence.AsSpan(0, Snapshots));
        _columns.Read(1, _elapsedUs.AsSpan(0, Snapshots));
        _columns.Read(2, _wallUnixMs.AsSpan(0, Snapshots));
        for (var s = 0; s < Snapshots; s++) _wallUnixMs[s] = unchecked(_wallUnixMs[s] + (_elapsedUs[s] / 1000));
    }

    /// <summary>Verifies length, first bytes, version and checksum; gives the content without the checksum.</summary>
    public static ReadOnlySpan<byte> Checked(ReadOnlySpan<byte> block)
    {
        if (block.Length < 12) throw new DamagedBlockException("it is too short");
        if (!block[..3].SequenceEqual(ChunkEncoder.Magic[..3])) throw new DamagedBlockException("it does not begin as a chunk");
        var content = block[..^4];
        if (Crc32.Of(content) != System.Buffers.Binary.BinaryPrimitives.ReadUInt32LittleEndian(block[^4..])) throw new DamagedBlockException("its checksum is wrong");
        if (block[3] != ChunkEncoder.Magic[3]) throw new DamagedBlockException($"it is of format {block[3]}; this program knows format {ChunkEncoder.Magic[3]}");
        return content;
    }

    /// <summary>Decodes one channel.</summary>
    /// <param name="channel">Which.</param>
    /// <param name="values">Receives one value a snapshot, NaN where there is none.</param>
    /// <param name="status">Receives one status byte a snapshot.</param>
    public void Read(int channel, Span<double> values, Span<byte> status)
    {
        ReadStatus(channel, status);
        var present = ReadSteps(channel, out var steps);
        var perUnit = _stepsPerUnit[channel];
        var exact = IsExact(channel);
        if (!exact) _columns.Read(_distanceColumn[channel], _distances.AsSpan(0, present));
        var i = 0;
        for (var s = 0; s < Snapshots; s++)
        {
            if (status[s] < Status.HasValue)
            {
                values[s] = double.NaN;
                continue;
            }

            values[s] = exact ? FixedPoint.ValueOf(steps[i], perUnit) : FixedPoint.ValueOf(steps[i], perUnit, _distances[i]);
            i++;
        }
    }

    /// <summary>Decodes one channel's whole steps only: one for each snapshot in which it has a value.</summary>
    /// <returns>How many.</returns>
    public int ReadSteps(int channel, out ReadOnlySpan<long> steps)
    {
        var present = 0;
        foreach (var (status, snapshots) in RunsOf(channel))
            if (status >= Status.HasValue) present += snapshots;
        _columns.Read(3 + channel, _steps.AsSpan(0, present));
        steps = _steps.AsSpan(0, present);
        return present;
    }

    /// <summary>Gives one status byte a snapshot.</summary>
    public void ReadStatus(int channel, Span<byte> status)
    {
        var at = 0;
        foreach (var (value, snapshots) in RunsOf(channel))
        {
            status.Slice(at, snapshots).Fill(value);
            at += snapshots;
        }
    }

    /// <summary>The channel's status as runs.</summary>
    public ReadOnlySpan<(byte Status, int Snapshots)> RunsOf(int channel) =>
        System.Runtime.InteropServices.CollectionsMarshal.AsSpan(_runs).Slice(_firstRun[channel], _runCount[channel]);

    private void Reserve()
    {
        if (_sequence.Length < Snapshots)
        {
            _sequence = new long[ChunkEncoder.MaxSnapshots];
            _elapsedUs = new long[ChunkEncoder.MaxSnapshots];
            _wallUnixMs = new long[ChunkEncoder.MaxSnapshots];
            _steps = new long[ChunkEncoder.MaxSnapshots];
            _distances = new long[ChunkEncoder.MaxSnapshots];
        }

        if (_firstRun.Length >= Channels) return;
        _firstRun = new int[Channels];
        _runCount = new int[Channels];
        _distanceColumn = new int[Channels];
        _stepsPerUnit = new double[Channels];
    }

    private void ReadResolutions(ref ByteReader reader)
    {
        for (var c = 0; c < Channels;)
        {
            var run = reader.Count(Channels - c);
            if (run == 0) throw new DamagedBlockException("a run of no channels");
            _stepsPerUnit.AsSpan(c, run).Fill(reader.Double());
            c += run;
        }
    }

    private void ReadStatus(ref ByteReader reader)
    {
        _runs.Clear();
        for (var c = 0; c < Channels;)
        {
            var same = reader.Count(Channels - c);
            if (same == 0) throw new DamagedBlockException("a run of no channels");
            var runs = reader.Count(Snapshots);
            _firstRun.AsSpan(c, same).Fill(_runs.Count);
            _runCount.AsSpan(c, same).Fill(runs);
            var left = Snapshots;
            for (var r = 0; r < runs; r++)
            {
                var status = reader.Byte();
                var snapshots = reader.Count(left);
                _runs.Add((status, snapshots));
                left -= snapshots;
            }

            if (left != 0) throw new DamagedBlockException("a channel's status does not cover every snapshot");
            c += same;
        }
    }

    private int ReadInexact(ref ByteReader reader)
    {
        _distanceColumn.AsSpan(0, Channels).Fill(-1);
        var inexact = reader.Count(Channels);
        var channel = 0;
        for (var i = 0; i < inexact; i++)
        {
            channel += reader.Count(Channels - 1 - channel);
            _distanceColumn[channel] = 3 + Channels + i;
        }

        return inexact;
    }
}
