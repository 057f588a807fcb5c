using System.Reflection;
using System.Text.Json;
using System.Text.Json.Nodes;
using System.Text.Json.Schema;
using System.Xml.Linq;

namespace CellWatch.Host.Site;

/// <summary>
/// The JSON Schema of the site file, made from the types that read it and their doc comments, so that an editor completes names,
/// shows what they mean and knows the allowed ranges.
/// </summary>
public static class SiteSchema
{
    /// <summary>Name of the file <c>new</c> writes beside a site file.</summary>
    public const string FileName = "site.schema.json";

    /// <summary>Makes the schema.</summary>
    public static string Text()
    {
        var comments = Comments();
        var schema = SiteFile.Json.GetJsonSchemaAsNode(typeof(SiteDocument), new JsonSchemaExporterOptions
        {
            TreatNullObliviousAsNonNullable = true,
            TransformSchemaNode = (context, node) => Describe(context, node, comments),
        });
        var root = schema.AsObject();
        root.Insert(0, "$schema", "https://json-schema.org/draft/2020-12/schema");
        root.Insert(1, "title", "CellWatch site file");
        return root.ToJsonString(new JsonSerializerOptions { WriteIndented = true, Encoder = System.Text.Encodings.Web.JavaScriptEncoder.UnsafeRelaxedJsonEscaping });
    }

    private static JsonNode Describe(JsonSchemaExporterContext context, JsonNode node, Dictionary<string, string> comments)
    {
        if (node is not JsonObject schema || context.PropertyInfo?.AttributeProvider is not PropertyInfo property) return node;
        if (comments.TryGetValue($"P:{property.DeclaringType!.FullName}.{property.Name}", out var comment)) schema["description"] = comment;
        if (property.GetCustomAttribute<WithinAttribute>() is { } range)
        {
            schema["minimum"] = range.Low;
            schema["maximum"] = range.High;
        }

        return schema;
    }

    private static Dictionary<string, string> Comments()
    {
        var comments = new Dictionary<string, string>(StringComparer.Ordinal);
        foreach (var file in Directory.EnumerateFiles(AppContext.BaseDirectory, "*.xml").Where(f => Path.GetFileName(f).StartsWith("cellwatch", StringComparison.OrdinalIgnoreCase)))
        {
            foreach (var member in XDocument.Load(file).Descendants("member"))
            {
                if (member.Element("summary") is { } summary)
                    comments[(string)member.Attribute("name")!] = string.Join(' ', summary.Value.Split((char[]?)null, StringSplitOptions.RemoveEmptyEntries));
            }
        }

        return comments;
    }
}
