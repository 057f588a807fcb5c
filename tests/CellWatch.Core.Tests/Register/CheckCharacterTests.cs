using CellWatch.Core.Pack;
using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Register;

public class CheckCharacterTests
{
    // The global release identifier uses ISO 7064 MOD 37,36; A1-2425G-ABC1234002-M is its published example (from memory).
    [Fact]
    public void The_published_example_gets_its_character() => Assert.Equal('M', CheckCharacter.Of("A12425GABC1234002"));

    [Fact]
    public void A_label_is_read_back()
    {
        var id = new ModuleId("B07");
        Assert.Equal(id, CheckCharacter.Read(CheckCharacter.Label(id)));
        Assert.Equal(id, CheckCharacter.Read("b07"));
    }

    [Fact]
    public void Every_single_wrong_character_is_found()
    {
        const string All = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ";
        var label = CheckCharacter.Label(new ModuleId("B07"));
        for (var i = 0; i < 3; i++)
            foreach (var wrong in All.Where(c => c != label[i]))
            {
                var typed = label[..i] + wrong + label[(i + 1)..];
                Assert.Throws<RefusedException>(() => CheckCharacter.Read(typed));
            }
    }

    [Theory]
    [InlineData("")]
    [InlineData("B-07")]
    [InlineData("B07-")]
    [InlineData("B07-KK")]
    [InlineData("module seven")]
    public void What_is_no_identity_is_refused(string typed) => Assert.Throws<RefusedException>(() => CheckCharacter.Read(typed));
}
