using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Rendering;

/// <summary>Threads that start or end off a raw edge, drawn: 1/2 in beyond it (common practice, no source).</summary>
public class OffTheEdgeTests
{
    [Fact]
    public void What_is_stitched_off_the_top_is_drawn_beyond_the_edge_and_named()
    {
        (Route route, RouteCandidate candidate) = RawTop();
        int off = candidate.Runs.Sum(r => (r.OffStart is null ? 0 : 1) + (r.OffEnd is null ? 0 : 1));
        Assert.True(off > 0, "no thread runs off the top");

        FigureContent content = FigureContent.Of(
            route.Quilt,
            candidate,
            FigureContent.CoveredBy(route.Quilt, candidate),
            e => [new Similarity<PageSpace, ClothSpace>(Length.PointsPerInch, 0, 0, 0).Apply(e)],
            offset: 4
        );
        FigureEnd[] ends = [.. content.Starts.Concat(content.Ends).Where(e => e.OffTop.Count > 0)];

        Assert.Equal(off, ends.Length);
        Box<PageSpace> top = new(0, 0, route.Quilt.Width.Points, route.Quilt.Height.Points);
        Assert.All(
            ends,
            e =>
            {
                Assert.Equal(36, e.OffTop.Sum(s => s.Length), 1e-6);
                Assert.Equal(e.At, e.OffTop[0].From);
                Assert.False(top.Holds(e.OffTop[^1].To));
                Assert.EndsWith("off the edge", e.Words, StringComparison.Ordinal);
            }
        );
        (_, PlacedFigure figure) = RoutePicture.Draw(route, candidate);
        Assert.Equal(off, figure.Labels.Count(l => l.Text.EndsWith("off the edge", StringComparison.Ordinal)));
    }

    [Theory]
    [InlineData(LoadedUp.Left, false)]
    [InlineData(LoadedUp.Bottom, true)]
    public void The_places_off_the_top_turn_with_the_quilt(LoadedUp up, bool mirror)
    {
        (Route route, RouteCandidate candidate) = RawTop();
        TurnedRoute turned = TurnedRoute.Of(route, up, mirror);

        Run[] runs = [.. turned.Turned(candidate).Runs];

        for (int i = 0; i < runs.Length; i++)
        {
            Assert.Equal(Along(candidate.Runs[i].OffStart), runs[i].OffStart);
            Assert.Equal(Along(candidate.Runs[i].OffEnd), runs[i].OffEnd);
        }

        Point<ClothSpace>? Along(Point<ClothSpace>? p) => p is { } at ? turned.TurnedFromQuilt.Apply(at) : null;
    }

    private static (Route, RouteCandidate) RawTop()
    {
        QuiltMap draft = BlockDrafting.Draft(BlockLibrary.Find("rail-fence"), Length.FromInches(6), 3, 2, Length.Zero);
        QuiltMap raw = new(
            draft.Width,
            draft.Height,
            draft.Junctions,
            [.. draft.Seams.Select(s => s.Role == SeamRole.Edge ? s with { Edge = EdgeKind.Raw } : s)],
            draft.Patches,
            draft.Blocks
        );
        Route route = RoutePlanner.Plan(raw, new() { Candidates = 1 }).Route;
        return (route, route.Candidates[0]);
    }
}
