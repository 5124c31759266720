using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection;

/// <summary>
/// Blocks typed again from the handbook's proportions (grid families, sections 1.3 and 1.4), as seams on a grid and not from the
/// library's files, are called by their names.
/// </summary>
/// <remarks>
/// Each draft is held against the handbook's table of inner seam lengths for a 12 in block before it is asked about, so that a
/// slip in typing shows as one.
/// </remarks>
public sealed class HandbookDraftTests
{
    private const string NinePatch = "1 0 1 3, 2 0 2 3, 0 1 3 1, 0 2 3 2";
    private const string NinePatchCorners = "0 1 1 0, 2 0 3 1, 3 2 2 3, 1 3 0 2";

    /// <summary>Id, cells across, seams as x y x y, inner seam length of a 12 in block by the handbook's table 1.4.</summary>
    public static TheoryData<string, double, string, double> Drafts =>
        new()
        {
            { "nine-patch", 3, NinePatch, 48.00 },
            { "shoofly", 3, NinePatch + ", " + NinePatchCorners, 70.63 },
            { "friendship-star", 3, NinePatch + ", 1 0 2 1, 3 1 2 2, 2 3 1 2, 0 2 1 1", 70.63 },
            {
                "ohio-star",
                3,
                NinePatch + ", 1 0 2 1, 2 0 1 1, 2 1 3 2, 3 1 2 2, 1 2 2 3, 2 2 1 3, 0 1 1 2, 1 1 0 2",
                93.25
            },
            {
                "churn-dash",
                3,
                NinePatch + ", " + NinePatchCorners + ", 1 0.5 2 0.5, 1 2.5 2 2.5, 0.5 1 0.5 2, 2.5 1 2.5 2",
                86.63
            },
            {
                "sawtooth-star",
                4,
                "1 0 1 4, 3 0 3 4, 0 1 4 1, 0 3 4 3, 1 0 2 1, 3 0 2 1, 4 1 3 2, 4 3 3 2, 3 4 2 3, 1 4 2 3, 0 3 1 2, 0 1 1 2",
                81.94
            },
            { "pinwheel", 2, "1 0 1 2, 0 1 2 1, 0 0 2 2, 2 0 0 2", 57.94 },
            { "square-in-a-square", 4, "2 0 4 2, 4 2 2 4, 2 4 0 2, 0 2 2 0", 33.94 },
            { "economy", 4, "2 0 4 2, 4 2 2 4, 2 4 0 2, 0 2 2 0, 1 1 3 1, 3 1 3 3, 3 3 1 3, 1 3 1 1", 57.94 },
            { "snowball", 3, NinePatchCorners, 22.63 },
            { "log-cabin", 7, LogCabin(), 82.29 },
            { "lemoyne-star", 2 + Math.Sqrt(2), LemoyneStar(), 84.35 },
        };

    [Theory]
    [MemberData(nameof(Drafts))]
    public void A_block_typed_from_the_handbook_is_named(string id, double grid, string seams, double innerInches)
    {
        Edge<ClothSpace>[] unit = Parse(seams, grid);
        // The table is printed to two places.
        Assert.Equal(innerInches, unit.Sum(e => e.Chord) * 12, 0.006);

        // 3 × 2 blocks of 12 in, sewn with an eighth of an inch of error.
        QuiltMap sewn = Piecing.Sew(Top(unit, 12, 3, 2), new() { WobbleInches = 0.125 }, new Dice(5));
        IReadOnlyList<Block> blocks = BlockLattice.Find(sewn);

        Assert.Equal(6, blocks.Count);
        Assert.All(blocks, b => Assert.Equal(id, b.Pattern));
    }

    [Theory]
    [InlineData("ohio-star")]
    [InlineData("economy")]
    [InlineData("churn-dash")]
    public void A_block_typed_from_the_handbook_is_named_in_a_photograph(string id)
    {
        (_, double grid, string seams, _) = Drafts.Select(d => d.Data).Single(d => d.Item1 == id);
        BlockDraft draft = Draft("typed-" + id, grid, Parse(seams, grid));
        MadeScene scene = SceneMaker.Make(
            new()
            {
                Pattern = draft.Id,
                Foreign = draft,
                Draft = BlockDrafting.Draft(draft, Length.FromInches(9), 2, 2, Length.Zero),
                Fabrics = FabricMix.Quiet,
                PhotoWidth = 1000,
                PhotoHeight = 750,
                Seed = 17,
            }
        );
        PlaneFit plane = PlaneFromCorners.Solve(
            scene.Corners,
            scene.Truth.Width,
            scene.Truth.Height,
            scene.PhotoWidth,
            scene.PhotoHeight
        );
        Length margin = Length.FromInches(1);
        Picture picture = Rectification.Rectify(
            scene.Decode(),
            plane.PhotoFromCloth,
            scene.Truth.Width,
            scene.Truth.Height,
            Rectification.UsualPixelsPerInch,
            margin
        );
        using SeamFinder finder = new();

        QuiltMap found = finder
            .Find(
                picture,
                new()
                {
                    Width = scene.Truth.Width,
                    Height = scene.Truth.Height,
                    Margin = margin,
                }
            )
            .Map;

        Assert.Equal(4, found.Blocks.Count);
        Assert.All(found.Blocks, b => Assert.Equal(id, b.Pattern));
    }

