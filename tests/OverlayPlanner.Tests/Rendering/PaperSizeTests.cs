using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering;

namespace OverlayPlanner.Tests.Rendering;

public class PaperSizeTests
{
    // ISO 216 in millimetres; ASME Y14.1 sizes A and B in inches; Legal: common practice, no source.
    [Theory]
    [InlineData("a4", 210 / 25.4, 297 / 25.4)]
    [InlineData("A3", 297 / 25.4, 420 / 25.4)]
    [InlineData("letter", 8.5, 11)]
    [InlineData("Tabloid", 11, 17)]
    [InlineData("legal", 8.5, 14)]
    [InlineData("13x19", 13, 19)]
    [InlineData("13 x 19 1/2", 13, 19.5)]
    [InlineData("330x483mm", 330 / 25.4, 483 / 25.4)]
    [InlineData("330mmx483mm", 330 / 25.4, 483 / 25.4)]
    public void Names_and_measures_are_read_as_the_standards_have_them(string text, double width, double height)
    {
        PaperSize paper = PaperSize.Parse(text);

        Assert.Equal(width, paper.Width.Inches, 1e-9);
        Assert.Equal(height, paper.Height.Inches, 1e-9);
    }

    [Theory]
    [InlineData("")]
    [InlineData("napkin")]
    [InlineData("8x")]
    [InlineData("2x2")]
    [InlineData("300x10")]
    [InlineData("8,5x11")]
    [InlineData("NaNx11")]
    public void What_is_no_paper_is_refused_with_a_remedy(string text)
    {
        InputException e = Assert.Throws<InputException>(() => PaperSize.Parse(text));

        Assert.Equal("--paper", e.Where);
        Assert.NotEmpty(e.Remedy);
    }
}
