using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection;

public sealed class SeamGraphTests
{
    // A seam is 3 px wide at 32 px/in, so its middle is known to well under a pixel: 1/64 in is half a pixel.
    private const double HalfPixelInches = 1 / 64.0;

    // Two points closer than this are two seams' widths apart: their evidence is one spot.
    private const double CrowdedInches = 0.4;

    public static TheoryData<string> OpenBlocks => [.. BlockLibrary.All.Where(b => !IsHard(b)).Select(b => b.Id)];

    public static TheoryData<string> HardBlocks => [.. BlockLibrary.All.Where(IsHard).Select(b => b.Id)];

    [Theory]
    [MemberData(nameof(OpenBlocks))]
    public void Every_point_of_a_drawn_block_is_found_within_half_a_pixel_or_so(string id)
    {
        QuiltMap truth = BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);
        QuiltMap found = Find(DrawnEvidence.Of(truth), truth);
        Assert.Equal(truth.Junctions.Count, found.Junctions.Count);
        Assert.Equal(truth.Seams.Count, found.Seams.Count);
        Assert.Equal(truth.Patches.Count, found.Patches.Count);
        double[] errors =
        [
            .. truth.Junctions.Select(j => found.Junctions.Min(f => f.Place.DistanceTo(j.Place))).Order(),
        ];

