using System.Text.Json;
using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Tests.Routing.Order;

public class OrderWishesTests
{
    private static readonly Gen<int> Seeds = Gen.Int[0, 1_000_000];

    [Fact]
    public void Wishes_on_random_plane_graphs_cross_nothing_and_stitch_what_is_asked_once() =>
        Property.ForAll(
            Gen.Select(Seeds, Gen.Enum<ThreadChoice>()),
            c =>
            {
                QuiltMap map = PlaneGraphs.Random(c.Item1);
                Random random = new(c.Item1);
                string[] ids = [.. map.Seams.Select(s => s.Id).Where(_ => random.Next(4) == 0)];
                string[] others = [.. map.Seams.Select(s => s.Id).Except(ids).Where(_ => random.Next(4) == 0)];
                if (ids.Length == 0 || ids.Length == map.Seams.Count)
                {
                    return;
                }

                foreach (
                    RouteWishes wishes in new RouteWishes[]
                    {
                        new() { LastSeams = ids, Skip = others },
                        new() { Skip = ids, Midpoints = true },
                        new() { Only = ids },
                        new() { LastSeams = ids, Drag = Length.FromInches(3) },
                    }
                )
                {
                    RoutePlan plan = Plan(map, wishes with { Thread = c.Item2, Lines = LineChoice.Seams });
                    RouteCandidate route = plan.Route.Candidates[0];
                    PlaneGraphs.AssertChained(route);
                    Assert.Equal(0, PlaneGraphs.CountCrossings(route));
                    bool travels = wishes.Only.Count > 0 && c.Item2 != ThreadChoice.Free;
                    HashSet<string> done = [.. route.AllMoves.Select(m => m.Seam!)];
                    if (travels)
                    {
                        Assert.Superset(wishes.Only.ToHashSet(), done);
                    }
                    else
                    {
                        PlaneGraphs.AssertEverySeamOnce(
                            plan.Route.Quilt,
                            route,
                            s =>
                                !wishes.Skip.Contains(Whole(s.Id))
                                && (wishes.Only.Count == 0 || wishes.Only.Contains(Whole(s.Id)))
                        );
                    }

                    AssertLast(route, wishes.LastSeams);
                }
            },
            count: 200
        );

    [Fact]
    public void Anchoring_first_stitches_every_block_sashing_and_border_ditch_before_any_other_line()
    {
        QuiltMap map = Draft("ohio-star", 3, 2, 2);
        HashSet<string> inside =
        [
            .. map.Seams.Where(s => s.Role == SeamRole.Seam && BlocksOf(map, s).Length > 0).Select(s => s.Id),
        ];
        foreach (ThreadChoice thread in Enum.GetValues<ThreadChoice>())
        {
            RoutePlan plan = Plan(
                map,
                new()
                {
                    AnchorFirst = true,
                    Thread = thread,
                    Outline = OutlineChoice.Any,
                }
            );
            foreach (RouteCandidate c in plan.Route.Candidates)
            {
                string?[] seams = [.. New(c).Select(m => m.Seam)];
                int first = Array.FindIndex(seams, s => s is null || inside.Contains(s));
                Assert.DoesNotContain(seams.Skip(first), s => s is not null && !inside.Contains(s));
                Assert.Equal(0, c.Measures.Crossings);
            }

            Assert.Contains(plan.Findings, f => f.What.StartsWith("wish-costs", StringComparison.Ordinal));
        }
    }

    [Fact]
    public void Round_the_block_last_finishes_the_inside_before_the_block_s_own_ditch()
    {
        QuiltMap map = Draft("nine-patch", 2, 1, 0);
        RouteCandidate c = Plan(map, new() { Lines = LineChoice.Seams, RoundLast = true }).Route.Candidates[0];
        SeamRole[] roles = [.. New(c).Select(m => map.SeamOf(m.Seam!).Role)];
        Assert.Equal(roles.Order(), roles);
        Assert.Contains(SeamRole.Block, roles);
    }

