using Xunit;

namespace CellWatch.Testing;

/// <summary>
/// The reference material that sits beside the checkout in a folder named <c>shared</c> (measured data, wire vectors,
/// curves). It is not part of the project: a test that needs it skips with a reason where it is absent.
/// </summary>
public static class SharedMaterial
{
    /// <summary>Its folder, or null where there is none. <c>CELLWATCH_SHARED</c> overrides the search.</summary>
    public static string? Root { get; } = Find();

    /// <summary>Full path of a file given relative to the folder.</summary>
    public static string PathOf(string relative) =>
        Path.Combine(Root ?? throw new InvalidOperationException("The shared reference material is absent."), relative);

    internal static bool Has(string relative) => Root is not null && Path.Exists(Path.Combine(Root, relative));

    private static string? Find()
    {
        if (Environment.GetEnvironmentVariable("CELLWATCH_SHARED") is { Length: > 0 } named)
            return Directory.Exists(named) ? named : null;
        for (var folder = new DirectoryInfo(AppContext.BaseDirectory); folder is not null; folder = folder.Parent)
        {
            var candidate = Path.Combine(folder.FullName, "shared");
            if (Directory.Exists(Path.Combine(candidate, "reference")) && Directory.Exists(Path.Combine(candidate, "data")))
                return candidate;
        }

        return null;
    }
}

/// <summary>A fact that skips, with the reason, where the named shared file or folder is absent.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SharedFactAttribute : FactAttribute
{
    /// <param name="needs">File or folder relative to the shared folder, say <c>data/can</c>.</param>
    public SharedFactAttribute(string needs)
    {
        Needs = needs;
        if (!SharedMaterial.Has(needs)) Skip = $"shared/{needs} is not beside this checkout";
    }

    /// <summary>The file or folder the test reads.</summary>
    public string Needs { get; }
}

/// <summary>A theory that skips, with the reason, where the named shared file or folder is absent.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class SharedTheoryAttribute : TheoryAttribute
{
    /// <param name="needs">File or folder relative to the shared folder.</param>
    public SharedTheoryAttribute(string needs)
    {
        Needs = needs;
        if (!SharedMaterial.Has(needs)) Skip = $"shared/{needs} is not beside this checkout";
    }

    /// <summary>The file or folder the test reads.</summary>
    public string Needs { get; }
}
