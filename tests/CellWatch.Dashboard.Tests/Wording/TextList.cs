using System.Globalization;
using System.Text.RegularExpressions;
using System.Xml.Linq;
using Microsoft.CodeAnalysis;
using Microsoft.CodeAnalysis.CSharp;
using Microsoft.CodeAnalysis.CSharp.Syntax;

namespace CellWatch.Dashboard.Tests.Wording;

/// <summary>The texts of the screen as the sources hold them: every <c>T("...")</c> of C# and pages, every <c>spoken('...')</c> of the scripts.</summary>
internal sealed partial class TextList
{
    private readonly SortedDictionary<string, SortedSet<string>> _filesOf = new(StringComparer.Ordinal);
    private readonly List<string> _faults = [];

    private TextList(string root) => Root = root;

    /// <summary>The checkout.</summary>
    public string Root { get; }

    /// <summary>The texts, each with the files it stands in.</summary>
    public IReadOnlyDictionary<string, SortedSet<string>> FilesOf => _filesOf;

    /// <summary>Calls whose text cannot be read off the source.</summary>
    public IReadOnlyList<string> Faults => _faults;

    /// <summary>Texts of the scripts alone.</summary>
    public SortedSet<string> OfScripts { get; } = new(StringComparer.Ordinal);

    /// <summary>The file of English texts.</summary>
    public string File => Path.Combine(Root, "src", "CellWatch.Core", "Wording", "Texts.resx");

    /// <summary>Reads all sources.</summary>
    public static TextList Read()
    {
        var folder = new DirectoryInfo(AppContext.BaseDirectory);
        while (folder is not null && !System.IO.File.Exists(Path.Combine(folder.FullName, "CellWatch.sln"))) folder = folder.Parent;
        var list = new TextList(folder!.FullName);
        foreach (var file in Directory.EnumerateFiles(Path.Combine(list.Root, "src"), "*", SearchOption.AllDirectories).Order(StringComparer.Ordinal))
        {
            var name = Path.GetRelativePath(Path.Combine(list.Root, "src"), file).Replace('\\', '/');
            if (name.Contains("/obj/", StringComparison.Ordinal) || name.Contains("/bin/", StringComparison.Ordinal)) continue;
            switch (Path.GetExtension(file))
            {
                case ".cs": list.ReadCode(name, System.IO.File.ReadAllText(file)); break;
                case ".razor": list.ReadPage(name, System.IO.File.ReadAllText(file)); break;
                case ".js": list.ReadScript(name, System.IO.File.ReadAllText(file)); break;
                default: break;
            }
        }

        return list;
    }

    /// <summary>The file of English texts as it has to be.</summary>
    public string ToResx()
    {
        var root = new XElement("root",
            Header("resmimetype", "text/microsoft-resx"),
            Header("version", "2.0"),
            Header("reader", "System.Resources.ResXResourceReader, System.Windows.Forms"),
            Header("writer", "System.Resources.ResXResourceWriter, System.Windows.Forms"),
            _filesOf.Select(t => new XElement("data", new XAttribute("name", t.Key), new XAttribute(XNamespace.Xml + "space", "preserve"),
                new XElement("value", t.Key), new XElement("comment", string.Join("; ", t.Value)))));
        return new XDocument(root).ToString().ReplaceLineEndings("\n") + "\n";

        static XElement Header(string name, string value) => new("resheader", new XAttribute("name", name), new XElement("value", value));
    }

    private void ReadCode(string file, string text)
    {
        if (!text.Contains("T(", StringComparison.Ordinal)) return;
        var root = CSharpSyntaxTree.ParseText(text, new CSharpParseOptions(LanguageVersion.Preview)).GetRoot();
        foreach (var call in root.DescendantNodes().OfType<InvocationExpressionSyntax>()) Take(file, call);
        // T handed on as a method would take texts nobody lists.
        _faults.AddRange(root.DescendantNodes().OfType<ArgumentSyntax>().Where(a => a.Expression is IdentifierNameSyntax { Identifier.ValueText: "T" }).Select(a => $"{file}: {a.Parent}"));
    }

    // A page is no C#, but from each T( on stands an expression of it.
    private void ReadPage(string file, string text)
    {
        text = RazorComment().Replace(text, "");
        foreach (Match start in Call().Matches(text))
            if (SyntaxFactory.ParseExpression(text, start.Index, new CSharpParseOptions(LanguageVersion.Preview), consumeFullText: false) is { } expression
                && expression.DescendantNodesAndSelf().OfType<InvocationExpressionSyntax>().FirstOrDefault(c => c.SpanStart == expression.SpanStart && IsText(c)) is { } call)
                Take(file, call);
    }

    private void ReadScript(string file, string text)
    {
        foreach (Match call in ScriptCall().Matches(text))
        {
            var said = Regex.Unescape(call.Groups[1].Value);
            OfScripts.Add(said);
            Add(said, file);
        }
    }

    private static bool IsText(InvocationExpressionSyntax call) => call.Expression is IdentifierNameSyntax { Identifier.ValueText: "T" };

    private void Take(string file, InvocationExpressionSyntax call)
    {
        if (!IsText(call)) return;
        if (call.ArgumentList.Arguments.Count == 1 && KeyOf(call.ArgumentList.Arguments[0].Expression) is { } key) Add(key, file);
        else _faults.Add($"{file}: {call.ToString().ReplaceLineEndings(" ")}");
    }

    private void Add(string key, string file)
    {
        if (!_filesOf.TryGetValue(key, out var files)) _filesOf[key] = files = new SortedSet<string>(StringComparer.Ordinal);
        files.Add(file);
    }

    // As the compiler hands it to TextWithHoles; null where the text is not written out.
    private static string? KeyOf(ExpressionSyntax argument)
    {
        switch (argument)
        {
            case LiteralExpressionSyntax literal when literal.IsKind(SyntaxKind.StringLiteralExpression): return literal.Token.ValueText;
            case BinaryExpressionSyntax sum when sum.IsKind(SyntaxKind.AddExpression):
                return sum.Left is not InterpolatedStringExpressionSyntax && sum.Right is not InterpolatedStringExpressionSyntax && KeyOf(sum.Left) is { } left && KeyOf(sum.Right) is { } right
                    ? left + right : null;
            // Holes that are constant make the whole a constant: the compiler would take it for a text without holes.
            case InterpolatedStringExpressionSyntax text when text.Contents.OfType<InterpolationSyntax>().All(h => h.Expression is LiteralExpressionSyntax): return null;
            case InterpolatedStringExpressionSyntax text:
                var hole = 0;
                return string.Concat(text.Contents.Select(c => c is InterpolatedStringTextSyntax written
                    ? written.TextToken.ValueText.Replace("{", "{{", StringComparison.Ordinal).Replace("}", "}}", StringComparison.Ordinal)
                    : string.Create(CultureInfo.InvariantCulture, $"{{{hole++}}}")));
            default: return null;
        }
    }

    [GeneratedRegex(@"(?<![\w.])T\(")]
    private static partial Regex Call();

    [GeneratedRegex(@"(?<![\w.])spoken\('((?:[^'\\]|\\.)*)'")]
    private static partial Regex ScriptCall();

    [GeneratedRegex(@"@\*.*?\*@", RegexOptions.Singleline)]
    private static partial Regex RazorComment();
}