    [Theory]
    [InlineData("nine-patch", 0)]
    [InlineData("snowball", 0)]
    [InlineData("pinwheel", 2)]
    public void Each_block_is_finished_before_the_next_and_one_thread_goes_on_through_all(string id, double sash)
    {
        QuiltMap map = Draft(id, 3, 2, sash);
        RouteCandidate c = Plan(
            map,
            new()
            {
                Lines = LineChoice.Seams,
                FinishBlocks = true,
                Thread = ThreadChoice.One,
                Outline = OutlineChoice.Any,
            }
        ).Route.Candidates[0];
        Assert.Equal(1, c.Measures.Starts);
        Assert.Equal(0, c.Measures.Crossings);

        // There and back: the first row from the left, the second from the right.
        string[] order = ["b1", "b2", "b3", "b6", "b5", "b4"];
        int reached = 0;
        foreach (Move m in New(c))
        {
            int[] ranks = [.. BlocksOf(map, map.SeamOf(m.Seam!)).Select(b => Array.IndexOf(order, b))];
            if (ranks.Length > 0)
            {
                Assert.True(ranks.Min() >= reached, $"{m.Seam} of {order[ranks.Min()]} after {order[reached]}");
                reached = ranks.Min();
            }
        }
    }

    [Theory]
    // Corners of a quilt of three by two 12 in blocks: where to start, where to end, and the blocks in between.
    [InlineData(36, 24, 0, 24, "b6 b5 b4")]
    [InlineData(0, 24, 36, 12, "b4 b1 b2 b5 b6 b3")]
    [InlineData(36, 0, 36, 24, "b3 b2 b1 b4 b5 b6")]
    public void Blocks_are_taken_from_the_start_towards_the_end(
        double startX,
        double startY,
        double endX,
        double endY,
        string blocks
    )
    {
        QuiltMap map = Draft("nine-patch", 3, 2);
        RoutePlan plan = Plan(
            map,
            new()
            {
                Lines = LineChoice.Seams,
                FinishBlocks = true,
                Thread = ThreadChoice.One,
                Outline = OutlineChoice.Any,
                Start = new(startX, startY),
                End = new(endX, endY),
            }
        );
        string[] order =
        [
            .. New(plan.Route.Candidates[0])
                .Select(m => BlocksOf(map, map.SeamOf(m.Seam!)))
                .Where(b => b.Length == 1)
                .Select(b => b[0])
                .Distinct(),
        ];
        Assert.StartsWith(blocks, string.Join(' ', order), StringComparison.Ordinal);
        Assert.Equal(new(startX, startY), plan.Route.Candidates[0].Runs[0].Moves[0].Path.From);
        Assert.DoesNotContain(plan.Findings, f => f.What == "start-not-first");
    }

    [Fact]
    public void A_wish_of_order_says_what_it_costs()
    {
        // Churn dash with its outline: 4 starts in any order, 5 with the outline last.
        RoutePlan plan = Plan(Draft("churn-dash"), new() { Lines = LineChoice.Seams, Outline = OutlineChoice.Last });
        Finding cost = plan.Findings.Single(f => f.What == "wish-costs");
        Assert.Equal("the outline last", cost.Where);
        Assert.Contains("1 more start", cost.Remedy, StringComparison.Ordinal);

        // The proof by the format's own fields looks at no order; that of the order stands beside it.
        RouteCandidate c = plan.Route.Candidates[0];
        Assert.False(c.Proof.Optimal);
        JsonElement order = c.Unknown.In("proof").Values["inOrder"];
        Assert.True(order.GetProperty("optimal").GetBoolean());
        Assert.Equal(5, order.GetProperty("leastStarts").GetInt32());
    }

