using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Detection;

public sealed class ChainJoinerTests
{
    private static readonly PixelFrame Frame = new(0, 0, 400, 400);

    // A quarter circle of radius 200 px cut in three: its bulge is tan(90°/4) by definition (tan of a quarter of the angle).
    [Fact]
    public void A_quarter_circle_found_in_three_pieces_is_one_arc()
    {
        SeamGraph graph = new(Frame);
        double[] at = [0, 20, 55, 90];
        GraphPoint[] points = [.. at.Select(a => On(graph, a))];
        for (int i = 0; i < 3; i++)
        {
            double angle = (at[i + 1] - at[i]) * Math.PI / 180;
            graph.AddEdge(points[i], points[i + 1], i == 1 ? 0.97 * Math.Tan(angle / 4) : Math.Tan(angle / 4));
        }

        Anchor(graph, points[0]);
        Anchor(graph, points[3]);
        double sign = Math.Sign(graph.Edges[0].Bulge);
        Assert.Equal(2, ChainJoiner.JoinArcs(graph));
        GraphEdge arc = Assert.Single(graph.Edges, e => e.Bulge != 0);
        double bulge = ReferenceEquals(arc.From, points[0]) ? arc.Bulge : -arc.Bulge;
        Assert.Equal(sign * Math.Tan(Math.PI / 8), bulge, 0.01);
    }

    [Fact]
    public void A_hexagon_is_no_circle()
    {
        SeamGraph graph = new(Frame);
        GraphPoint[] points = [.. Enumerable.Range(0, 4).Select(i => On(graph, i * 60))];
        for (int i = 0; i < 3; i++)
        {
            graph.AddEdge(points[i], points[i + 1], 0);
        }

        // Its sides lie up to 27 px inside the circle through its points: r (1 - cos 30°).
        Anchor(graph, points[0]);
        Anchor(graph, points[3]);
        Assert.Equal(0, ChainJoiner.JoinArcs(graph));
    }

    [Fact]
    public void A_clamp_at_the_outline_goes_and_a_goose_stays()
    {
        SeamGraph graph = new(Frame);

        // A box of 2 x 1 in on the top side, nothing else meets it.
        GraphPoint a = Pinned(graph, 100, 0);
        GraphPoint b = graph.AddPoint(100, 40);
        GraphPoint c = graph.AddPoint(160, 40);
        GraphPoint d = Pinned(graph, 160, 0);
        graph.AddEdge(a, b, 0);
        graph.AddEdge(b, c, 0);
        graph.AddEdge(c, d, 0);

        // A triangle whose apex another seam meets.
        GraphPoint e = Pinned(graph, 220, 0);
        GraphPoint apex = graph.AddPoint(270, 50);
        GraphPoint f = Pinned(graph, 320, 0);
        GraphPoint below = Pinned(graph, 270, 400);
        graph.AddEdge(e, apex, 0);
        graph.AddEdge(apex, f, 0);
        graph.AddEdge(apex, below, 0);
        Assert.Equal(1, OutlineScraps.Remove(graph, 32));
        Assert.Equal(3, graph.Edges.Count);
        Assert.Contains(apex, graph.Points);
    }

    private static GraphPoint On(SeamGraph graph, double degrees) =>
        graph.AddPoint(300 - 200 * Math.Cos(degrees * Math.PI / 180), 300 - 200 * Math.Sin(degrees * Math.PI / 180));

    // Two more seams, so that the point is one where seams meet.
    private static void Anchor(SeamGraph graph, GraphPoint p)
    {
        graph.AddEdge(p, Pinned(graph, p.X, 400), 0);
        graph.AddEdge(p, Pinned(graph, 400, p.Y), 0);
    }

    private static GraphPoint Pinned(SeamGraph graph, double x, double y)
    {
        GraphPoint p = graph.AddPoint(x, y);
        graph.Pin(p, 0);
        return p;
    }
}
