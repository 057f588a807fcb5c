namespace CellWatch.Log.Exchange;

/// <summary>
/// A file that appears under its name only when it is whole: it is written beside it with <c>.part</c> added and renamed at the end.
/// Disposed without <see cref="Complete"/> it leaves nothing.
/// </summary>
internal sealed class PartFile : IDisposable
{
    private readonly string _path;

    public PartFile(string path)
    {
        _path = path;
        Stream = new FileStream(path + ".part", FileMode.Create, FileAccess.ReadWrite, FileShare.Read, 1 << 16);
    }

    /// <summary>Writes a whole text, UTF-8 without a mark.</summary>
    public static void Write(string path, string text)
    {
        using var part = new PartFile(path);
        part.Stream.Write(System.Text.Encoding.UTF8.GetBytes(text));
        part.Complete();
    }

    public FileStream Stream { get; }

    /// <summary>Whether the file has its name.</summary>
    public bool IsComplete { get; private set; }

    /// <summary>Gives the file its name.</summary>
    public void Complete()
    {
        Stream.Flush(flushToDisk: true);
        Stream.Dispose();
        File.Move(_path + ".part", _path, overwrite: true);
        IsComplete = true;
    }

    public void Dispose()
    {
        Stream.Dispose();
        if (!IsComplete) File.Delete(_path + ".part");
    }
}
