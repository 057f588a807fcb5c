using CellWatch.Core.Estimation.Ocv;
using CellWatch.Core.Sources;
using Xunit;

namespace CellWatch.Core.Tests.Sources;

public class SourceListTests
{
    [Fact]
    public void Every_method_has_a_use_a_source_and_a_check_and_a_name_of_its_own()
    {
        Assert.All(SourceList.All, s => Assert.All(new[] { s.Name, s.UsedFor, s.Source, s.CheckedAgainst }, t => Assert.False(string.IsNullOrWhiteSpace(t))));
        Assert.Equal(SourceList.All.Count, SourceList.All.Select(s => s.Name).Distinct(StringComparer.Ordinal).Count());
    }

    [Fact]
    public void Every_curve_is_listed_and_the_text_prints_them_all()
    {
        foreach (var curve in OcvCurves.All) Assert.Contains(curve.Source, SourceList.Render(), StringComparison.Ordinal);
        foreach (var s in SourceList.All) Assert.Contains(s.Name, SourceList.Render(), StringComparison.Ordinal);
    }

    /// <summary>The contributor guide lists the same methods.</summary>
    [Fact]
    public void The_guide_names_every_method()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !File.Exists(Path.Combine(folder.FullName, "CellWatch.sln"))) folder = folder.Parent;
        var guide = File.ReadAllText(Path.Combine(folder!.FullName, "DEVELOPERS.md"));
        Assert.All(SourceList.All, s => Assert.Contains(s.Name, guide, StringComparison.Ordinal));
    }
}
