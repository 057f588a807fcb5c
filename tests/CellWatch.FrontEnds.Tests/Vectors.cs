using System.Text;
using System.Text.Json;

namespace CellWatch.FrontEnds.Tests;

/// <summary>Wire vectors kept beside the checkout: expected values come from general-purpose tools, named in each file.</summary>
internal static class Vectors
{
    public const string Folder = "data/can";

    public static JsonElement Read(string file) =>
        JsonDocument.Parse(File.ReadAllText(SharedMaterial.PathOf($"{Folder}/{file}"))).RootElement;

    public static byte[] Bytes(this JsonElement element, string name) => Convert.FromHexString(element.GetProperty(name).GetString()!);

    public static string Text(this JsonElement element, string name) => element.GetProperty(name).GetString()!;

    public static byte[] Ascii(string text) => Encoding.Latin1.GetBytes(text);
}