    [Fact]
    public void Fields_beyond_the_format_survive_the_file()
    {
        RoutePlan plan = Plan(
            Draft("nine-patch"),
            new()
            {
                Lines = LineChoice.Seams,
                Drag = Length.FromInches(5),
                Outline = OutlineChoice.Last,
            }
        );
        RouteCandidate c = RouteFile.Read(RouteFile.Write(plan.Route), "route.json").Candidates[0];
        int hops = c.Runs.Count(r => r.Unknown.Values.ContainsKey("hop"));
        UnknownFields measures = c.Unknown.In("measures");
        Assert.Equal(hops, measures.Values["hops"].GetInt32());
        Assert.Equal(c.Runs.Count - hops, measures.Values["restarts"].GetInt32());
        UnknownFields proof = c.Unknown.In("proof");
        Assert.True(proof.Values.ContainsKey("inOrder"));
        Assert.True(
            proof.Values["leastCarryInches"].GetDouble()
                <= measures.Values["carryInches"].GetDouble() + measures.Values["dragInches"].GetDouble() + 1e-9
        );
    }

    [Fact]
    public void A_hop_is_counted_apart_and_is_no_longer_than_the_limit()
    {
        // Nine patch: the eight ends lie in pairs 4 in apart on each side. Four threads that each join two neighbouring sides
        // follow each other round the block with a hop of 4 in at each side but the one where they began.
        RouteWishes wishes = new() { Lines = LineChoice.Seams };
        RoutePlan plan = Plan(Draft("nine-patch"), wishes with { Drag = Length.FromInches(4) });
        RouteCandidate c = plan.Route.Candidates[0];
        double[] hops =
        [
            .. c.Runs.Where(r => r.Unknown.Values.ContainsKey("hop")).Select(r => r.Unknown.Values["hop"].GetDouble()),
        ];
        Assert.Equal(4, c.Measures.Starts);
        Assert.Equal(3, hops.Length);
        Assert.All(hops, h => Assert.Equal(4, h, 1e-9));
        Assert.Contains(plan.Findings, f => f.What == "hops");

        // Without the wish no run is a hop, however near it starts.
        Assert.All(Plan(Draft("nine-patch"), wishes).Route.Candidates[0].Runs, r => Assert.Empty(r.Unknown.Values));
    }

    [Fact]
    public void With_a_mixed_thread_a_cheap_hop_saves_backtracking()
    {
        RouteWishes wishes = new() { Lines = LineChoice.Seams, Thread = ThreadChoice.Mixed };
        RouteCandidate without = Plan(Draft("nine-patch"), wishes).Route.Candidates[0];
        RouteCandidate with = Plan(
            Draft("nine-patch"),
            wishes with
            {
                Drag = Length.FromInches(4),
                HopCostSeconds = 1,
            }
        ).Route.Candidates[0];

        // A start is worth 20 in here, so without hops one thread goes back over 24 in; three hops at 1 s cost 3 s.
        Assert.Equal(24, without.Measures.Doubled.Inches, 1e-9);
        Assert.Equal(0, with.Measures.Doubled.Inches, 1e-9);
        Assert.Equal(3, with.Unknown.In("measures").Values["hops"].GetInt32());
        Assert.True(with.Proof.Optimal);
    }

    [Fact]
    public void Midpoints_split_sides_once_and_keep_the_map_whole()
    {
        QuiltMap map = Draft("four-patch");
        RoutePlan plan = Plan(
            map,
            new()
            {
                Lines = LineChoice.Seams,
                Midpoints = true,
                Start = new(3, 6),
            }
        );

        // Four squares: 12 sides, each of one seam, each with its middle.
        Assert.Equal(24, plan.Route.Quilt.Seams.Count);
        Assert.All(plan.Route.Quilt.Seams, s => Assert.Matches(@"^s\d+\.[12]$", s.Id));
        Assert.Equal(new Point<ClothSpace>(3, 6), plan.Route.Candidates[0].Runs[0].Moves[0].Path.From);
        Assert.DoesNotContain(MapCheck.Inspect(plan.Route.Quilt).Findings, f => f.What == "patches");
        Assert.True(MapCheck.Inspect(plan.Route.Quilt).IsPlane);
    }

