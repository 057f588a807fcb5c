using CellWatch.Core.Wording;

namespace CellWatch.Core.Tests.Wording;

/// <summary>Plain sentences of the records as they stand on a page.</summary>
public sealed class TypesetTests
{
    [Theory]
    [InlineData("102.9 +-0.6 Ah", "102.9 ±0.6_Ah")]
    [InlineData("Spread 1.9 -> 0.8 Ah", "Spread 1.9 → 0.8_Ah")]
    [InlineData("-40 to 60 degC", "−40 to 60_°C")]
    [InlineData("-0.0 +-0.3 mA", "0.0 ±0.3_mA")]
    [InlineData("0.93-0.97 mOhm, 1.7 MOhm, 9.2 micro-ohm", "0.93-0.97_mΩ, 1.7_MΩ, 9.2_µΩ")]
    [InlineData("B07+ to B05-, 2026-02-13", "B07+ to B05-, 2026-02-13")]
    [InlineData("since the last: B07 A to B, B09.3 V", "since the last: B07 A to B, B09.3 V")]
    [InlineData("(score -4.2) <=5 mA", "(score −4.2) ≤5_mA")]
    [InlineData("4310 ohm/V of the nominal 400 V", "4310 ohm/V of the nominal 400_V")]
    public void Signs_and_units_are_set_and_names_and_dates_are_left_alone(string plain, string set) => Assert.Equal(set, Typeset.Of(plain, "_"));
}
