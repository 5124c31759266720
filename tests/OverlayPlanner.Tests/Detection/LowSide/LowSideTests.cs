using OverlayPlanner.Detection.LowSide;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Tests.Quilts;

namespace OverlayPlanner.Tests.Detection.LowSide;

public class LowSideTests
{
    private static readonly Vector<ClothSpace> FromUpperLeft = new(-0.7, -0.7);

    [Theory]
    [InlineData(true)]
    [InlineData(false)]
    public void Plain_cloth_in_slanting_light_shows_its_low_sides(bool oneColor)
    {
        QuiltMap map = Draft("nine-patch", 2, 2, oneColor);
        Random dice = new(5);
        Dictionary<string, Side> truth = map.Seams.ToDictionary(
            s => s.Id,
            _ => dice.Next(2) == 0 ? Side.Left : Side.Right
        );
        Picture picture = PaintedTop.Paint(map, (s, _) => truth[s.Id], 0.25, FromUpperLeft, 1);

        Seam[] inner = [.. Propose(map, picture).Seams.Where(s => s.Role != SeamRole.Edge)];
        Seam[] said = [.. inner.Where(s => s.Ditch is not null)];

        Assert.True(said.Length >= 0.9 * inner.Length, FormattableString.Invariant($"{said.Length} of {inner.Length}"));
        Assert.All(said, s => Assert.Equal(truth[s.Id], s.Ditch));
        Assert.All(said, s => Assert.Equal(LowSideWords.Light, s.DitchWhy));
        Assert.All(said, s => Assert.InRange(s.DitchConfidence!.Value, LowSides.LeastConfidence, 1));
    }

    [Fact]
    public void Seams_that_are_pressed_open_are_not_given_a_low_side()
    {
        QuiltMap map = Draft("nine-patch", 2, 2, oneColor: false);
        Picture picture = PaintedTop.Paint(map, (_, _) => null, 0.25, FromUpperLeft, 2);

        QuiltMap seen = Propose(map, picture);
        int said = seen.Seams.Count(s => s.Ditch is not null);

        Assert.True(said <= 0.05 * seen.Seams.Count, FormattableString.Invariant($"{said} of {seen.Seams.Count}"));
    }

    [Fact]
    public void Cloth_without_any_shade_at_its_seams_says_nothing()
    {
        QuiltMap map = Draft("nine-patch", 2, 2, oneColor: false);
        byte[] grey = [.. Enumerable.Repeat((byte)140, 640 * 640 * 3)];

        Assert.All(Propose(map, new(640, 640, grey, PaintedTop.Density)).Seams, s => Assert.Null(s.Ditch));
    }

    [Fact]
    public void A_seam_whose_low_side_flips_is_split_where_it_does()
    {
        QuiltMap map = Draft("four-patch", 2, 2, oneColor: true);
        Random dice = new(6);
        Dictionary<string, Side> truth = map.Seams.ToDictionary(
            s => s.Id,
            _ => dice.Next(2) == 0 ? Side.Left : Side.Right
        );
        Seam flipped = map.Seams.First(s => s.Role != SeamRole.Edge);
        Picture picture = PaintedTop.Paint(
            map,
            (s, t) => s.Id == flipped.Id && t > 0.5 ? Other(truth[s.Id]) : truth[s.Id],
            0.25,
            FromUpperLeft,
            3
        );

        (QuiltMap seen, IReadOnlyList<Finding> findings) = LowSides.Propose(
            map,
            [LowSideRule.Light],
            picture,
            PaintedTop.Margin
        );

        Assert.Contains(findings, f => f.What == "low-side-flips");
        Assert.Equal(map.Seams.Count + 1, seen.Seams.Count);
        Assert.Equal(truth[flipped.Id], seen.SeamOf(flipped.Id + ".1").Ditch);
        Assert.Equal(Other(truth[flipped.Id]), seen.SeamOf(flipped.Id + ".2").Ditch);
        Point<ClothSpace> place = seen.JunctionOf(seen.SeamOf(flipped.Id + ".1").To).Place;
        Assert.True(place.DistanceTo(map.EdgeOf(flipped).PointAt(0.5)) <= 0.5);
        Assert.True(MapCheck.Inspect(seen).IsPlane);
        Assert.Equal(map.Patches.Count, seen.Patches.Count);
        Assert.All(seen.Blocks, b => Assert.Equal(4, b.Patches.Count));
    }