    [Fact]
    public void Only_some_seams_are_stitched_and_one_thread_takes_the_shortest_way_between_them()
    {
        // Nine patch, the two outer thirds of the upper line across: 4 in apart along its middle third.
        QuiltMap map = Draft("nine-patch");
        string[] ids = [SeamAt(map, 2, 4), SeamAt(map, 10, 4)];
        RouteWishes wishes = new() { Only = ids };
        RouteCandidate free = Plan(map, wishes).Route.Candidates[0];
        RouteCandidate one = Plan(map, wishes with { Thread = ThreadChoice.One }).Route.Candidates[0];
        Assert.Equal(2, free.Measures.Starts);
        Assert.Equal(8, free.Measures.Stitched.Inches, 1e-9);
        Assert.Equal(1, one.Measures.Starts);
        Assert.Equal(12, one.Measures.Stitched.Inches, 1e-9);
        Assert.Equal(0, one.Measures.Doubled.Inches, 1e-9);
    }

    [Fact]
    public void Where_lines_pile_up_arcs_end_before_the_point_and_parity_stays_exact()
    {
        RouteWishes wishes = new() { Candidates = 4 };
        RoutePlan plain = Plan(Draft("nine-patch"), wishes);
        RouteCandidate crowded = plain.Route.Candidates.Single(c => c.Unknown.Values.ContainsKey("pileUps"));

        // Arcs along both sides of four seams and a line into the corner: up to 12 ends at an inner point.
        Assert.Contains(
            crowded.Unknown.Values["pileUps"].EnumerateArray(),
            p => p.GetProperty("lines").GetInt32() >= 12
        );
        RoutePlan cleared = Plan(Draft("nine-patch"), wishes with { Clear = Length.FromInches(0.5) });
        Assert.True(MapCheck.Inspect(cleared.Route.Quilt).IsPlane);
        Assert.Contains(cleared.Route.Quilt.Seams, s => s.Id.EndsWith(".3", StringComparison.Ordinal));
        foreach (RouteCandidate c in cleared.Route.Candidates)
        {
            Assert.False(c.Unknown.Values.ContainsKey("pileUps"));
            Assert.True(c.Proof.Optimal);
            Assert.Equal(0, PlaneGraphs.CountCrossings(c));
            PlaneGraphs.AssertChained(c);
            PlaneGraphs.AssertEverySeamOnce(cleared.Route.Quilt, c, s => s.Role != SeamRole.Edge);
        }
    }

    [Fact]
    public void Bulky_points_are_named_and_no_thread_ends_there_if_it_can_be_helped()
    {
        RoutePlan plan = Plan(Draft("lemoyne-star"), new() { Lines = LineChoice.Seams });
        Finding bulky = plan.Findings.Single(f => f.What == "bulky-points");
        Assert.Contains("6,6 (8 seams)", bulky.Where, StringComparison.Ordinal);
        Assert.DoesNotContain(
            Plan(Draft("lemoyne-star"), new() { Lines = LineChoice.Seams, BulkyFrom = 9 }).Findings,
            f => f.What == "bulky-points"
        );
        Assert.All(
            plan.Route.Candidates[0].Runs,
            r =>
            {
                Assert.NotEqual(new Point<ClothSpace>(6, 6), r.Moves[0].Path.From);
                Assert.NotEqual(new Point<ClothSpace>(6, 6), r.Moves[^1].Path.To);
            }
        );
    }

