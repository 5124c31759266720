using System.Text.RegularExpressions;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Routing;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Tests.Workflows.Showing;

/// <summary>Choices as a screen shows them, on drafted tops whose seams are known.</summary>
public sealed partial class ChoiceShowingTests
{
    private static readonly LengthWords Inches = new(LengthUnits.Inches);

    private static CancellationToken Stop => TestContext.Current.CancellationToken;

    // The judge is the map: every seam of a turned or mirrored neighbour was drafted on its own. A maple leaf has no turn and
    // no mirror image that lies on itself but the one along its diagonal.
    [Theory]
    [InlineData(SettingKind.Straight, 0.0, 8)]
    [InlineData(SettingKind.Straight, 2.0, 8)]
    [InlineData(SettingKind.OnPoint, 0.0, 8)]
    [InlineData(SettingKind.OnPoint, 1.5, 8)]
    public void Moves_land_on_the_seams_of_turned_and_mirrored_neighbours(SettingKind kind, double sash, int neighbours)
    {
        QuiltMap map = Draft(kind, sash, Turned);
        Block own = Middle(map);
        RouteCandidate choice = Plan(map, own, LineChoice.Seams).Candidates[0];
        IReadOnlyList<Block> round = SettingPicture.Round(map, own);
        Assert.Equal(neighbours, round.Count);
        Assert.Contains(round, b => b.Turn != own.Turn);
        Assert.Contains(round, b => b.Mirror != own.Mirror);
        foreach (Block other in round)
        {
            IReadOnlyList<Edge<ClothSpace>> carried = Assert.IsType<IReadOnlyList<Edge<ClothSpace>>>(
                SettingPicture.Carry(map, choice, own, other),
                exactMatch: false
            );
            Assert.Equal(choice.AllMoves.Count(), carried.Count);
            Edge<ClothSpace>[] seams =
            [
                .. other
                    .Patches.SelectMany(p => map.PatchOf(p).Seams)
                    .Distinct()
                    .Select(s => map.EdgeOf(map.SeamOf(s))),
            ];
            Assert.All(
                carried,
                e =>
                {
                    foreach (double t in new[] { 0, 0.3, 0.5, 0.9, 1 })
                    {
                        // A draft's sigma is zero.
                        Assert.InRange(seams.Min(s => s.Nearest(e.PointAt(t)).Distance), 0, 1e-6);
                    }
                }
            );
        }
    }

    [Fact]
    public void Arcs_keep_their_length_and_bow_to_the_mirrored_side()
    {
        QuiltMap map = Draft(SettingKind.Straight, 1, Turned);
        Block own = Middle(map);
        RouteCandidate choice = Plan(map, own, LineChoice.SeamsAndArcs)
            .Candidates.First(c => c.AllMoves.Any(m => !m.Path.IsLine));
        foreach (Block other in SettingPicture.Round(map, own))
        {
            IReadOnlyList<Edge<ClothSpace>> carried = SettingPicture.Carry(map, choice, own, other)!;
            foreach ((Move move, Edge<ClothSpace> edge) in choice.AllMoves.Zip(carried))
            {
                Assert.Equal(move.Path.Length, edge.Length, 1e-6);
                Assert.Equal(own.Mirror == other.Mirror ? move.Path.Bulge : -move.Path.Bulge, edge.Bulge, 1e-9);
            }
        }
    }

    [Fact]
    public void A_plain_alternate_and_a_block_sewn_otherwise_get_no_copy()
    {
        QuiltMap map = Draft(SettingKind.Straight, 0, (draft, r, c) => (r + c) % 2 == 0 ? new(draft) : new(null));
        Block own = Middle(map);
        RouteCandidate choice = Plan(map, own, LineChoice.Seams).Candidates[0];
        SettingPicture picture = SettingPicture.Of(map, choice, own.Id)!;

        // Its own and the four at its corners.
        Assert.Equal(5, picture.Copies.Count);
        Assert.True(picture.Copies[0].IsOwn);

        // Said to lie as the middle one does, but turned: its seams are elsewhere.
        QuiltMap turned = Draft(SettingKind.Straight, 0, Turned);
        Block middle = Middle(turned);
        Block wrong = SettingPicture.Round(turned, middle).First(b => b.Turn != middle.Turn) with
        {
            Turn = middle.Turn + 2,
            Mirror = middle.Mirror,
        };
        Block right = turned.FindBlock(wrong.Id)!;
        RouteCandidate way = Plan(turned, middle, LineChoice.Seams).Candidates[0];
        Assert.NotNull(SettingPicture.Carry(turned, way, middle, right));
        Assert.Null(SettingPicture.Carry(turned, way, middle, wrong));
    }

