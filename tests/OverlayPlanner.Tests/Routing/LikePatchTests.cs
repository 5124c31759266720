using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Designs;

namespace OverlayPlanner.Tests.Routing;

public class LikePatchTests
{
    [Fact]
    public void Every_choice_of_every_block_says_truly_whether_like_patches_are_alike()
    {
        foreach (BlockDraft block in BlockLibrary.All)
        {
            QuiltMap map = Draft(block.Id);
            IReadOnlyList<int> symmetries = Likeness.SymmetriesOf(map);
            foreach (ThreadChoice thread in new[] { ThreadChoice.Free, ThreadChoice.One })
            {
                foreach (RouteCandidate c in Plan(map, new() { Candidates = 5, Thread = thread }).Route.Candidates)
                {
                    bool alike = Likeness.AreLikePatchesAlike(map, c, symmetries);
                    Assert.True(
                        alike == c.Unknown.Values["likePatchesAlike"].GetBoolean(),
                        FormattableString.Invariant($"{block.Id} {c.Name}: {c.Design}")
                    );
                    Assert.Equal(symmetries.Count, c.Unknown.Values["symmetryOf"].GetInt32());
                }
            }
        }
    }

    [Fact]
    public void The_recommended_choice_is_never_half_a_pattern()
    {
        List<string> unlike = [];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            RouteCandidate c = Plan(Draft(block.Id), new()).Route.Candidates[0];
            int kept = c.Unknown.Values["symmetryKept"].GetInt32();
            int of = c.Unknown.Values["symmetryOf"].GetInt32();
            Assert.True(kept == of || kept > 2, block.Id);
            if (!c.Unknown.Values["likePatchesAlike"].GetBoolean())
            {
                unlike.Add(block.Id);
            }
        }

        // Pinwheel: its eight triangles are one class by their seams. Let o, i, h be the arcs that a triangle has along its
        // outer leg, inner leg and long side; the points ask for o + h odd at the corners and o + i odd at the middles, summed
        // over a triangle and its mirror image; alike means equal o + i and equal h in both: an odd sum of equal numbers.
        Assert.Equal(["pinwheel"], unlike);
    }

    [Fact]
    public void Colours_tell_a_pinwheel_s_blades_from_its_ground()
    {
        // Blades and ground alternate: a half turn of the eighths round the centre by two changes no colour, a mirror does.
        QuiltMap map = Draft("pinwheel");
        QuiltMap colored = map.With(
            patches:
            [
                .. map.Patches.Select(p =>
                {
                    Point<ClothSpace>[] corners = [.. PatchFinder.RingOf(map, p.Seams).Select(e => e.From)];
                    double angle = Math.Atan2(corners.Average(c => c.Y) - 6, corners.Average(c => c.X) - 6);
                    int eighth = (int)Math.Floor((angle + Math.PI) / (Math.PI / 4));
                    return p with { Color = eighth % 2 == 0 ? "#8a3f52" : "#e9dcc3" };
                }),
            ]
        );
        RouteCandidate plain = Plan(colored, new()).Route.Candidates[0];
        RouteCandidate c = Plan(colored, new() { Match = PatternMatch.Colors }).Route.Candidates[0];
        Assert.Equal(8, plain.Unknown.Values["symmetryOf"].GetInt32());
        Assert.Equal(4, c.Unknown.Values["symmetryOf"].GetInt32());
        Assert.Equal(4, c.Unknown.Values["symmetryKept"].GetInt32());
        Assert.True(c.Unknown.Values["likePatchesAlike"].GetBoolean());
        Assert.Equal(1, c.Measures.Starts);
        Assert.True(Likeness.AreLikePatchesAlike(map, c, [0, 1, 2, 3]));
        Assert.Contains(Plan(map, new() { Match = PatternMatch.Colors }).Findings, f => f.What == "no-colors");
    }

    [Theory]
    // CIEDE2000 test data, Sharma, Wu and Dalal 2005, table 1, pairs 1, 4, 7, 9, 17, 25.
    [InlineData(50, 2.6772, -79.7751, 50, 0, -82.7485, 2.0425)]
    [InlineData(50, -1.3802, -84.2814, 50, 0, -82.7485, 1.0000)]
    [InlineData(50, 0, 0, 50, -1, 2, 2.3669)]
    [InlineData(50, 2.49, -0.001, 50, -2.49, 0.0009, 7.1792)]
    [InlineData(50, 2.5, 0, 73, 25, -18, 27.1492)]
    [InlineData(60.2574, -34.0099, 36.2677, 60.4626, -34.1751, 39.4387, 1.2644)]
    public void The_colour_difference_is_the_published_one(
        double l1,
        double a1,
        double b1,
        double l2,
        double a2,
        double b2,
        double difference
    )
    {
        PatchColor x = new(l1, a1, b1);
        PatchColor y = new(l2, a2, b2);
        Assert.Equal(difference, x.DistanceTo(y), 1e-4);
        Assert.Equal(difference, y.DistanceTo(x), 1e-4);
    }

    [Fact]
    public void A_colour_is_read_as_sRGB_and_one_fabric_in_two_lights_is_one()
    {
        // sRGB white is L* 100; pure red is L* 53.24, a* 80.09, b* 67.20 (IEC 61966-2-1 primaries, D65).
        PatchColor red = PatchColor.Parse("#ff0000")!.Value;
        Assert.Equal(53.24, red.L, 0.01);
        Assert.Equal(80.09, red.A, 0.02);
        Assert.Equal(67.20, red.B, 0.02);
        Assert.Equal(100, PatchColor.Parse("#ffffff")!.Value.L, 0.001);
        Assert.Null(PatchColor.Parse("red"));
        Assert.True(PatchColor.Parse("#8a3f52")!.Value.IsLike(PatchColor.Parse("#94485a")!.Value));
        Assert.False(PatchColor.Parse("#8a3f52")!.Value.IsLike(PatchColor.Parse("#e9dcc3")!.Value));
    }

    [Fact]
    public void One_thread_treats_like_patches_alike_with_at_most_a_little_backtracking()
    {
        List<string> others = [];
        foreach (BlockDraft block in BlockLibrary.All)
        {
            RouteCandidate c = Plan(Draft(block.Id), new() { Thread = ThreadChoice.One }).Route.Candidates[0];
            if (
                !c.Unknown.Values["likePatchesAlike"].GetBoolean()
                || c.Measures.Doubled.Inches > 0.05 * c.Measures.Stitched.Inches
            )
            {
                others.Add(block.Id);
            }
        }

        // Pinwheel: see above. Melon patch: its curves touch their neighbours' sides at every corner, so no line leaves there.
        Assert.Equal(["melon-patch", "pinwheel"], others.Order(StringComparer.Ordinal));
    }

    private static QuiltMap Draft(string id) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), 1, 1, Length.Zero);

    private static RoutePlan Plan(QuiltMap map, RouteWishes wishes) =>
        RoutePlanner.Plan(map, wishes, TestContext.Current.CancellationToken);
}
