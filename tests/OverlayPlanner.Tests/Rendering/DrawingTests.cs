using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Tests.Rendering;

public class DrawingTests
{
    private static readonly Gen<Edge<PageSpace>> Edges = Gen.Select(
        Gen.Double[-500, 500],
        Gen.Double[-500, 500],
        Gen.Double[-500, 500],
        Gen.Double[-500, 500],
        Gen.Double[-3, 3],
        (a, b, c, d, bulge) => new Edge<PageSpace>(new(a, b), new(c, d), bulge)
    );

    [Fact]
    public void Curves_stay_within_a_ten_thousandth_of_an_inch_of_their_arc()
    {
        Gen.Select(Gen.Double[0.5, 20_000], Gen.Double[0.01, 3], Gen.Bool)
            .Sample(
                (chord, bulge, left) =>
                {
                    Edge<PageSpace> arc = new(new(3, 5), new(3 + chord, 5), left ? bulge : -bulge);
                    Point<PageSpace> from = arc.From;
                    foreach ((Point<PageSpace> c1, Point<PageSpace> c2, Point<PageSpace> end) in PdfFormat.Curve(arc))
                    {
                        for (int i = 0; i <= 16; i++)
                        {
                            double t = i / 16.0;
                            double s = 1 - t;
                            double x =
                                s * s * s * from.X + 3 * s * s * t * c1.X + 3 * s * t * t * c2.X + t * t * t * end.X;
                            double y =
                                s * s * s * from.Y + 3 * s * s * t * c1.Y + 3 * s * t * t * c2.Y + t * t * t * end.Y;
                            Assert.True(arc.Nearest(new(x, y)).Distance <= 0.0072 * 1.01 + 1e-6);
                        }

                        from = end;
                    }

                    Assert.True(from.DistanceTo(arc.To) < 1e-6);
                },
                seed: "dRmj6bjlW_t2",
                iter: 400
            );
    }

    [Fact]
    public void Clipping_keeps_just_the_part_inside()
    {
        Box<PageSpace> box = new(-120, -80, 150, 200);
        Edges.Sample(
            edge =>
            {
                IReadOnlyList<Edge<PageSpace>> inside = EdgeClipping.Inside(edge, box);
                Assert.All(inside, e => Assert.True(box.Grown(1e-5).Holds(e.PointAt(0.37))));

                // Walk the whole edge: the share of points in the box is the share of length that was kept.
                const int N = 4_000;
                double held = Enumerable.Range(0, N).Count(i => box.Holds(edge.PointAt((i + 0.5) / N)));
                Assert.Equal(held / N, inside.Sum(e => e.Length) / edge.Length, 0.004);
            },
            seed: "dRmj6bjlW_t2",
            iter: 400
        );
    }

    [Theory]
    [InlineData("12 3/8 in", "12|3|⁄|8| in")]
    [InlineData("1/16", "1|⁄|16")]
    [InlineData("sheet 2 of 6", "sheet 2 of 6")]
    [InlineData("8 1/2 × 11 in", "8|1|⁄|2| × 11 in")]
    public void Fractions_are_set_as_fractions(string text, string pieces)
    {
        Words[] set = [.. Typesetting.Set(Layer.Words, new(0, 0), text, 10, Weight.Regular, Palette.Ink)];

        Assert.Equal(pieces, string.Join('|', set.Select(w => w.Text)));
        for (int i = 1; i < set.Length; i++)
        {
            Assert.True(set[i].At.X > set[i - 1].At.X);
        }
    }

    [Fact]
    public void A_line_never_breaks_inside_a_length()
    {
        foreach (double width in Enumerable.Range(2, 30).Select(i => i * 10.0))
        {
            IReadOnlyList<string> lines = Typesetting.Wrap(
                "Backtracking 34 1/4 in: the least for so many starts.",
                10,
                Weight.Regular,
                width
            );
            Assert.Contains(lines, l => l.Contains("34 1/4 in", StringComparison.Ordinal));
        }
    }

    [Theory]
    [InlineData(0.25, "1/4 in")]
    [InlineData(5.657, "5 5/8 in")] // 4√2, nearest eighth
    [InlineData(16.97, "17 in")]
    [InlineData(0.05, "1/16 in")]
    public void Lengths_are_read_to_the_eighth(double inches, string text) =>
        Assert.Equal(text, TripWords.Inches(Length.FromInches(inches)));
}
