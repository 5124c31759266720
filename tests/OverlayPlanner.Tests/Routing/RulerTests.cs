using OverlayPlanner.Geometry;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class RulerTests
{
    private static readonly Length Foot = Length.FromInches(0.25);

    [Fact]
    public void The_published_worked_case_gives_its_radius_edges_and_length()
    {
        // Handbook 3.4: block side 2 1/4, rise 3/8 → R = 1 7/8; convex edge 1 5/8, concave edge 2 1/8; L = 2.413.
        Length chord = Length.FromInches(2.25);
        Length rise = Length.FromInches(0.375);
        Assert.Equal(1.875, ArcShape.RadiusOf(chord, rise).Inches, 1e-12);
        Assert.Equal(2.413, ArcShape.LengthOf(chord, rise).Inches, 0.0005);
        Assert.Equal(0.375, ArcShape.RiseOf(chord, Length.FromInches(1.875)).Inches, 1e-12);
        Assert.Equal(1.875, Measured(1.625, RulerEdge.Outside).StitchedRadius(Foot).Inches, 1e-9);
        Assert.Equal(1.875, Measured(2.125, RulerEdge.Inside).StitchedRadius(Foot).Inches, 1e-9);
    }

    [Theory]
    // Handbook 3.4, rise = c/8: R = 1.0625 c, L = 1.0412 c.
    [InlineData(4, 4.25, 4.165)]
    [InlineData(6, 6.375, 6.247)]
    [InlineData(12, 12.75, 12.494)]
    public void A_rise_of_an_eighth_has_the_handbook_s_radius_and_length(double chord, double radius, double length)
    {
        Length c = Length.FromInches(chord);
        Assert.Equal(radius, ArcShape.RadiusOf(c, c / 8).Inches, 1e-12);
        Assert.Equal(length, ArcShape.LengthOf(c, c / 8).Inches, 0.0005);
    }

    [Fact]
    public void Orange_peel_and_petal_have_the_handbook_s_figures()
    {
        // Handbook 3.4: c = 4: R 2.828, rise 0.828, L 4.443; quarter petal: chord 1.41421 s, rise 0.2929 s, L 1.5708 s.
        Length four = Length.FromInches(4);
        Assert.Equal(0.828, ArcShape.RiseOf(four, Length.FromInches(2.828427)).Inches, 0.0005);
        Assert.Equal(4.443, ArcShape.LengthOf(four, ArcShape.RiseOf(four, Length.FromInches(2.828427))).Inches, 0.0005);
        Length diagonal = Length.FromInches(Math.Sqrt(2));
        Assert.Equal(0.2929, ArcShape.RiseOf(diagonal, Length.FromInches(1)).Inches, 0.0001);
        Assert.Equal(1.5708, ArcShape.LengthOf(diagonal, Length.FromInches(1 - Math.Sqrt(0.5))).Inches, 0.0001);
    }

    [Fact]
    public void The_generic_set_holds_the_handbook_s_circles_and_shallow_arcs_on_both_edges()
    {
        // Handbook 3.3: circles 2–12 in diameter in steps of 1/2 (21 of them), shallow arcs for five chords, times two edges.
        Assert.Equal(2 * (21 + 5), Ruler.GenericSet.Count);
        Assert.Contains(
            Ruler.GenericSet,
            r => r.Edge == RulerEdge.Outside && Math.Abs(r.StitchedRadius(Foot).Inches - 1.25) < 1e-9
        );
        Assert.Contains(
            Ruler.GenericSet,
            r => r.Edge == RulerEdge.Inside && Math.Abs(r.StitchedRadius(Foot).Inches - 5.75) < 1e-9
        );
    }

    private static Ruler Measured(double edgeRadius, RulerEdge edge)
    {
        Length chord = Length.FromInches(2);
        return new(
            "measured",
            chord,
            ArcShape.RiseOf(chord, Length.FromInches(edgeRadius)),
            edge,
            Length.FromInches(3)
        );
    }
}
