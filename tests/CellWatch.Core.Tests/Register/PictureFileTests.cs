using CellWatch.Core.Register;

namespace CellWatch.Core.Tests.Register;

public class PictureFileTests
{
    /// <summary>A picture of one black pixel, made with ImageMagick 6 (libpng).</summary>
    private static readonly byte[] Png = Convert.FromBase64String("iVBORw0KGgoAAAANSUhEUgAAAAEAAAABAQAAAAA3bvkkAAAACklEQVQI12NgAAAAAgAB4iG8MwAAAABJRU5ErkJggg==");

    /// <summary>A grey picture of 8 x 8 pixels, made with ImageMagick 6 (libjpeg); an Exif block that says "turn by 90 degrees" was put in by hand.</summary>
    private static readonly byte[] Jpeg = Convert.FromBase64String("/9j/4QAiRXhpZgAATU0AKgAAAAgAAQESAAMAAAABAAYAAAAAAAD/4AAQSkZJRgABAQAAAQABAAD/2wBDAA0JCgsKCA0LCgsODg0PEyAVExISEyccHhcgLikxMC4pLSwzOko+MzZGNywtQFdBRkxOUlNSMj5aYVpQYEpRUk//wAALCAAIAAgBAREA/8QAFAABAAAAAAAAAAAAAAAAAAAAAP/EABcQAAMBAAAAAAAAAAAAAAAAAAAXY6H/2gAIAQEAAD8AL2OH/9k=");

    [Fact]
    public void Whole_pictures_of_other_programs_are_taken()
    {
        Assert.Null(PictureFile.Fault("image/png", Png));
        Assert.Null(PictureFile.Fault("image/jpeg", Jpeg));
        // Cameras add bytes behind the end mark.
        Assert.Null(PictureFile.Fault("image/jpeg", [.. Jpeg, 0, 1, 2, 3]));
        Assert.Null(PictureFile.Fault("text/csv", [1]));
    }

    [Theory]
    [InlineData("image/png")]
    [InlineData("image/jpeg")]
    public void A_picture_cut_anywhere_is_damaged(string kind)
    {
        var whole = kind == "image/png" ? Png : Jpeg;
        for (var length = 12; length < whole.Length; length++)
            Assert.True(PictureFile.Fault(kind, whole.AsSpan(0, length)) is not null, $"cut to {length} of {whole.Length} bytes");
    }

    [Fact]
    public void A_changed_byte_of_a_png_is_noticed_by_its_checksums()
    {
        for (var i = 8; i < Png.Length; i++)
        {
            byte[] changed = [.. Png];
            changed[i] ^= 0x10;
            Assert.True(PictureFile.Fault("image/png", changed) is not null, $"byte {i}");
        }
    }

    [Fact]
    public void A_jpeg_says_how_it_is_to_be_turned()
    {
        Assert.Equal(90, PictureFile.TurnOf(Jpeg));
        Assert.Equal(0, PictureFile.TurnOf(Jpeg.AsSpan(0, 20)));
        Assert.Equal(0, PictureFile.TurnOf([0xFF, 0xD8, 0xFF, 0xDB, 0, 2, 0xFF, 0xDA]));
    }

    [Fact]
    public void A_webp_shorter_than_it_says_is_damaged()
    {
        byte[] webp = [.. "RIFF"u8, 8, 0, 0, 0, .. "WEBPVP8 "u8];
        Assert.Null(PictureFile.Fault("image/webp", webp));
        Assert.NotNull(PictureFile.Fault("image/webp", webp.AsSpan(0, 14)));
    }
}