    [Fact]
    public void A_closed_thread_over_bulky_points_alone_starts_three_quarters_of_an_inch_along_a_ditch()
    {
        // Square in a square: one closed thread through the four middles of the sides, where four seams meet.
        QuiltMap map = Draft("square-in-a-square");
        RoutePlan plan = Plan(map, new() { Lines = LineChoice.Seams, BulkyFrom = 4 });
        RouteCandidate c = plan.Route.Candidates[0];
        Point<ClothSpace> start = c.Runs[0].Moves[0].Path.From;
        Assert.Equal(1, c.Measures.Starts);
        Assert.Equal(start, c.Runs[0].Moves[^1].Path.To);
        Assert.Equal(0.75, map.Junctions.Min(j => j.Place.DistanceTo(start)), 1e-9);
        Assert.Equal(map.Seams.Count + 1, plan.Route.Quilt.Seams.Count);
        Assert.True(c.Proof.Optimal);

        // By the usual mark of eight nothing is bulky, and the map stays as it is.
        Assert.Same(map, Plan(map, new() { Lines = LineChoice.Seams }).Route.Quilt);
    }

    [Fact]
    public void Straight_through_stands_beside_the_route_that_crosses_nothing()
    {
        RoutePlan plan = Plan(Draft("nine-patch"), new() { Lines = LineChoice.Seams, Through = true });
        Assert.Equal(2, plan.Route.Candidates.Count);
        Assert.Equal(4, plan.Route.Candidates[0].Measures.Crossings);
        Assert.Equal(4, plan.Route.Candidates[0].Unknown.In("measures").Values["crossingsAtPoints"].GetInt32());
        Assert.Equal(0, plan.Route.Candidates[1].Measures.Crossings);

        // Four lines in four placements; turning at all four points, each line breaks into three.
        Assert.Contains(
            "takes 4 ruler placements, crossing nothing 12",
            plan.Findings.Single(f => f.What == "through-compared").Remedy,
            StringComparison.Ordinal
        );
    }

    [Fact]
    public void A_start_and_an_end_on_a_closed_thread_clash_and_both_prices_are_said()
    {
        // Ohio star with its outline is one closed thread (handbook 1.4: all even).
        RoutePlan plan = Plan(
            Draft("ohio-star"),
            new()
            {
                Lines = LineChoice.Seams,
                Outline = OutlineChoice.Any,
                Start = new(4, 0),
                End = new(8, 0),
            }
        );
        Finding clash = plan.Findings.Single(f => f.What == "wishes-clash");
        Assert.Equal("--start and --end", clash.Where);
        Assert.Contains("Together they cost 1 more start", clash.Remedy, StringComparison.Ordinal);
        Assert.Contains("the start alone costs nothing", clash.Remedy, StringComparison.Ordinal);
    }

    [Fact]
    public void A_start_on_the_outline_that_comes_last_is_not_first_and_says_what_either_costs()
    {
        RoutePlan plan = Plan(
            Draft("four-patch"),
            new()
            {
                Lines = LineChoice.Seams,
                Outline = OutlineChoice.Last,
                Start = new(0, 0),
            }
        );
        Finding clash = plan.Findings.Single(f => f.What == "start-not-first");
        Assert.Equal("--start and --outline last", clash.Where);
        Assert.Contains("Without it", clash.Remedy, StringComparison.Ordinal);
    }

    private static string Whole(string id) => id.Split('.')[0];

    private static void AssertLast(RouteCandidate route, IReadOnlyList<string> last)
    {
        bool reached = false;
        foreach (Move m in New(route))
        {
            bool isLast = last.Contains(Whole(m.Seam!));
            Assert.True(isLast || !reached, $"{m.Seam} comes after a last seam");
            reached |= isLast;
        }
    }

    private static IEnumerable<Move> New(RouteCandidate c) => c.AllMoves.Where(m => m.Kind != MoveKind.Retrace);

    private static string[] BlocksOf(QuiltMap map, Seam s) =>
        [.. map.Blocks.Where(b => b.Patches.Select(map.PatchOf).Any(p => p.Seams.Contains(s.Id))).Select(b => b.Id)];

    private static string SeamAt(QuiltMap map, double x, double y) =>
        map.Seams.Single(s => map.EdgeOf(s).Nearest(new(x, y)).Distance < 1e-9).Id;

    private static QuiltMap Draft(string id, int across = 1, int down = 1, double sash = 0) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), across, down, Length.FromInches(sash));

    private static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