    [Fact]
    public void A_block_at_the_corner_has_the_three_blocks_that_there_are()
    {
        QuiltMap map = Draft(SettingKind.Straight, 1, Turned);
        Block corner = map.Blocks.Single(b => b is { Row: 0, Column: 0 });
        Assert.Equal(3, SettingPicture.Round(map, corner).Count);
    }

    // A block at the corner leaves two of its sides to the top's edge; those that lie there in no neighbour are stitched there.
    [Fact]
    public void A_neighbour_is_shown_without_the_tops_edge_and_with_all_its_other_sides()
    {
        QuiltMap map = Draft(SettingKind.Straight, 1, Turned);
        Block own = map.Blocks.Single(b => b is { Row: 0, Column: 0 });
        RouteCandidate choice = Plan(map, own, LineChoice.Seams).Candidates[0];
        SettingPicture picture = SettingPicture.Of(map, choice, own.Id)!;
        Assert.NotEmpty(picture.Edge);

        // Blocks of 8 in with sashing of 1 in begin at 0, 9 and 18. Half of a third is inside each piece of a side.
        string middle = picture.Copies.Single(c => map.FindBlock(c.Block) is { Row: 1, Column: 1 }).Path;
        string right = picture.Copies.Single(c => map.FindBlock(c.Block) is { Row: 0, Column: 1 }).Path;
        foreach (double along in new[] { 9 + 8 / 6.0, 13, 17 - 8 / 6.0 })
        {
            Assert.True(IsStitched(middle, along, 9), "top");
            Assert.True(IsStitched(middle, 17, along), "right");
            Assert.True(IsStitched(middle, along, 17), "bottom");
            Assert.True(IsStitched(middle, 9, along), "left");
            Assert.False(IsStitched(right, along, 0), "the top's edge");
            Assert.True(IsStitched(right, along, 8), "bottom of the right one");
        }
    }

    // Seams of this draft are straight: a path is moves and lines alone.
    private static bool IsStitched(string path, double x, double y)
    {
        Point<ClothSpace>? last = null;
        foreach (Match m in Stroke().Matches(path))
        {
            Point<ClothSpace> to = new(Number(m.Groups[2].Value), Number(m.Groups[3].Value));
            if (m.Groups[1].Value == "L" && new Edge<ClothSpace>(last!.Value, to).Nearest(new(x, y)).Distance < 1e-3)
            {
                return true;
            }

            last = to;
        }

        return false;

        static double Number(string text) => double.Parse(text, System.Globalization.CultureInfo.InvariantCulture);
    }

    [Fact]
    public void The_needle_goes_the_whole_route_in_its_order()
    {
        QuiltMap map = Draft(SettingKind.Straight, 0, Turned);
        foreach (RouteCandidate choice in Plan(map, Middle(map), LineChoice.SeamsAndArcs).Candidates)
        {
            NeedleWay way = NeedleWay.Of(choice, Inches);
            Move[] moves = [.. choice.AllMoves];
            Assert.Equal(moves.Length, way.Moves.Count);
            Assert.Equal(choice.Measures.Stitched.Inches, way.Inches, 1e-6);
            Assert.Equal(moves.Select(m => SvgWay.Of(m.Path)), way.Moves.Select(m => m.Path));
            Assert.Equal(choice.Measures.Starts, way.Moves.Count(m => m.IsStart));
            Assert.Equal(choice.Measures.Doubled.Inches, way.Moves.Where(m => m.IsBacktrack).Sum(m => m.Inches), 1e-6);
        }
    }

