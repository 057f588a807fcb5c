namespace CellWatch.EndToEnd.Tests.Support;

/// <summary>A folder of one test, gone with it.</summary>
public sealed class TemporaryFolder : IDisposable
{
    public TemporaryFolder() => Directory.CreateDirectory(Path);

    public string Path { get; } = System.IO.Path.Combine(System.IO.Path.GetTempPath(), $"cellwatch-test-{Guid.NewGuid():N}");

    public string Write(string name, string text)
    {
        var file = System.IO.Path.Combine(Path, name);
        File.WriteAllText(file, text);
        return file;
    }

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
