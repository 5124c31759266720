using CsCheck;
using NetTopologySuite.Geometries;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Tests.Quilts.Reports;

public class BlockReportTests
{
    [Fact]
    public void A_sheared_block_has_the_diagonals_that_the_handbook_works_out()
    {
        // Sheared by s over height H: diagonals sqrt((W+s)^2 + H^2) and sqrt((W-s)^2 + H^2); 60 x 80, s = 1: 100.603 and 99.403,
        // difference 1.200 (the project's handbook, "Measuring and photos").
        BlockReport r = Measure(0, [new(1, 0), new(61, 0), new(60, 80), new(0, 80)], 60);

        Assert.Equal(99.403, r.Diagonals[0].Value, 0.0005);
        Assert.Equal(100.603, r.Diagonals[1].Value, 0.0005);
        Assert.Equal(-1.200, r.DiagonalDifference.Value, 0.0005);
    }

    [Fact]
    public void A_corner_that_is_open_by_a_degree_is_off_by_its_sine_at_the_end_of_the_side()
    {
        // 12 in × sin 1° = 0.20943 in.
        const double Degree = Math.PI / 180;
        Point<ClothSpace> c = new(12, 12);
        Point<ClothSpace> d = new(-12 * Math.Sin(Degree), 12 * Math.Cos(Degree));
        BlockReport r = Measure(0, [new(0, 0), new(12, 0), c, d], 12);

        Assert.Equal(91, r.Corners[0].Value, 1e-9);
        Assert.Equal(90, r.Corners[1].Value, 1e-9);
        Assert.Equal(360, r.Corners.Sum(a => a.Value), 1e-9);
        Assert.Equal(0.20943, Math.Abs(12 * Math.Sin((r.Corners[0].Value - 90) * Degree)), 0.00001);
        Assert.True(Math.Abs(r.OffAtCorner.Value) >= 0.2094);
    }

    [Fact]
    public void Errors_of_a_square_are_those_of_the_textbook()
    {
        // A side between two points of σ each way: √2 σ; a diagonal the same; their difference, which all four points move: 2 σ;
        // an angle: from one end of each leg σ/s, from its own corner √2 σ/s, so 2 σ/s in radians.
        const double S = 0.02;
        BlockReport r = Measure(S, [new(0, 0), new(12, 0), new(12, 12), new(0, 12)], 12);

        Assert.All(r.Sides.Concat(r.Diagonals), m => Assert.Equal(Math.Sqrt(2) * S, m.Sigma, 1e-8));
        Assert.Equal(2 * S, r.DiagonalDifference.Sigma, 1e-7);
        Assert.All(r.Corners, m => Assert.Equal(2 * S / 12 * 180 / Math.PI, m.Sigma, 1e-7));
        Assert.Equal(2 * S, r.OffAtCorner.Sigma, 1e-6);
        Assert.Equal(1.959964 * Math.Sqrt(2) * S, r.Sides[0].Within95, 1e-8);
    }

    [Fact]
    public void Random_quadrilaterals_measure_as_NetTopologySuite_measures_them()
    {
        Gen<double> off = Gen.Double[-1.5, 1.5];
        Property.ForAll(
            Gen.Select(off, off, off, off, off, off, off, off),
            t =>
            {
                Point<ClothSpace>[] c =
                [
                    new(t.Item1, t.Item2),
                    new(12 + t.Item3, t.Item4),
                    new(12 + t.Item5, 12 + t.Item6),
                    new(t.Item7, 12 + t.Item8),
                ];
                Coordinate[] k = [.. c.Select(p => new Coordinate(p.X, p.Y))];
                BlockReport r = Measure(0, c, 12);
                for (int i = 0; i < 4; i++)
                {
                    Assert.Equal(k[i].Distance(k[(i + 1) % 4]), r.Sides[i].Value, 1e-9);
                    double angle = NetTopologySuite.Algorithm.AngleUtility.AngleBetween(
                        k[(i + 1) % 4],
                        k[i],
                        k[(i + 3) % 4]
                    );
                    Assert.Equal(angle * 180 / Math.PI, r.Corners[i].Value, 1e-7);
                }

                Assert.Equal(k[0].Distance(k[2]) - k[1].Distance(k[3]), r.DiagonalDifference.Value, 1e-9);
            },
            300
        );
    }

