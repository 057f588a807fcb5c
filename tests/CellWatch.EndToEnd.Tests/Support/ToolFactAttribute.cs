namespace CellWatch.EndToEnd.Tests.Support;

/// <summary>A fact that needs programs of the machine, and skips with the reason where one is absent.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class ToolFactAttribute : FactAttribute
{
    /// <param name="tools">Names of programs on the path or in /usr/sbin.</param>
    public ToolFactAttribute(params string[] tools)
    {
        Tools = tools;
        var absent = tools.Where(t => PathOf(t) is null).ToList();
        if (absent.Count > 0) Skip = $"not on this machine: {string.Join(", ", absent)}";
    }

    /// <summary>The programs.</summary>
    public IReadOnlyList<string> Tools { get; }

    /// <summary>Full path of a program, or null.</summary>
    public static string? PathOf(string tool) =>
        (Environment.GetEnvironmentVariable("PATH") ?? "").Split(Path.PathSeparator).Append("/usr/sbin")
        .Select(folder => Path.Combine(folder, tool)).FirstOrDefault(File.Exists);
}
