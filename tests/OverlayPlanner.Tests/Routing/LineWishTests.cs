using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class LineWishTests
{
    [Theory]
    [InlineData(3)]
    [InlineData(4)]
    public void A_grid_of_squares_has_the_one_thread_orange_peel_with_a_crossing_at_every_inner_point(int across)
    {
        // Handbook 3.4: circles through the corners of a square of side c have R = c ÷ 1.41421 and rise 0.2071 c.
        QuiltMap map = Grid(across, 3);
        double radius = 3 / Math.Sqrt(2);
        Length chord = Length.FromInches(3);
        Ruler peel = new(
            "peel",
            chord,
            ArcShape.RiseOf(chord, Length.FromInches(radius - 0.25)),
            RulerEdge.Outside,
            Length.FromInches(4)
        );
        RoutePlan plan = Plan(
            map,
            new()
            {
                Lines = LineChoice.Curves,
                Rulers = [.. Ruler.GenericSet, peel],
                Candidates = 4,
            }
        );
        RouteCandidate c = plan.Route.Candidates.First(k =>
            k.Design!.StartsWith("orange peel", StringComparison.Ordinal)
        );
        Assert.Equal(1, c.Measures.Starts);
        Assert.Equal(0, c.Measures.Doubled.Inches);
        Assert.Equal(4 * across * across, c.Measures.Moves);
        Assert.All(
            c.AllMoves,
            m =>
            {
                Assert.Equal(MoveKind.Arc, m.Kind);
                Assert.Equal(0.2071 * 3, Math.Abs(m.Path.Sagitta), 0.0005);
                Assert.Equal(1.1107 * 3, m.Path.Length, 0.0005);
            }
        );
        Assert.Equal(PlaneGraphs.CountCrossings(c), c.Measures.Crossings);

        // Two passes that alternate at the point: the line on from the last one's far end.
        foreach (Junction inner in map.Junctions.Where(j => IsInside(map, j.Place)))
        {
            Assert.True(CrossingsAt(c, inner.Place) > 0, inner.Id);
        }

        // And the same arcs without any crossing.
        RouteCandidate cusps = plan.Route.Candidates.Last(k =>
            k.Design!.StartsWith("orange peel", StringComparison.Ordinal)
        );
        Assert.Equal(0, PlaneGraphs.CountCrossings(cusps));
        Assert.Equal(1, cusps.Measures.Starts);
    }

    [Fact]
    public void With_the_usual_rulers_a_nine_patch_still_gets_its_orange_peel_among_three_choices()
    {
        RoutePlan plan = Plan(Draft("nine-patch"), new() { Lines = LineChoice.Curves });
        Assert.Equal(3, plan.Route.Candidates.Count);
        RouteCandidate c = plan.Route.Candidates[2];
        Assert.StartsWith("orange peel, rise 3/4 in over 4 in", c.Design, StringComparison.Ordinal);
        Assert.Equal(1, c.Measures.Starts);
        Assert.All(
            new Point<ClothSpace>[] { new(4, 4), new(8, 4), new(4, 8), new(8, 8) },
            p => Assert.True(CrossingsAt(c, p) > 0)
        );
        Assert.Equal(0, plan.Route.Candidates[0].Measures.Crossings);
    }

    [Fact]
    public void A_start_part_way_along_a_curve_or_a_seam_is_refused_with_the_nearest_point_where_curves_meet()
    {
        QuiltMap map = Draft("nine-patch");
        foreach (Point<ClothSpace> place in new Point<ClothSpace>[] { new(4, 5.5), new(4.4, 5.9) })
        {
            InputException e = Assert.Throws<InputException>(() =>
                Plan(map, new() { Lines = LineChoice.Curves, Start = place })
            );
            Assert.Equal("--start", e.Where);
            Assert.Contains("4,4", e.Remedy, StringComparison.Ordinal);
        }

        RouteCandidate c = Plan(
            map,
            new()
            {
                Lines = LineChoice.Curves,
                Start = new(4.05, 4),
                End = new(8, 8.1),
            }
        ).Route.Candidates[0];
        Assert.Equal(new Point<ClothSpace>(4, 4), c.Runs[0].Moves[0].Path.From);
    }

    [Fact]
    public void Seams_pressed_open_are_not_ditched_and_get_arcs_on_both_sides()
    {
        QuiltMap map = Draft("nine-patch");
        Seam open = map.Seams.First(s =>
            s.Role != SeamRole.Edge && map.EdgeOf(s).PointAt(0.5).DistanceTo(new(4, 6)) < 1e-6
        );
        RoutePlan plan = Plan(map, new() { PressedOpen = [open.Id] });
        RouteCandidate c = plan.Route.Candidates[0];
        Assert.DoesNotContain(c.AllMoves, m => m.Seam == open.Id);
        PlaneGraphs.AssertEverySeamOnce(map, c, s => s.Role != SeamRole.Edge && s.Id != open.Id);
        Edge<ClothSpace> path = map.EdgeOf(open);
        Edge<ClothSpace>[] beside =
        [
            .. c
                .AllMoves.Where(m =>
                    m.Kind == MoveKind.Arc
                    && (
                        (m.Path.From == path.From && m.Path.To == path.To)
                        || (m.Path.From == path.To && m.Path.To == path.From)
                    )
                )
                .Select(m => m.Path),
        ];
        Assert.Equal(2, beside.Length);
        Assert.True(beside[0].PointAt(0.5).X < 4 != beside[1].PointAt(0.5).X < 4);
        Assert.Equal(0, c.Measures.Missed.Inches);
        Assert.Contains(plan.Findings, f => f.What == "seams-left-open");
    }

    [Fact]
    public void All_seams_pressed_open_leave_arcs_along_every_one()
    {
        QuiltMap map = Draft("ohio-star");
        Seam[] inner = [.. map.Seams.Where(s => s.Role != SeamRole.Edge)];
        RouteCandidate c = Plan(map, new() { PressedOpen = [.. inner.Select(s => s.Id)] }).Route.Candidates[0];
        Assert.All(c.AllMoves, m => Assert.Null(m.Seam));
        Assert.All(
            inner,
            s =>
            {
                Edge<ClothSpace> path = map.EdgeOf(s);
                Assert.True(
                    c.AllMoves.Count(m =>
                        m.Kind == MoveKind.Arc && m.Path.PointAt(0.5).DistanceTo(path.PointAt(0.5)) <= 0.2 * path.Length
                    ) >= 2
                );
            }
        );
    }

    [Fact]
    public void Seams_of_unknown_low_side_are_ditched_unless_the_quilter_says_that_they_are_open()
    {
        QuiltMap draft = Draft("nine-patch");
        int n = 0;
        QuiltMap map = draft.With(
            seams:
            [
                .. draft.Seams.Select(s =>
                    s.Role != SeamRole.Edge ? s with { Ditch = n++ % 3 == 0 ? null : Side.Left } : s
                ),
            ]
        );
        RoutePlan plan = Plan(map, new());
        PlaneGraphs.AssertEverySeamOnce(map, plan.Route.Candidates[0], s => s.Role != SeamRole.Edge);
        Finding f = Assert.Single(plan.Findings, f => f.What == "low-side-unknown");
        Assert.Contains("4 of 12", f.Where, StringComparison.Ordinal);
        Assert.Contains("--open unknown", f.Remedy, StringComparison.Ordinal);

        // Where none is known nothing is said.
        QuiltMap blank = draft.With(seams: [.. draft.Seams.Select(s => s with { Ditch = null })]);
        Assert.DoesNotContain(Plan(blank, new()).Findings, x => x.What == "low-side-unknown");
    }

    [Fact]
    public void Centres_of_squares_become_points_that_straight_lines_run_through()
    {
        QuiltMap map = Draft("four-patch");
        RoutePlan plan = Plan(map, new() { Centers = true });
        QuiltMap planned = plan.Route.Quilt;
        Assert.Equal(map.Junctions.Count + 4, planned.Junctions.Count);
        Assert.Equal(map.Seams.Count, planned.Seams.Count);
        Assert.True(MapCheck.Inspect(planned).IsPlane);
        RouteCandidate c = plan.Route.Candidates.First(k =>
            k.Design!.Contains("through the centres", StringComparison.Ordinal)
        );
        Move[] lines = [.. c.AllMoves.Where(m => m.Kind == MoveKind.Line)];
        Assert.NotEmpty(lines);
        Point<ClothSpace>[] centers = [new(3, 3), new(9, 3), new(3, 9), new(9, 9)];
        Assert.All(lines, m => Assert.Contains(centers, p => p == m.Path.From || p == m.Path.To));
        HashSet<Point<ClothSpace>> points = [.. planned.Junctions.Select(j => j.Place)];
        Assert.All(c.AllMoves, m => Assert.True(points.Contains(m.Path.From) && points.Contains(m.Path.To)));
        Assert.Equal(
            planned.Junctions.Count,
            RouteFile.Read(RouteFile.Write(plan.Route), "r.json").Quilt.Junctions.Count
        );

        // Without the wish the map stays as it was read.
        Assert.Same(map, Plan(map, new()).Route.Quilt);
    }

    [Fact]
    public void A_triangle_s_straight_line_runs_to_the_point_in_the_middle_of_its_long_side()
    {
        // Card trick has triangles whose long side another seam meets in the middle.
        RoutePlan plan = Plan(Draft("card-trick"), new());
        Assert.Contains(
            plan.Route.Candidates,
            c => c.Design!.Contains("straight lines to the middle of a side", StringComparison.Ordinal)
        );
    }

    private static int CrossingsAt(RouteCandidate c, Point<ClothSpace> place)
    {
        // Each pass as the two places where it stands a little before and after the point, by angle round it.
        List<(double In, double Out)> passes = [];
        foreach (Run run in c.Runs)
        {
            int n = run.Moves.Count;
            bool closed = run.Moves[^1].Path.To == run.Moves[0].Path.From;
            for (int i = 0; i < n; i++)
            {
                if (run.Moves[i].Path.To != place || (i == n - 1 && !closed))
                {
                    continue;
                }

                passes.Add(
                    (Angle(run.Moves[i].Path.PointAt(0.999)), Angle(run.Moves[(i + 1) % n].Path.PointAt(0.001)))
                );
            }
        }

        int count = 0;
        for (int a = 0; a < passes.Count; a++)
        {
            for (int b = a + 1; b < passes.Count; b++)
            {
                (double low, double high) = (
                    Math.Min(passes[a].In, passes[a].Out),
                    Math.Max(passes[a].In, passes[a].Out)
                );
                bool first = passes[b].In > low && passes[b].In < high;
                bool second = passes[b].Out > low && passes[b].Out < high;
                count += first != second ? 1 : 0;
            }
        }

        return count;

        double Angle(Point<ClothSpace> p) => Math.Atan2(p.Y - place.Y, p.X - place.X);
    }

    private static bool IsInside(QuiltMap map, Point<ClothSpace> p) =>
        p.X > 0.01 && p.Y > 0.01 && p.X < map.Width.Inches - 0.01 && p.Y < map.Height.Inches - 0.01;

    private static QuiltMap Grid(int across, double cell)
    {
        double size = across * cell;
        List<SeamLine> lines = [];
        for (int i = 1; i < across; i++)
        {
            lines.Add(new(new(new(i * cell, 0), new(i * cell, size))));
            lines.Add(new(new(new(0, i * cell), new(size, i * cell))));
        }

        return MapBuilder.Build(Length.FromInches(size), Length.FromInches(size), lines, [], Length.FromInches(0.001));
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
