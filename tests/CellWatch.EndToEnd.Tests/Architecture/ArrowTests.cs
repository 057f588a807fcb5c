using System.Reflection;

namespace CellWatch.EndToEnd.Tests.Architecture;

/// <summary>Holds the arrows between the projects, as drawn in DEVELOPERS.md.</summary>
public class ArrowTests
{
    private static Assembly Load(string name) => Assembly.Load(new AssemblyName(name));

    private static IEnumerable<string> Ours(string name) =>
        Load(name).GetReferencedAssemblies().Select(a => a.Name!).Where(n => n.StartsWith("CellWatch.", StringComparison.Ordinal));

    [Fact]
    public void Core_references_nothing_but_the_framework()
    {
        var others = Load("CellWatch.Core").GetReferencedAssemblies().Select(a => a.Name!).Where(n => !n.StartsWith("System", StringComparison.Ordinal));
        Assert.Empty(others);
    }

    [Fact]
    public void Core_does_no_input_or_output_and_asks_no_clock()
    {
        // Members of these types that would touch a file, a console, a port or a clock must not be named in Core's metadata.
        string[] forbidden = ["System.Console", "System.IO.FileSystem", "System.Net.Sockets", "System.Net.Http", "System.Diagnostics.Process", "System.IO.Ports"];
        var used = Load("CellWatch.Core").GetReferencedAssemblies().Select(a => a.Name!).ToList();
        Assert.Empty(used.Intersect(forbidden));

        using var stream = File.OpenRead(Load("CellWatch.Core").Location);
        using var pe = new System.Reflection.PortableExecutable.PEReader(stream);
        var metadata = System.Reflection.Metadata.PEReaderExtensions.GetMetadataReader(pe);
        var named = new List<string>();
        foreach (var handle in metadata.MemberReferences)
        {
            var member = metadata.GetMemberReference(handle);
            if (member.Parent.Kind != System.Reflection.Metadata.HandleKind.TypeReference) continue;
            var type = metadata.GetTypeReference((System.Reflection.Metadata.TypeReferenceHandle)member.Parent);
            named.Add($"{metadata.GetString(type.Namespace)}.{metadata.GetString(type.Name)}.{metadata.GetString(member.Name)}");
        }

        Assert.DoesNotContain("System.DateTime.get_Now", named);
        Assert.DoesNotContain("System.DateTime.get_UtcNow", named);
        Assert.DoesNotContain("System.DateTimeOffset.get_Now", named);
        Assert.DoesNotContain("System.DateTimeOffset.get_UtcNow", named);
        Assert.DoesNotContain("System.Diagnostics.Stopwatch.GetTimestamp", named);
        Assert.DoesNotContain("System.Environment.get_TickCount64", named);
        Assert.DoesNotContain(named, n => n.StartsWith("System.IO.File.", StringComparison.Ordinal) || n.StartsWith("System.IO.Directory.", StringComparison.Ordinal));
    }

    [Theory]
    [InlineData("CellWatch.FrontEnds", "CellWatch.Core")]
    [InlineData("CellWatch.Log", "CellWatch.Core")]
    [InlineData("CellWatch.Mqtt", "CellWatch.Core")]
    [InlineData("CellWatch.Dashboard", "CellWatch.Core")]
    [InlineData("CellWatch.Simulation", "CellWatch.Core", "CellWatch.FrontEnds")]
    public void A_project_knows_only_those_below_it(string project, params string[] allowed) => Assert.Empty(Ours(project).Except(allowed));

    [Theory]
    [InlineData("CellWatch.Core")]
    [InlineData("CellWatch.FrontEnds")]
    [InlineData("CellWatch.Simulation")]
    [InlineData("CellWatch.Mqtt")]
    [InlineData("CellWatch.Dashboard")]
    [InlineData("cellwatch")]
    public void Only_the_log_knows_its_database(string project) =>
        Assert.DoesNotContain(Load(project).GetReferencedAssemblies(), a => a.Name!.Contains("Sqlite", StringComparison.OrdinalIgnoreCase));
}