    [Fact]
    public void Choices_are_sorted_by_the_number_that_is_shown()
    {
        QuiltMap map = Draft(SettingKind.Straight, 0, Turned);
        Block own = Middle(map);
        Route route = Plan(map, own, LineChoice.SeamsAndArcs);
        Assert.Equal(
            route.Candidates,
            ChoiceWishes.Judge(route, own.Id, ChoiceWish.LeastTime, Inches).Select(j => j.Choice)
        );
        Assert.All(
            ChoiceWishes.Judge(route, own.Id, ChoiceWish.NothingAdded, Inches),
            j => Assert.DoesNotContain(j.Choice.AllMoves, m => m.Kind is MoveKind.Arc or MoveKind.Line)
        );
        Assert.Equal(
            route.Candidates.Count(c => c.AllMoves.All(m => m.Seam is not null)),
            ChoiceWishes.Judge(route, own.Id, ChoiceWish.NothingAdded, Inches).Count
        );
        IReadOnlyList<JudgedChoice> even = ChoiceWishes.Judge(route, own.Id, ChoiceWish.FilledEvenly, Inches);
        double[] gaps = [.. even.Select(j => WidestGap.Of(map, j.Choice, own.Id)!.Diameter.Inches)];
        Assert.Equal(route.Candidates.Count, gaps.Length);
        Assert.Equal(gaps.Order(), gaps);
        int[] steps =
        [
            .. ChoiceWishes
                .Judge(route, own.Id, ChoiceWish.EasiestToRemember, Inches)
                .Select(j =>
                    int.Parse(Digits().Match(j.Words).Value, System.Globalization.CultureInfo.InvariantCulture)
                ),
        ];
        Assert.NotEmpty(steps);
        Assert.Equal(steps.Order(), steps);
        int[] rulers =
        [
            .. ChoiceWishes.Judge(route, own.Id, ChoiceWish.FewestRulers, Inches).Select(j => j.Choice.Ease!.Rulers),
        ];
        Assert.NotEmpty(rulers);
        Assert.Equal(rulers.Order(), rulers);
    }

    [Fact]
    public void An_end_on_the_right_counts_only_where_a_block_lies_beyond_it()
    {
        QuiltMap map = Draft(SettingKind.Straight, 1, Turned);
        Block own = Middle(map);
        BlockPoints points = BlockPoints.Of(map, own.Id, Inches)!;
        BlockPoint[] right = [.. points.Points.Where(p => p.IsOnRight)];
        Assert.NotEmpty(right);
        Assert.All(right, p => Assert.Equal(own.Corners[1].X, p.Place.X, 1e-6));
        Route toTheRight = Plan(map, own, LineChoice.Seams, end: right[right.Length / 2].Place, OutlineChoice.Any);
        Assert.True(ChoiceWishes.EndsAtTheRight(map, toTheRight.Candidates[0], own.Id));

        BlockPoint left = points.Points.First(p => Math.Abs(p.Place.X - own.Corners[0].X) < 1e-6);
        Route toTheLeft = Plan(map, own, LineChoice.Seams, end: left.Place, OutlineChoice.Any);
        Assert.False(ChoiceWishes.EndsAtTheRight(map, toTheLeft.Candidates[0], own.Id));

        // The last block of a row has no neighbour on its right.
        Block last = map.Blocks.Single(b => b is { Row: 1, Column: 2 });
        BlockPoint[] edge = [.. BlockPoints.Of(map, last.Id, Inches)!.Points.Where(p => p.IsOnRight)];
        Route toTheEdge = Plan(map, last, LineChoice.Seams, end: edge[edge.Length / 2].Place, OutlineChoice.Any);
        Assert.False(ChoiceWishes.EndsAtTheRight(map, toTheEdge.Candidates[0], last.Id));
    }

    private static SettingPlace Turned(BlockDraft draft, int row, int column) =>
        new(draft, (row + 2 * column) % 4, (row * 2 + column) % 3 == 0);

    private static QuiltMap Draft(SettingKind kind, double sash, Func<BlockDraft, int, int, SettingPlace> place)
    {
        BlockDraft draft = BlockLibrary.Find("maple-leaf");
        return SettingDraft.Draft(
            new()
            {
                Kind = kind,
                Columns = 3,
                Rows = 3,
                Block = Length.FromInches(8),
                Sash = Length.FromInches(sash),
                PlaceAt = (r, c) => place(draft, r, c),
            }
        );
    }

    // The block nearest to the middle of the top.
    private static Block Middle(QuiltMap map)
    {
        Point<ClothSpace> middle = new(map.Width.Inches / 2, map.Height.Inches / 2);
        return map.Blocks.OrderBy(b => b.Corners[0].Toward(b.Corners[2], 0.5).DistanceTo(middle)).First();
    }

    private static Route Plan(
        QuiltMap map,
        Block block,
        LineChoice lines,
        Point<ClothSpace>? end = null,
        OutlineChoice outline = OutlineChoice.None
    ) =>
        RoutePlanner
            .Plan(
                map,
                new()
                {
                    Block = block.Id,
                    Lines = lines,
                    End = end,
                    Outline = outline,
                },
                Stop
            )
            .Route;

    [GeneratedRegex(@"([ML])(-?[\d.]+) (-?[\d.]+)", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Stroke();

    [GeneratedRegex(@"^\d+", RegexOptions.CultureInvariant, 1_000)]
    private static partial Regex Digits();
}