    [Fact]
    public void What_the_user_told_stays()
    {
        QuiltMap map = Draft("nine-patch", 2, 1, oneColor: false);
        QuiltMap told = map.With(
            seams:
            [
                .. map.Seams.Select(s =>
                    s.Role == SeamRole.Edge ? s : s with { Ditch = Side.Right, DitchWhy = LowSideWords.User }
                ),
            ]
        );
        Picture picture = PaintedTop.Paint(map, (_, _) => Side.Left, 0.25, FromUpperLeft, 4);

        QuiltMap seen = LowSides
            .Propose(told, [LowSideRule.Light, LowSideRule.Dark, LowSideRule.Open], picture, PaintedTop.Margin)
            .Map;

        Assert.All(seen.Seams.Where(s => s.Role != SeamRole.Edge), s => Assert.Equal(Side.Right, s.Ditch));
    }

    [Fact]
    public void Toward_the_dark_makes_the_lighter_side_low()
    {
        QuiltMap map = Maps.Square([("t", 2, 0), ("u", 2, 4)], [("m", "t", "u", 0)]);
        map = MapCheck.Inspect(map).Map;

        // The way leads down, so its left is the right half as seen.
        map = map.With(
            patches:
            [
                .. map.Patches.Select(p =>
                    p with
                    {
                        Color = PatchFinder.InteriorPoint(map, p).X > 2 ? "#f0e8d8" : "#202040",
                    }
                ),
            ]
        );

        Seam seam = Rule(map, LowSideRule.Dark).SeamOf("m");
        Assert.Equal((Side.Left, "toward the dark"), (seam.Ditch, seam.DitchWhy));
    }