    [Fact]
    public void Of_the_stated_95_percent_intervals_about_95_hold_the_truth()
    {
        // Points of sewn tops are moved by normal noise of the stated size; 60 tops of 6 blocks, 13 figures each. Counts of
        // figures that share points are not independent, hence 93 to 97 %.
        Random dice = new(4711);
        int held = 0;
        int all = 0;
        for (int top = 0; top < 60; top++)
        {
            double sigma = 0.005 + 0.03 * dice.NextDouble();
            QuiltMap truth = Moved(
                BlockDrafting.Draft(BlockLibrary.Find("shoofly"), Length.FromInches(12), 3, 2, Length.Zero),
                dice,
                0.06,
                0
            );
            QuiltMap seen = Moved(truth, dice, sigma, sigma);
            foreach ((Block real, Block measured) in truth.Blocks.Zip(seen.Blocks))
            {
                double[] right = [.. Figures(BlockReport.Of(truth, real, new(12, 0))).Select(m => m.Value)];
                Measured[] said = [.. Figures(BlockReport.Of(seen, measured, new(12, 0)))];
                for (int i = 0; i < right.Length; i++)
                {
                    all++;
                    held += Math.Abs(said[i].Value - right[i]) <= said[i].Within95 ? 1 : 0;
                }
            }
        }

        Assert.Equal(60 * 6 * 11, all);
        Assert.InRange((double)held / all, 0.93, 0.97);
    }

    [Fact]
    public void Without_a_drafted_size_the_median_side_is_taken_and_said()
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("shoofly"), Length.FromInches(11.5), 3, 1, Length.Zero);

        QuiltReport own = QuiltReport.Of(map);
        QuiltReport told = QuiltReport.Of(map, Length.FromInches(12));

        Assert.Equal(DraftedFrom.MedianSide, own.From);
        Assert.Equal(11.5, own.Drafted!.Value.Value, 1e-9);
        Assert.All(own.Blocks.SelectMany(b => b.Differences), d => Assert.Equal(0, d.Value, 1e-9));
        Assert.All(told.Blocks.SelectMany(b => b.Differences), d => Assert.Equal(-0.5, d.Value, 1e-9));
        Assert.Contains("as told", ReportText.Full(told)[0], StringComparison.Ordinal);
        Assert.Contains("median", ReportText.Full(own)[0], StringComparison.Ordinal);
    }

    // OffAtCorner and the worst difference choose among figures, which favours large errors; the figures themselves are held.
    private static IEnumerable<Measured> Figures(BlockReport r) =>
        r.Sides.Concat(r.Diagonals).Concat(r.Corners).Append(r.DiagonalDifference);

    private static QuiltMap Moved(QuiltMap map, Random dice, double by, double sigma)
    {
        Dictionary<Point<ClothSpace>, Point<ClothSpace>> to = [];
        List<Junction> junctions = [];
        foreach (Junction j in map.Junctions)
        {
            Point<ClothSpace> p = new(j.Place.X + by * Normal(dice), j.Place.Y + by * Normal(dice));
            to[j.Place] = p;
            junctions.Add(j with { At = new(p, Length.FromInches(sigma)) });
        }

        return map.With(
            junctions: junctions,
            blocks:
            [
                .. map.Blocks.Select(b =>
                    b with
                    {
                        Corners = [.. b.Corners.Select(c => to[to.Keys.MinBy(k => k.DistanceTo(c))])],
                    }
                ),
            ]
        );
    }

    // G. E. P. Box and M. E. Muller, "A note on the generation of random normal deviates", 1958.
    private static double Normal(Random dice) =>
        Math.Sqrt(-2 * Math.Log(1 - dice.NextDouble())) * Math.Cos(2 * Math.PI * dice.NextDouble());

    private static BlockReport Measure(double sigma, Point<ClothSpace>[] corners, double drafted)
    {
        Junction[] junctions =
        [
            .. corners.Select(
                (p, i) => new Junction(FormattableString.Invariant($"j{i}"), new(p, Length.FromInches(sigma)))
            ),
        ];
        QuiltMap map = new(Length.FromInches(100), Length.FromInches(100), junctions, []);
        return BlockReport.Of(map, new("b1", corners), new(drafted, 0));
    }
}
