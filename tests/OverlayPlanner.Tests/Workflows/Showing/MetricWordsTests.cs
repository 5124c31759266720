using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows.Showing;

/// <summary>The planner's sentences for whoever reads millimetres.</summary>
public class MetricWordsTests
{
    private static readonly LengthWords Metric = new(LengthUnits.Millimeters);

    [Theory]
    [InlineData("4 1/2 in of backtracking", "114 mm of backtracking")]
    [InlineData("the sharpest edges are spread over 0.06 in", "the sharpest edges are spread over 1.5 mm")]
    [InlineData("the whole mapped area, 36 × 24 in", "the whole mapped area, 914 × 610 mm")]
    [InlineData("from 1/2 to 2,000 in each", "from 12.7 to 50800 mm each")]
    [InlineData("chords of 4, 6, 8, 10 and 12 in, both edges", "chords of 102, 152, 203, 254 and 305 mm, both edges")]
    [InlineData("6 in circle, outside", "152 mm circle, outside")]
    [InlineData("a 12 in block", "a 305 mm block")]
    [InlineData("12.3 photo pixels to the inch", "5 pixels to the centimetre")]
    [InlineData("most are 1/2 in, 12.7 mm.", "most are 12.7 mm.")]
    [InlineData("It costs no start and no inch more", "It costs no start and no millimetre more")]
    [InlineData(
        "seam s3 in block b2, step 4 in the list, 19 times in 20",
        "seam s3 in block b2, step 4 in the list, 19 times in 20"
    )]
    public void Lengths_turn_and_nothing_else_does(string inches, string millimetres)
    {
        Assert.Equal(millimetres, Metric.Tell(inches));
        Assert.Equal(inches, new LengthWords(LengthUnits.Inches).Tell(inches));
    }

    [Theory]
    [InlineData(
        "arcs up to 4 1/2 in, near 12.3,6",
        "arcs up to 4 1/2 in, near 12 5/16 in across and 6 in down",
        "arcs up to 114 mm, near 312 mm across and 152 mm down"
    )]
    [InlineData(
        "near (3.5, 7.2) in, 41 % sure",
        "near 3 1/2 in across and 7 3/16 in down, 41 % sure",
        "near 89 mm across and 183 mm down, 41 % sure"
    )]
    [InlineData("j4 at 12,6", "j4 at 12 in across and 6 in down", "j4 at 305 mm across and 152 mm down")]
    [InlineData("corner 2 at 1040.25,33.5", "corner 2 at 1040.25,33.5", "corner 2 at 1040.25,33.5")]
    [InlineData("seen at 1,200 pixels", "seen at 1,200 pixels", "seen at 1,200 pixels")]
    public void Places_on_the_cloth_are_told_in_words(string text, string inches, string millimetres)
    {
        Assert.Equal(inches, new LengthWords(LengthUnits.Inches).Tell(text));
        Assert.Equal(millimetres, Metric.Tell(text));
    }
}