    [Fact]
    public void Along_sashing_the_side_of_the_block_or_of_the_sashing_is_low()
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("four-patch"),
            Length.FromInches(6),
            2,
            1,
            Length.FromInches(1)
        );
        QuiltMap toward = Rule(map, LowSideRule.Sashing);
        QuiltMap away = Rule(map, LowSideRule.Block);

        Seam[] said = [.. toward.Seams.Where(s => s.Ditch is not null)];
        Assert.NotEmpty(said);
        foreach (Seam s in said)
        {
            Edge<ClothSpace> path = map.EdgeOf(s);
            Vector<ClothSpace> low = path.DirectionAt(0.5).TurnedLeft * (s.Ditch == Side.Left ? 0.1 : -0.1);
            Assert.Contains(map.Blocks, b => PatchFinder.IsInside(b.Corners, path.PointAt(0.5) + low));
            Assert.Equal(Other(s.Ditch!.Value), away.SeamOf(s.Id).Ditch);
        }
    }

    [Fact]
    public void Rows_alternate_so_that_upright_seams_nest_where_two_rows_meet()
    {
        QuiltMap map = Rule(Draft("nine-patch", 2, 2, oneColor: true), LowSideRule.Alternate);
        int nests = 0;
        foreach (Junction j in map.Junctions)
        {
            Side?[] low =
            [
                .. map
                    .Seams.Where(s => s.Ditch is not null && (s.From == j.Id || s.To == j.Id))
                    .Select(s =>
                    {
                        // As seen on the page, whichever way the seam is written.
                        bool up = map.EdgeOf(s).DirectionAt(0.5).Y < 0;
                        return up ? s.Ditch : Other(s.Ditch!.Value);
                    }),
            ];
            if (low.Length == 2)
            {
                Assert.NotEqual(low[0], low[1]);
                nests++;
            }
        }

        // Five upright lines between six columns of patches, crossed by five lying ones.
        Assert.Equal(25, nests);
    }

    [Fact]
    public void Pressed_open_is_known_to_have_no_low_side()
    {
        QuiltMap map = Rule(Draft("nine-patch", 1, 1, oneColor: true), LowSideRule.Open);
        Assert.All(
            map.Seams.Where(s => s.Role != SeamRole.Edge),
            s => Assert.Equal((null, LowSideWords.Open), (s.Ditch, s.DitchWhy))
        );
        QuiltMap read = QuiltMapFile.Read(QuiltMapFile.Write(map), "map");
        Assert.Equal(map.Seams.Select(s => s.DitchWhy), read.Seams.Select(s => s.DitchWhy));
    }

    [Theory]
    [InlineData(0, false)]
    [InlineData(1, false)]
    [InlineData(3, false)]
    [InlineData(0, true)]
    [InlineData(2, true)]
    public void Copies_of_a_taught_block_follow_turned_and_mirrored(int turn, bool mirror)
    {
        // Two blocks apart from each other; the second is said to be the first, mirrored and turned. A nine patch looks the same
        // however it lies, so its seams fit.
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find("nine-patch"),
            Length.FromInches(6),
            2,
            1,
            Length.FromInches(1)
        );
        map = map.With(blocks: [map.Blocks[0], map.Blocks[1] with { Turn = turn, Mirror = mirror }]);
        HashSet<string> own = [.. map.Blocks[0].Patches.SelectMany(p => map.PatchOf(p).Seams)];
        Random dice = new(7);
        map = map.With(
            seams:
            [
                .. map.Seams.Select(s =>
                    own.Contains(s.Id) && s.Role != SeamRole.Edge
                        ? s with
                        {
                            Ditch = dice.Next(2) == 0 ? Side.Left : Side.Right,
                            DitchWhy = LowSideWords.User,
                        }
                        : s
                ),
            ]
        );

        QuiltMap taught = TaughtSides.Follow(map, "b1");

        Point<ClothSpace> from = map.Blocks[0].Corners[0].Toward(map.Blocks[0].Corners[2], 0.5);
        Point<ClothSpace> to = map.Blocks[1].Corners[0].Toward(map.Blocks[1].Corners[2], 0.5);
        Seam[] inside =
        [
            .. map
                .Seams.Where(s => own.Contains(s.Id) && s.Role != SeamRole.Edge && s.DitchWhy == LowSideWords.User)
                .Where(s => PatchFinder.IsInside(map.Blocks[0].Corners, map.EdgeOf(s).PointAt(0.5)))
                .Where(s => (map.EdgeOf(s).PointAt(0.5) - from) is { } v && Math.Abs(v.X) < 2.9 && Math.Abs(v.Y) < 2.9),
        ];
        Assert.Equal(12, inside.Length);
        foreach (Seam s in inside)
        {
            // Where the middle and a step to the low side go: mirrored left to right first, then turned clockwise.
            Edge<ClothSpace> path = map.EdgeOf(s);
            Vector<ClothSpace> low = path.DirectionAt(0.5).TurnedLeft * (s.Ditch == Side.Left ? 1 : -1);
            Point<ClothSpace> middle = to + Laid(path.PointAt(0.5) - from);
            Seam copy = taught.Seams.MinBy(c => taught.EdgeOf(c).PointAt(0.5).DistanceTo(middle))!;
            Vector<ClothSpace> left = taught.EdgeOf(copy).DirectionAt(0.5).TurnedLeft;
            Assert.Equal(left.Dot(Laid(low)) > 0 ? Side.Left : Side.Right, copy.Ditch);
            Assert.Equal("taught by b1", copy.DitchWhy);
        }

        Vector<ClothSpace> Laid(Vector<ClothSpace> v)
        {
            v = mirror ? new(-v.X, v.Y) : v;
            for (int i = 0; i < turn; i++)
            {
                v = new(-v.Y, v.X);
            }

            return v;
        }
    }

    private static QuiltMap Draft(string pattern, int columns, int rows, bool oneColor)
    {
        QuiltMap map = BlockDrafting.Draft(
            BlockLibrary.Find(pattern),
            Length.FromInches(9),
            columns,
            rows,
            Length.Zero
        );
        string[] colors = oneColor ? ["#7a86a8"] : ["#7a86a8", "#c8a080", "#909860", "#b0b4c0"];
        return map.With(
            patches: [.. map.Patches.Select((p, i) => p with { Color = colors[i * 7 % 11 % colors.Length] })]
        );
    }

    private static QuiltMap Propose(QuiltMap map, Picture picture) =>
        LowSides.Propose(map, [LowSideRule.Light], picture, PaintedTop.Margin).Map;

    private static QuiltMap Rule(QuiltMap map, LowSideRule rule) => LowSides.Propose(map, [rule]).Map;

    private static Side Other(Side side) => side == Side.Left ? Side.Right : Side.Left;
}
