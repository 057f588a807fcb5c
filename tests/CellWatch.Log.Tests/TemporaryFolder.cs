namespace CellWatch.Log.Tests;

/// <summary>A folder of its own for one test, removed with it.</summary>
public sealed class TemporaryFolder : IDisposable
{
    public TemporaryFolder() => Path = Directory.CreateTempSubdirectory("cellwatch-log-").FullName;

    public string Path { get; }

    public string File(string name = "petrel.cellog") => System.IO.Path.Combine(Path, name);

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
