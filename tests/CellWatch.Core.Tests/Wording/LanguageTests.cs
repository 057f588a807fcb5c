using CellWatch.Core.Wording;
using Xunit;
using static CellWatch.Core.Wording.Texts;

namespace CellWatch.Core.Tests.Wording;

/// <summary>Texts in English and in a language that was made for the test; the process itself goes on speaking English.</summary>
public class LanguageTests
{
    private const string File = """
        <?xml version="1.0" encoding="utf-8"?>
        <root>
          <data name="Keep {0}. {1} will be first" xml:space="preserve"><value>{1} first; keep {0}</value></data>
          <data name="{0} of {1}, {{braces}}" xml:space="preserve"><value>{1} {{b}} {0}</value></data>
          <data name="Bleed" xml:space="preserve"><value>B</value></data>
          <data name="bleed" xml:space="preserve"><value>b</value></data>
          <data name="later" xml:space="preserve"><value></value></data>
        </root>
        """;

    [Fact]
    public void English_is_what_is_written_formatted_invariantly()
    {
        Assert.Equal("en", Spoken);
        Assert.Same("Who limits next", T("Who limits next"));
        Assert.Equal("1234.5 of 7, {braces},   3.10", T($"{1234.5} of {7}, {{braces}}, {3.1,6:0.00}"));
    }

    [Fact]
    public void Another_language_puts_the_holes_where_it_wants_them()
    {
        var language = Language.Parse("x-test", File);
        Assert.Equal("B11-4 first; keep 2.50 A", language.Say($"Keep {"2.50 A"}. {"B11-4"} will be first"));
    }

    [Fact]
    public void Capitals_tell_texts_apart_and_a_text_it_lacks_is_said_in_english()
    {
        var language = Language.Parse("x-test", File);
        Assert.Equal("7 {b} 1.5", language.Say($"{1.5} of {7}, {{braces}}"));
        Assert.Equal("Nothing of 3", language.Say($"Nothing of {3}"));
        Assert.Equal(("B", "b", "later"), (language.Say($"Bleed"), language.Say($"bleed"), language.Say($"later")));
    }

    [Theory]
    [InlineData("Keep {0}", "Keep")]
    [InlineData("Keep {0}", "Keep {0} {1}")]
    [InlineData("Keep {0}", "Keep {0} }")]
    [InlineData("Keep", "Keep {0}")]
    public void A_translation_with_other_holes_is_refused_with_both_texts(string english, string said)
    {
        var fault = Assert.Throws<FormatException>(() => new Language("x-test", [KeyValuePair.Create(english, said)]));
        Assert.Contains(english, fault.Message, StringComparison.Ordinal);
        Assert.Contains(said, fault.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void An_unknown_language_and_a_file_that_is_none_are_refused_in_words()
    {
        Assert.Null(Language.Named("en"));
        Assert.Contains("'xx' is not one of en", Assert.Throws<ArgumentException>(() => Language.Named("xx")).Message, StringComparison.Ordinal);
        Assert.Contains("no file of texts", Assert.Throws<FormatException>(() => Language.Parse("xx", "{}")).Message, StringComparison.Ordinal);
    }
}
