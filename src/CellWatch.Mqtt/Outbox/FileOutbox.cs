namespace CellWatch.Mqtt;

/// <summary>
/// An outbox that survives the program: what waits is in memory and, line by line, in a file (<see cref="OutboxLine"/>). A message is
/// on the disk before <see cref="Add"/> returns; its delivery is handed to the operating system before <see cref="Remove"/> returns,
/// so that a killed program sends nothing twice (a power cut may repeat the last one or two, with their old numbers).
/// When the file cannot be written the messages still wait in memory, and <see cref="Fault"/> says so.
/// </summary>
public sealed class FileOutbox : IOutbox, IDisposable
{
    /// <summary>Delivered messages that make the file worth writing anew (chosen, no source).</summary>
    private const int RewriteAfter = 1000;

    private readonly string _path;
    private readonly int _rewriteAfter;
    private readonly MemoryOutbox _memory;
    private readonly Lock _lock = new();
    private FileStream? _file;
    private int _delivered;
    private volatile string _fault = "";

    /// <summary>Opens the file or makes it, and reads what waits.</summary>
    /// <param name="path">The file; its folder is made if need be.</param>
    /// <param name="capacity">Most messages that wait.</param>
    public FileOutbox(string path, int capacity = MemoryOutbox.DefaultCapacity) : this(path, capacity, RewriteAfter)
    {
    }

    internal FileOutbox(string path, int capacity, int rewriteAfter)
    {
        (_path, _rewriteAfter) = (path, rewriteAfter);
        _memory = new MemoryOutbox(capacity);
        try
        {
            if (Path.GetDirectoryName(Path.GetFullPath(path)) is { } folder) Directory.CreateDirectory(folder);
            DamagedLines = Read();
            Rewrite();
        }
        catch (Exception e) when (IsOfTheDisk(e))
        {
            Fail(e);
        }
    }

    /// <summary>Lines that could not be read when the file was opened; their messages are lost, all others are not.</summary>
    public int DamagedLines { get; }

    /// <inheritdoc/>
    public int Count => _memory.Count;

    /// <inheritdoc/>
    public long GivenUp => _memory.GivenUp;

    /// <inheritdoc/>
    public string Fault => _fault;

    /// <inheritdoc/>
    public long NextNumber => _memory.NextNumber;

    /// <inheritdoc/>
    public OutboxMessage Add(string topic, ReadOnlySpan<byte> payload, bool retain)
    {
        var message = _memory.Add(topic, payload, retain);
        Append(OutboxLine.Added(message), toDisk: true);
        return message;
    }

    /// <inheritdoc/>
    public bool TryPeek(out OutboxMessage message) => _memory.TryPeek(out message);

    /// <inheritdoc/>
    public void Remove(OutboxMessage message)
    {
        _memory.Remove(message);
        Append(OutboxLine.Delivered(message.Number), toDisk: false);
    }

    /// <summary>Closes the file.</summary>
    public void Dispose()
    {
        lock (_lock)
        {
            _file?.Dispose();
            _file = null;
        }
    }

    private int Read()
    {
        if (!File.Exists(_path)) return 0;
        var damaged = 0;
        var waiting = new SortedDictionary<long, OutboxMessage>();
        var next = 1L;
        ReadOnlySpan<byte> rest = File.ReadAllBytes(_path);
        while (rest.Length > 0)
        {
            var end = rest.IndexOf((byte)'\n');
            var line = end < 0 ? rest : rest[..end];
            rest = end < 0 ? [] : rest[(end + 1)..];
            if (!OutboxLine.TryParse(line, out var read))
            {
                damaged++;
                continue;
            }

            // Damaged lines may have hidden numbers; the next line's number is then still above them.
            next = Math.Max(next, read.Kind == 'N' ? read.Number : read.Number + 1);
            if (read.Message is { } message) waiting[read.Number] = message;
            else if (read.Kind == 'D') waiting.Remove(read.Number);
        }

        // A damaged last line hides at most one number; leaving one out keeps the promise that none is given twice.
        _memory.StartAt(next + damaged);
        foreach (var message in waiting.Values) _memory.Restore(message);
        return damaged;
    }

    private void Append(byte[] line, bool toDisk)
    {
        lock (_lock)
        {
            try
            {
                if (!toDisk) _delivered++;
                if (_file is null || _delivered > _rewriteAfter)
                {
                    Rewrite();
                    return;
                }

                _file.Write(line);
                _file.Flush(flushToDisk: toDisk);
                _fault = "";
            }
            catch (Exception e) when (IsOfTheDisk(e))
            {
                Fail(e);
            }
        }
    }

    /// <summary>Writes what waits to a new file and puts it in the old one's place in one step.</summary>
    private void Rewrite()
    {
        _file?.Dispose();
        _file = null;
        var fresh = _path + ".new";
        using (var file = new FileStream(fresh, FileMode.Create, FileAccess.Write))
        {
            file.Write(OutboxLine.Next(_memory.NextNumber));
            foreach (var message in _memory.Waiting()) file.Write(OutboxLine.Added(message));
            file.Flush(flushToDisk: true);
        }

        File.Move(fresh, _path, overwrite: true);
        _file = new FileStream(_path, FileMode.Append, FileAccess.Write, FileShare.Read);
        _delivered = 0;
        _fault = "";
    }

    private void Fail(Exception e)
    {
        _file?.Dispose();
        _file = null; // The next message tries the whole file again.
        _fault = $"waiting messages are kept in memory only: {_path} cannot be written ({e.Message.TrimEnd('.')})";
    }

    private static bool IsOfTheDisk(Exception e) => e is IOException or UnauthorizedAccessException or NotSupportedException;
}
