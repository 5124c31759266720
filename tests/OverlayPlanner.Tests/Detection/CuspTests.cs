using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection;

public sealed class CuspTests
{
    private const double PetalBulge = 0.1;
    private static readonly PixelFrame Frame = new(0, 0, 400, 400);

    // What is asked for is the draft itself: circles through block corners, drawn by compass (common practice, no source).
    [Theory]
    [InlineData("orange-peel", 3, 2, 8)]
    [InlineData("orange-peel", 2, 2, 12)]
    [InlineData("melon-patch", 3, 2, 8)]
    public void Petals_meet_in_one_point(string pattern, int columns, int rows, double inches)
    {
        QuiltMap truth = BlockDrafting.Draft(
            BlockLibrary.Find(pattern),
            Length.FromInches(inches),
            columns,
            rows,
            Length.Zero
        );
        EvidenceMap evidence = DrawnEvidence.Of(truth);
        QuiltMap found = SeamFinder
            .FindIn(
                new(evidence.Width, evidence.Height, new byte[evidence.Width * evidence.Height * 3], 32),
                evidence,
                new()
                {
                    Width = truth.Width,
                    Height = truth.Height,
                    Margin = Length.FromInches(DrawnEvidence.MarginInches),
                },
                TestContext.Current.CancellationToken
            )
            .Map;
        Assert.True(MapCheck.Inspect(found).IsPlane);
        Assert.Equal(truth.Junctions.Count, found.Junctions.Count);
        Assert.Equal(truth.Seams.Count, found.Seams.Count);
        Assert.All(
            truth.Junctions,
            j => Assert.InRange(found.Junctions.Min(f => f.Place.DistanceTo(j.Place)), 0, 1 / 8.0)
        );
    }

    // A lens of two arcs that part 23° at its ends (four times the arc tangent of the bulge), found to part 20 px late.
    [Fact]
    public void A_shared_piece_before_a_petal_is_closed()
    {
        SeamGraph graph = new(Frame);
        GraphPoint tip = graph.AddPoint(60, 200);
        GraphPoint early = graph.AddPoint(80, 200);
        GraphPoint end = graph.AddPoint(340, 200);
        graph.AddEdge(tip, early, 0);
        foreach (int side in new[] { -1, 1 })
        {
            Edge<PictureSpace> arc = new(tip.Place, end.Place, side * PetalBulge);
            Point<PictureSpace>[] seen = [.. Enumerable.Range(6, 60).Select(i => arc.PointAt(i / 66.0))];
            graph.AddEdge(early, end, GraphSketcher.FitArc(early.Place, end.Place, seen)!.Value);
            graph.AddEdge(tip, graph.AddPoint(60, 200 + side * 190), 0);
            graph.AddEdge(end, graph.AddPoint(340, 200 + side * 190), 0);
        }

        // Both rows of further points are joined, so that nothing dangles.
        foreach (double y in new[] { 10.0, 390 })
        {
            GraphPoint[] row = [.. graph.Points.Where(p => p.Y == y)];
            graph.AddEdge(row[0], row[1], 0);
        }

        Assert.Equal(1, CuspCloser.Close(graph));
        Assert.DoesNotContain(early, graph.Points);
        Assert.Equal((60, 200), (tip.X, tip.Y));
        GraphEdge[] arcs = [.. graph.Edges.Where(e => e.Bulge != 0)];
        Assert.Equal(2, arcs.Length);
        Assert.All(arcs, e => Assert.Same(end, e.Other(tip)));
        Assert.All(arcs, e => Assert.Equal(PetalBulge, Math.Abs(e.Bulge), 0.01));
        Assert.True(arcs[0].Bulge * arcs[1].Bulge * (ReferenceEquals(arcs[0].From, arcs[1].From) ? 1 : -1) < 0);
    }

    // A quarter circle touches the side that it starts on: its bulge is tan(90°/4); one measured a little fuller crosses it.
    [Fact]
    public void An_arc_that_touches_a_side_does_not_cross_it()
    {
        SeamGraph graph = new(Frame);
        GraphPoint corner = graph.AddPoint(100, 100);
        GraphPoint beside = graph.AddPoint(300, 100);
        GraphPoint across = graph.AddPoint(300, 300);
        GraphEdge side = graph.AddEdge(corner, beside, 0);
        double full = Math.Tan(Math.PI / 8);
        GraphEdge arc = graph.AddEdge(corner, across, full);
        if (arc.DirectionFrom(corner).Dot(side.DirectionFrom(corner)) < 0.9)
        {
            arc.Bulge = -full;
        }

        arc.Bulge *= 1.03;
        Assert.Equal(EdgeRelation.Cross, Exact.Relate(side.Path, arc.Path));
        Assert.Equal(1, CuspOpener.Open(graph));
        Assert.NotEqual(EdgeRelation.Cross, Exact.Relate(side.Path, arc.Path));
        Assert.Equal(full, Math.Abs(arc.Bulge), 0.01);
    }
}
