namespace CellWatch.EndToEnd.Tests.Support;

/// <summary>Finds the checkout and what was built in it.</summary>
public static class Repository
{
    /// <summary>The folder that holds the solution.</summary>
    public static string Root { get; } = Find();

    /// <summary>The built service, in the same configuration as these tests.</summary>
    public static string Service { get; } = Path.Combine(Root, "src", "CellWatch.Host", "bin", Configuration, "net10.0", "cellwatch.dll");

    /// <summary>The built preview of scripted scenes.</summary>
    public static string Preview { get; } = Path.Combine(Root, "tests", "CellWatch.Dashboard.Preview", "bin", Configuration, "net10.0", "CellWatch.Dashboard.Preview.dll");

    private static string Configuration =>
        AppContext.BaseDirectory.Contains($"{Path.DirectorySeparatorChar}Release{Path.DirectorySeparatorChar}", StringComparison.Ordinal) ? "Release" : "Debug";

    private static string Find()
    {
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
            if (File.Exists(Path.Combine(folder.FullName, "CellWatch.sln"))) return folder.FullName;
        throw new InvalidOperationException("These tests run from a checkout.");
    }
}
