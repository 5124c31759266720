using System.Text;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing;

public class OwnRulersTests
{
    private static readonly Length Foot = Length.FromInches(0.25);

    [Fact]
    public void A_list_is_read_with_both_edges_straight_rulers_and_lengths_as_people_write_them()
    {
        RulerList list = Read(
            """
            [ { "name": "Six circle", "edge": "both", "chord": 6, "rise": 3, "length": 9 },
              { "name": "Shallow", "edge": "outside", "chord": "6 1/2", "rise": "19.05mm" },
              { "name": "Long one", "edge": "straight", "length": 12 } ]
            """
        );
        Assert.Equal(3, list.Curved.Count);
        Assert.Equal([RulerEdge.Outside, RulerEdge.Inside], list.Curved.Take(2).Select(r => r.Edge));
        Assert.Equal(3.25, list.Curved[0].StitchedRadius(Foot).Inches, 1e-9);
        Assert.Equal(2.75, list.Curved[1].StitchedRadius(Foot).Inches, 1e-9);
        Assert.Equal(6.5, list.Curved[2].Chord.Inches, 1e-9);
        Assert.Equal(0.75, list.Curved[2].Rise.Inches, 1e-9);

        // Where no length is given: the arc over the chord that was measured.
        Assert.Equal(
            ArcShape.LengthOf(Length.FromInches(6.5), Length.FromInches(0.75)).Inches,
            list.Curved[2].UsableLength.Inches,
            1e-9
        );
        Assert.Equal(12, Assert.Single(list.Straight).UsableLength.Inches);
    }

    [Theory]
    [InlineData("{", "JSON", "line 1")]
    [InlineData("{}", "list", "rulers.json")]
    [InlineData("[]", "no rulers", "--rulers none")]
    [InlineData("[3]", "object", "ruler 1")]
    [InlineData("""[{"edge":"outside","chord":6,"rise":1}]""", "name", "ruler 1")]
    [InlineData("""[{"name":"a","edge":"round","chord":6,"rise":1}]""", "round", "ruler 1 (a)")]
    [InlineData("""[{"name":"a","edge":"outside","chord":6}]""", "rise", "ruler 1 (a)")]
    [InlineData(
        """[{"name":"a","edge":"outside","chord":6,"rise":0}]""",
        "half circle",
        "at most half the chord, 3 in"
    )]
    [InlineData(
        """[{"name":"a","edge":"outside","chord":6,"rise":3.5}]""",
        "half circle",
        "at most half the chord, 3 in"
    )]
    [InlineData("""[{"name":"a","edge":"outside","chord":"six","rise":1}]""", "chord", "ruler 1 (a)")]
    [InlineData("""[{"name":"a","edge":"outside","chord":6,"rise":3,"length":30}]""", "whole circle", "18.85 in")]
    [InlineData("""[{"name":"a","edge":"straight","rise":1,"length":6}]""", "straight", "length alone")]
    [InlineData("""[{"name":"a","edge":"straight","length":-6}]""", "-6 in", "a")]
    [InlineData("""[{"name":"a","edge":"inside","chord":6,"rise":1,"colour":"red"}]""", "colour", "name, edge")]
    [InlineData(
        """[{"name":"a","edge":"both","chord":6,"rise":1},{"name":"A ","edge":"inside","chord":6,"rise":1}]""",
        "twice",
        "rulers.json"
    )]
    public void A_list_that_can_t_be_used_says_what_and_where(string json, string what, string where)
    {
        InputException e = Assert.Throws<InputException>(() => Read(json));
        Assert.Contains(what, e.Message, StringComparison.Ordinal);
        Assert.Contains(where, e.Message, StringComparison.Ordinal);
    }

    [Fact]
    public void Like_lines_in_sewn_blocks_are_made_with_one_ruler_whose_rise_follows_each_chord()
    {
        // Sewn 1/8 in off at worst (handbook 10): like patches differ by up to a quarter inch in a side.
        QuiltMap map = Sewn(
            BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(12), 2, 2, Length.FromInches(2)),
            0.06
        );
        RoutePlan plan = Plan(map, new() { Candidates = 4 });
        int seen = 0;
        foreach (RouteCandidate c in plan.Route.Candidates)
        {
            // All patches of a nine patch are squares of 4 in; sashing has other sides.
            Move[] arcs = [.. c.AllMoves.Where(m => m.Kind == MoveKind.Arc && Math.Abs(m.Path.Chord - 4) < 0.3)];
            seen += arcs.Length;
            Assert.True(arcs.Select(RulerOf).Distinct().Count() <= 1);
            Assert.True(arcs.Length == 0 || arcs.Select(a => Math.Round(a.Path.Chord, 4)).Distinct().Count() > 1);
            foreach (Move a in arcs)
            {
                Ruler ruler = Ruler.GenericSet.Single(r => (r.Name, r.EdgeWord) == RulerOf(a));
                Assert.Equal(ruler.StitchedRadius(Foot).Inches, a.Path.Radius, 1e-6);
                Assert.Equal(
                    ArcShape.RiseOf(Length.FromInches(a.Path.Chord), ruler.StitchedRadius(Foot)).Inches,
                    Math.Abs(a.Path.Sagitta),
                    1e-9
                );
            }
        }

