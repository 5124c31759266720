using OverlayPlanner.Benchmarks.Rendering;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;

namespace OverlayPlanner.AcceptanceTests.Reference.Rendering;

/// <summary>The same design through PDF, SVG, HP-GL, DXF and G-code, each read back by a reader from outside.</summary>
public class FormatAgreementTests
{
    [Theory]
    [InlineData("lemoyne-star", 12)]
    [InlineData("friendship-star", 9.7)]
    public void Five_formats_agree_to_a_fortieth_of_a_millimetre(string block, double inches)
    {
        (Route route, _) = SheetReadingTests.PlanBlock(block, inches, LineChoice.SeamsAndArcs);

        foreach ((string what, string number, _, bool met) in FormatAgreement.Measure(route))
        {
            Assert.SkipWhen(number.Contains("not installed", StringComparison.Ordinal), number);
            Assert.True(met, $"{what}: {number}");
        }
    }
}
