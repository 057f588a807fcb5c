namespace CellWatch.Host.Site;

/// <summary>One thing wrong with a site file.</summary>
/// <param name="Path">The value: <c>$.modules[3].topology</c>.</param>
/// <param name="Line">Its line, from 1.</param>
/// <param name="Message">What is wrong, what is allowed, and the nearest valid name.</param>
public sealed record SiteFault(string Path, int Line, string Message)
{
    /// <summary>The path without the root's sign.</summary>
    public string Where => Path.Length > 2 ? Path[2..] : "the file";
}

/// <summary>A site file that cannot be used; the message lists every fault with file and line.</summary>
public sealed class SiteFileException(string file, IReadOnlyList<SiteFault> faults)
    : Exception(string.Join(Environment.NewLine, faults.Select(fault => $"{file}:{fault.Line}: {fault.Where}: {fault.Message}")))
{
    /// <summary>The file.</summary>
    public string File { get; } = file;

    /// <summary>Everything that is wrong with it.</summary>
    public IReadOnlyList<SiteFault> Faults { get; } = faults;
}
