using CellWatch.EndToEnd.Tests.Support;

namespace CellWatch.EndToEnd.Tests.Browser;

/// <summary>Where the browser is, and why its tests skip where it is not.</summary>
public static class Chromium
{
    /// <summary>Full path, or null.</summary>
    public static string? Path { get; } = ToolFactAttribute.PathOf("chromium") ?? ToolFactAttribute.PathOf("chromium-browser");

    /// <summary>Reason to skip; null where the browser is there.</summary>
    public static string? Skip => Path is null ? "not on this machine: chromium (Debian: apt-get install chromium)" : null;
}

/// <summary>A fact that needs a browser.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class BrowserFactAttribute : FactAttribute
{
    public BrowserFactAttribute() => Skip = Chromium.Skip;
}

/// <summary>A theory that needs a browser.</summary>
[AttributeUsage(AttributeTargets.Method)]
public sealed class BrowserTheoryAttribute : TheoryAttribute
{
    public BrowserTheoryAttribute() => Skip = Chromium.Skip;
}