    // The handbook: a centre and logs of one unit each; three rounds make a grid of seven.
    private static string LogCabin()
    {
        List<string> seams = [];
        (int l, int t, int r, int b) = (3, 3, 4, 4);
        for (int round = 0; round < 3; round++)
        {
            // A log on the right, below, on the left, above: its seam is the side that it is sewn to.
            seams.Add(FormattableString.Invariant($"{r} {t} {r} {b}"));
            r++;
            seams.Add(FormattableString.Invariant($"{l} {b} {r} {b}"));
            b++;
            seams.Add(FormattableString.Invariant($"{l} {t} {l} {b}"));
            l--;
            seams.Add(FormattableString.Invariant($"{l} {t} {r} {t}"));
            t--;
        }

        return string.Join(", ", seams);
    }

    // The handbook: sides in the parts 1 : 1.414 : 1; corner square, diamond and the triangles' short sides are all 1.
    private static string LemoyneStar()
    {
        double middle = 1 + Math.Sqrt(2) / 2;
        List<string> seams = [];
        for (int k = 0; k < 8; k++)
        {
            (double x0, double y0) = Around(k);
            (double x1, double y1) = Around(k + 1);
            (double tipX, double tipY) = (x0 + x1 - middle, y0 + y1 - middle);
            seams.Add(FormattableString.Invariant($"{middle:R} {middle:R} {x0:R} {y0:R}"));
            seams.Add(FormattableString.Invariant($"{x0:R} {y0:R} {tipX:R} {tipY:R}"));
            seams.Add(FormattableString.Invariant($"{x1:R} {y1:R} {tipX:R} {tipY:R}"));
        }

        return string.Join(", ", seams);

        (double, double) Around(int k) => (middle + Math.Cos(k * Math.PI / 4), middle + Math.Sin(k * Math.PI / 4));
    }

    private static Edge<ClothSpace>[] Parse(string seams, double grid) =>
        [
            .. seams
                .Split(',')
                .Select(s =>
                {
                    double[] v =
                    [
                        .. s.Split(' ', StringSplitOptions.RemoveEmptyEntries)
                            .Select(t => double.Parse(t, System.Globalization.CultureInfo.InvariantCulture) / grid),
                    ];
                    return new Edge<ClothSpace>(new(v[0], v[1]), new(v[2], v[3]));
                }),
        ];

    private static QuiltMap Top(Edge<ClothSpace>[] unit, double side, int columns, int rows)
    {
        List<SeamLine> lines = [];
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                lines.AddRange(unit.Select(e => new SeamLine(new(At(e.From), At(e.To)))));
                Point<ClothSpace> At(Point<ClothSpace> p) => new((p.X + column) * side, (p.Y + row) * side);
            }
        }

        lines.AddRange(
            Enumerable
                .Range(1, columns - 1)
                .Select(c => new SeamLine(new(new(c * side, 0), new(c * side, rows * side))))
        );
        lines.AddRange(
            Enumerable
                .Range(1, rows - 1)
                .Select(r => new SeamLine(new(new(0, r * side), new(columns * side, r * side))))
        );
        return MapBuilder.Build(
            Length.FromInches(columns * side),
            Length.FromInches(rows * side),
            lines,
            [],
            Length.FromInches(1e-6 * side)
        );
    }

    // The patches that the seams cut a square into.
    private static BlockDraft Draft(string name, double grid, Edge<ClothSpace>[] unit)
    {
        QuiltMap one = Top(unit, 1, 1, 1);
        return new(
            BlockLibrary.IdOf(name),
            name,
            grid,
            "typed",
            null,
            [
                .. one.Patches.Select(p =>
                    (IReadOnlyList<DraftCorner>)
                        [.. PatchFinder.RingOf(one, p.Seams).Select(e => new DraftCorner(e.From.X, e.From.Y))]
                ),
            ]
        );
    }
}
