using System.Collections;
using System.Globalization;
using System.Reflection;
using System.Text.Json;

namespace CellWatch.Host.Site;

/// <summary>The range a setting may take; read by the check and by the schema, so that both say the same.</summary>
[AttributeUsage(AttributeTargets.Property)]
public sealed class WithinAttribute(double low, double high, string unit = "") : Attribute
{
    /// <summary>Smallest allowed value.</summary>
    public double Low { get; } = low;

    /// <summary>Largest allowed value.</summary>
    public double High { get; } = high;

    /// <summary>Unit in words.</summary>
    public string Unit { get; } = unit;

    /// <summary>The range in words: <c>0.5 to 10 scans a second</c>.</summary>
    public string InWords => string.Create(CultureInfo.InvariantCulture, $"{Low} to {High} {Unit}").TrimEnd();

    /// <summary>Checks every property that carries a range, in the object and in those within it.</summary>
    public static void Check(object settings, string path, Action<string, string> refuse)
    {
        foreach (var property in settings.GetType().GetProperties(BindingFlags.Public | BindingFlags.Instance))
        {
            if (property.GetIndexParameters().Length > 0) continue;
            var here = $"{path}.{JsonNamingPolicy.CamelCase.ConvertName(property.Name)}";
            var value = property.GetValue(settings);
            if (property.GetCustomAttribute<WithinAttribute>() is { } range && value is not null)
            {
                var number = Convert.ToDouble(value, CultureInfo.InvariantCulture);
                if (!(number >= range.Low && number <= range.High))
                    refuse(here, string.Create(CultureInfo.InvariantCulture, $"{number} is outside {range.InWords}"));
            }
            else if (value is IEnumerable list and not string)
            {
                var index = 0;
                foreach (var item in list)
                    if (item is not null && Ours(item.GetType())) Check(item, string.Create(CultureInfo.InvariantCulture, $"{here}[{index++}]"), refuse);
            }
            else if (value is not null && Ours(property.PropertyType))
            {
                Check(value, here, refuse);
            }
        }
    }

    private static bool Ours(Type type) => type.Assembly == typeof(WithinAttribute).Assembly && type.IsClass;
}