        Assert.True(seen > 0);
    }

    [Fact]
    public void A_foot_of_another_size_changes_the_stitched_radius()
    {
        // Handbook 3.3: a 9/16 foot is 9/32 from the edge.
        Ruler ruler = new(
            "mine",
            Length.FromInches(6),
            Length.FromInches(0.75),
            RulerEdge.Outside,
            Length.FromInches(8)
        );
        RoutePlan plan = Plan(
            Draft("nine-patch"),
            new() { Rulers = [ruler], FootOffset = Length.FromInches(9.0 / 32) }
        );
        Move[] arcs = [.. plan.Route.Candidates.SelectMany(c => c.AllMoves).Where(m => m.Kind == MoveKind.Arc)];
        Assert.NotEmpty(arcs);
        Assert.All(arcs, a => Assert.Equal(6.375 + 9.0 / 32, a.Path.Radius, 1e-9));
        Assert.All(arcs, a => Assert.Equal(("mine", "outside"), RulerOf(a)));
    }

    [Fact]
    public void Without_curved_rulers_only_straight_lines_are_added_and_the_most_useful_ruler_is_named()
    {
        RoutePlan plan = Plan(Draft("nine-patch"), new() { Rulers = [] });
        Assert.DoesNotContain(plan.Route.Candidates.SelectMany(c => c.AllMoves), m => m.Kind == MoveKind.Arc);
        Assert.Contains(plan.Route.Candidates[0].AllMoves, m => m.Kind == MoveKind.Line);
        Finding f = Assert.Single(plan.Findings, f => f.What == "no-curved-rulers");

        // Nine squares of 4 in have 36 sides; an eighth of 4 in is a rise of 1/2: radius 4.25 = an 8 in circle and the foot.
        Assert.Contains("8 in circle, outside", f.Remedy, StringComparison.Ordinal);
        Assert.Contains("36 of 36", f.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void Rulers_that_fit_nowhere_are_named_with_one_that_would()
    {
        // Rise of a 50 in circle over 4 in: 0.08 in, less than the stand-off.
        Ruler barrel = new(
            "barrel",
            Length.FromInches(20),
            Length.FromInches(1),
            RulerEdge.Outside,
            Length.FromInches(20)
        );
        Finding f = Assert.Single(
            Plan(Draft("nine-patch"), new() { Rulers = [barrel] }).Findings,
            f => f.What == "arcs-impossible"
        );
        Assert.Contains("barrel", f.Where, StringComparison.Ordinal);
        Assert.Contains("8 in circle", f.Remedy, StringComparison.Ordinal);
        InputException e = Assert.Throws<InputException>(() =>
            Plan(Draft("nine-patch"), new() { Rulers = [barrel], Lines = LineChoice.Curves })
        );
        Assert.Contains("8 in circle", e.Remedy, StringComparison.Ordinal);
    }

    [Theory]
    // No stop; one in the middle; at the point that lies in reach; two even ones, three pieces of 7.
    [InlineData(8, 8, new double[0], new double[0])]
    [InlineData(12, 8, new double[0], new[] { 6.0 })]
    [InlineData(12, 8, new[] { 4.0, 8.0, 12.0 }, new[] { 4.0 })]
    [InlineData(12, 8, new[] { 3.0, 12.0 }, new[] { 6.0 })]
    [InlineData(21, 8, new double[0], new[] { 7.0, 14.0 })]
    public void Stops_are_as_few_as_can_be_even_and_at_points_where_these_lie_in_reach(
        double length,
        double limit,
        double[] points,
        double[] stops
    ) => Assert.Equal(stops, RulerStops.Places(length, limit, points));

    [Fact]
    public void No_placement_is_longer_than_the_ruler_or_the_reach()
    {
        // A 3 in stretch of edge, on sides of 4 in: one stop on each arc.
        Ruler shortOne = new(
            "short",
            Length.FromInches(3),
            Length.FromInches(0.28),
            RulerEdge.Outside,
            Length.FromInches(3)
        );
        foreach (double reach in new[] { 5.0, 8.0 })
        {
            RoutePlan plan = Plan(
                Draft("nine-patch"),
                new()
                {
                    Rulers = [shortOne],
                    StraightRulers = [new("six", Length.FromInches(6))],
                    Reach = Length.FromInches(reach),
                }
            );
            Route read = RouteFile.Read(RouteFile.Write(plan.Route), "route.json");
            RouteCandidate c = read.Candidates[0];
            Assert.Contains(c.AllMoves, m => m.Kind == MoveKind.Arc);
            int count = 0;
            foreach (StitchStep step in StitchStep.Of(read.Quilt, c))
            {
                double limit = step.Moves[0].Kind == MoveKind.Arc ? Math.Min(3, reach) : Math.Min(6, reach);
                double since = 0;
                foreach (Move m in step.Moves)
                {
                    double at = 0;
                    foreach (Point<ClothSpace> stop in StopsOf(m))
                    {
                        (double t, double distance) = m.Path.Nearest(stop);
                        Assert.Equal(0, distance, 1e-9);
                        Assert.InRange(since + t * m.Path.Length - at, 0.1, limit + 0.02);
                        (since, at) = (0, t * m.Path.Length);
                        count++;
                    }

                    since += m.Path.Length - at;
                }

                Assert.InRange(since, 0.1, limit + 0.02);
            }

            Assert.True(count > 0);
            Assert.Equal(count, c.Unknown.Values["rulerStops"].GetInt32());
            Assert.Equal("short, outside", Assert.Single(c.Unknown.Values["rulers"].EnumerateArray()).GetString());
        }
    }

    [Fact]
    public void Arcs_keep_the_foot_clear_of_appliqué_and_nothing_is_added_in_patches_to_be_left()
    {
        // A 12 in square with a 5 in square of appliqué in its middle; and the same square to be left alone.
        Point<ClothSpace>[] q = [new(3.5, 3.5), new(8.5, 3.5), new(8.5, 8.5), new(3.5, 8.5)];
        QuiltMap map = MapBuilder.Build(
            Length.FromInches(12),
            Length.FromInches(12),
            [.. Enumerable.Range(0, 4).Select(i => new SeamLine(new(q[i], q[(i + 1) % 4])))],
            [],
            Length.FromInches(0.001)
        );
        QuiltMap left = map.With(patches: [.. map.Patches.Select(p => p with { Leave = p.Holes.Count == 0 })]);
        RoutePlan plan = Plan(left, new() { Candidates = 5, Outline = OutlineChoice.Any });
        Move[] added =
        [
            .. plan.Route.Candidates.SelectMany(c => c.AllMoves).Where(m => m.Kind is MoveKind.Arc or MoveKind.Line),
        ];
        Assert.NotEmpty(added);
        foreach (Move m in added)
        {
            for (int i = 0; i <= 200; i++)
            {
                Point<ClothSpace> p = m.Path.PointAt(i / 200.0);
                double dx = Math.Max(Math.Max(3.5 - p.X, p.X - 8.5), 0);
                double dy = Math.Max(Math.Max(3.5 - p.Y, p.Y - 8.5), 0);
                Assert.True(Math.Sqrt(dx * dx + dy * dy) >= 0.25 - 1e-6);
            }
        }
    }

    [Fact]
    public void Rulers_in_wishes_are_checked_as_those_in_files()
    {
        Ruler r = new("mine", Length.FromInches(6), Length.FromInches(4), RulerEdge.Outside, Length.FromInches(8));
        Assert.Throws<InputException>(() => Plan(Draft("four-patch"), new() { Rulers = [r] }));
        Assert.Equal(
            "--reach",
            Assert.Throws<InputException>(() => Plan(Draft("four-patch"), new() { Reach = Length.Zero })).Where
        );
    }

    private static (string, string) RulerOf(Move m) =>
        (m.Unknown.Values["ruler"].GetString()!, m.Unknown.Values["side"].GetString()!);

    private static IEnumerable<Point<ClothSpace>> StopsOf(Move m) =>
        m.Unknown.Values.TryGetValue("stops", out JsonElement e)
            ? e.EnumerateArray().Select(p => new Point<ClothSpace>(p[0].GetDouble(), p[1].GetDouble()))
            : [];

    private static RulerList Read(string json) => RulerList.Read(Encoding.UTF8.GetBytes(json), "rulers.json");

    private static QuiltMap Sewn(QuiltMap draft, double off)
    {
        Random random = new(11);
        return draft.With(
            junctions:
            [
                .. draft.Junctions.Select(j =>
                {
                    bool edge =
                        j.Place.X == 0
                        || j.Place.Y == 0
                        || j.Place.X == draft.Width.Inches
                        || j.Place.Y == draft.Height.Inches;
                    Vector<ClothSpace> by = new(
                        off * (2 * random.NextDouble() - 1),
                        off * (2 * random.NextDouble() - 1)
                    );
                    return j with { At = new(edge ? j.Place : j.Place + by, Length.FromInches(0.03)) };
                }),
            ]
        );
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