        // At sharp points two seams' evidence runs together over some pixels; the worst is allowed two pixels.
        Assert.True(
            errors[errors.Length / 2] < HalfPixelInches,
            FormattableString.Invariant($"median {errors[errors.Length / 2]:0.0000} in")
        );
        Assert.True(errors[^1] < 4 * HalfPixelInches, FormattableString.Invariant($"worst {errors[^1]:0.0000} in"));
    }

    [Theory]
    [MemberData(nameof(HardBlocks))]
    public void Curved_and_crowded_blocks_keep_most_of_their_points(string id)
    {
        QuiltMap truth = BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);
        QuiltMap found = Find(DrawnEvidence.Of(truth), truth);

        // A petal's tip is a cusp: its two arcs share their evidence for an inch, and the point moves along it.
        int kept = truth.Junctions.Count(j => found.Junctions.Any(f => f.Place.DistanceTo(j.Place) <= 0.125));
        Assert.True(
            kept >= 0.9 * truth.Junctions.Count,
            FormattableString.Invariant($"{kept} of {truth.Junctions.Count} points kept")
        );
        Assert.True(MapCheck.Inspect(found).IsPlane);
    }

    [Fact]
    public void A_seam_with_a_gap_is_closed()
    {
        QuiltMap truth = BlockDrafting.Draft(BlockLibrary.Find("four-patch"), Length.FromInches(8), 1, 1, Length.Zero);

        // An inch of the lower arm of the cross, a quarter of it, is gone.
        EvidenceMap evidence = DrawnEvidence.Of(truth, gap: p => Math.Abs(p.X - 4) < 1 && p.Y > 5.4 && p.Y < 6.4);
        QuiltMap found = Find(evidence, truth);
        Assert.Equal(4, found.Patches.Count);
        Assert.Equal(5 + 4, found.Junctions.Count);
    }

    [Fact]
    public void A_faint_line_is_no_seam()
    {
        List<(Edge<ClothSpace>, double)> lines = [(new(new(4, 0), new(4, 8)), 0.97), (new(new(4, 3), new(8, 3)), 0.3)];
        QuiltMap found = Find(DrawnEvidence.Of(8, 8, lines), 8, 8);
        Assert.Equal(2, found.Patches.Count);
    }

    [Fact]
    public void A_seam_that_ends_on_another_makes_a_T_point()
    {
        List<(Edge<ClothSpace>, double)> lines =
        [
            (new(new(4, 0), new(4, 8)), 0.97),
            (new(new(4, 3), new(8, 3.1)), 0.97),
        ];
        QuiltMap found = Find(DrawnEvidence.Of(8, 8, lines), 8, 8);
        Assert.Equal(3, found.Patches.Count);
        Junction t = Assert.Single(found.Junctions, j => j.Place.DistanceTo(new(4, 3)) < HalfPixelInches);
        Assert.Equal(3, found.Seams.Count(s => s.From == t.Id || s.To == t.Id));
    }

    [Fact]
    public void A_shape_that_hangs_on_nothing_or_on_one_point_is_print()
    {
        List<(Edge<ClothSpace>, double)> lines =
        [
            (new(new(4, 0), new(4, 8)), 0.97),
            .. Ring(new(1.5, 2), new(2.5, 2), new(2, 3)),
            .. Ring(new(4, 5), new(5.5, 4.3), new(5.5, 5.7)),
        ];
        QuiltMap found = Find(DrawnEvidence.Of(8, 8, lines), 8, 8);
        Assert.Equal(2, found.Patches.Count);

        static IEnumerable<(Edge<ClothSpace>, double)> Ring(params Point<ClothSpace>[] corners) =>
            corners.Select((c, i) => (new Edge<ClothSpace>(c, corners[(i + 1) % corners.Length]), 0.97));
    }

    [Fact]
    public void A_quarter_circle_is_found_as_one_arc()
    {
        // From (5, 0) round the corner (0, 0) to (0, 5): a quarter of a circle has the bulge tan(90° / 4).
        double bulge = Math.Tan(Math.PI / 8);
        Edge<ClothSpace> arc = new(new(5, 0), new(0, 5), bulge);
        arc = arc.PointAt(0.5).DistanceTo(new(0, 0)) < 4.9 ? arc with { Bulge = -bulge } : arc;
        QuiltMap found = Find(DrawnEvidence.Of(8, 8, [(arc, 0.97)]), 8, 8);
        Seam seam = Assert.Single(found.Seams, s => s.Role != SeamRole.Edge);
        Assert.Equal(bulge, Math.Abs(seam.Bulge), 0.02);
        Assert.True(found.EdgeOf(seam).PointAt(0.5).DistanceTo(arc.PointAt(0.5)) < 2 * HalfPixelInches);
    }

    [Fact]
    public void Points_out_of_square_keep_their_own_places()
    {
        // A cross whose middle is pieced 1/8 in off, as real ones are.
        Point<ClothSpace> middle = new(4.125, 3.9);
        List<(Edge<ClothSpace>, double)> lines =
        [
            (new(new(4, 0), middle), 0.97),
            (new(middle, new(4.05, 8)), 0.97),
            (new(new(0, 4), middle), 0.97),
            (new(middle, new(8, 4.1)), 0.97),
        ];
        QuiltMap found = Find(DrawnEvidence.Of(8, 8, lines), 8, 8);
        double error = found.Junctions.Min(j => j.Place.DistanceTo(middle));
        Assert.True(error < 2 * HalfPixelInches, FormattableString.Invariant($"{error:0.0000} in off"));
    }

    [Fact]
    public void Sigma_grows_where_the_scale_is_unsure()
    {
        QuiltMap truth = BlockDrafting.Draft(BlockLibrary.Find("four-patch"), Length.FromInches(8), 1, 1, Length.Zero);
        EvidenceMap evidence = DrawnEvidence.Of(truth);
        DetectionWishes wishes = WishesFor(8, 8);
        SeamGraph graph = SeamFinder.BuildGraph(evidence, wishes, CancellationToken.None);
        double own = new PointSigma(graph, evidence, null).At(new(4, 4)).Inches;
        double both = new PointSigma(graph, evidence, _ => Length.FromInches(0.03)).At(new(4, 4)).Inches;
        Assert.InRange(own, 1e-5, HalfPixelInches);
        Assert.Equal(Math.Sqrt(own * own + 0.03 * 0.03), both, 1e-9);
    }

    internal static DetectionWishes WishesFor(double width, double height) =>
        new()
        {
            Width = Length.FromInches(width),
            Height = Length.FromInches(height),
            Margin = Length.FromInches(DrawnEvidence.MarginInches),
        };

    internal static QuiltMap Find(EvidenceMap evidence, double width, double height)
    {
        DetectionWishes wishes = WishesFor(width, height);
        SeamGraph graph = SeamFinder.BuildGraph(evidence, wishes, CancellationToken.None);
        QuiltMap map = MapAssembler.Assemble(MapAssembler.LinesOf(graph, evidence), wishes, _ => Length.Zero);
        MapInspection inspection = MapCheck.Inspect(map);
        Assert.True(inspection.IsPlane);
        Assert.DoesNotContain(inspection.Findings, f => f.What == "seam-dangles");
        return map;
    }

    private static QuiltMap Find(EvidenceMap evidence, QuiltMap truth) =>
        Find(evidence, truth.Width.Inches, truth.Height.Inches);

    private static bool IsHard(BlockDraft draft)
    {
        QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(12), 1, 1, Length.Zero);
        return map.Seams.Any(m => m.Bulge != 0)
            || map.Junctions.Any(a => map.Junctions.Any(b => a != b && a.Place.DistanceTo(b.Place) < CrowdedInches));
    }
}
