namespace CellWatch.Testing;

/// <summary>A folder of one test, gone with it.</summary>
public sealed class TemporaryFolder : IDisposable
{
    public TemporaryFolder() => Path = Directory.CreateTempSubdirectory("cellwatch-test-").FullName;

    public string Path { get; }

    /// <summary>Full path of a file in it; makes nothing.</summary>
    public string File(string name = "petrel.cellog") => System.IO.Path.Combine(Path, name);

    /// <summary>Writes a file into it.</summary>
    /// <returns>Its full path.</returns>
    public string Write(string name, string text)
    {
        var file = File(name);
        System.IO.File.WriteAllText(file, text);
        return file;
    }

    public void Dispose() => Directory.Delete(Path, recursive: true);
}
