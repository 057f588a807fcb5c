using CellWatch.Core.Assess;
using CellWatch.Testing;

namespace CellWatch.Core.Tests.Assess;

/// <summary>The shared measured files and their answers (reference_answers.csv, computed independently of this code).</summary>
internal static class Files
{
    public static AssessReport Run(AssessKind kind, string file, AssessOptions? options = null)
    {
        using var reader = new StreamReader(SharedMaterial.PathOf("data/" + file));
        return Assessment.Run(kind, file, reader, options);
    }

    public static T Run<T>(AssessKind kind, string file, AssessOptions? options = null) where T : AssessReport => (T)Run(kind, file, options);

    public static AssessReport Text(AssessKind kind, string csv, AssessOptions? options = null) => Assessment.Run(kind, "test.csv", new StringReader(csv), options);

    public static IEnumerable<(string Quantity, string Selector, double Value, string Definition)> Answers(string file, string quantity)
    {
        using var reader = new StreamReader(SharedMaterial.PathOf("data/reference_answers.csv"));
        var table = MeasuredTable.Read(reader);
        string[] files = table.Find("file")!.Texts!, quantities = table.Find("quantity")!.Texts!, selectors = table.Find("selector")!.Texts!, definitions = table.Find("definition")!.Texts!;
        var values = table.FindNumbers("value")!;
        for (var r = 0; r < table.RowCount; r++)
            if (files[r] == file && quantities[r] == quantity) yield return (quantities[r], selectors[r], values[r], definitions[r]);
    }
}
