using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Tests.Workflows.Onto;

/// <summary>A sampler of three rows, two known and two photographed: what is laid where, what keeps its id, and what is new.</summary>
public sealed class MapOntoTests
{
    private const double KnownTo = 27;
    private const double SeenFrom = 14;
    private static readonly string[] Sampler =
    [
        "ohio-star",
        "sawtooth-star",
        "churn-dash",
        "pinwheel",
        "friendship-star",
        "shoofly",
        "card-trick",
        "snowball",
        "broken-dishes",
    ];

    [Fact]
    public void The_map_grows_by_the_new_row_and_what_was_known_keeps_its_ids()
    {
        QuiltMap known = Part(0, KnownTo);
        QuiltMap seen = Part(SeenFrom, 36);
        (QuiltMap map, OntoReport report, IReadOnlyList<Finding> findings) = MapOnto.Lay(
            Mapped(seen),
            known,
            new() { Known = "known.json" },
            "photo.jpg",
            TestContext.Current.CancellationToken
        );

        Assert.DoesNotContain(findings, f => f.What == "not-grown");
        Assert.Equal(SeenFrom, report.TopLeft.Y, 2);
        Assert.Equal(0, report.AcrossPercent, 1);
        Assert.True(MapCheck.Inspect(map).IsPlane);
        Assert.Equal(36, map.Height.Inches, 2);
        Assert.Equal(36, map.Width.Inches, 2);

        // Nothing moved, so every point that is no cut end lies where it lay, by its id.
        foreach (Junction j in known.Junctions.Where(j => j.Place.Y < KnownTo - 0.1))
        {
            Assert.InRange(map.JunctionOf(j.Id).Place.DistanceTo(j.Place), 0, 0.02);
        }

        // The third row is whole now: as many points as the whole sampler has.
        QuiltMap whole = Part(0, 36);
        Assert.Empty(
            whole.Junctions.Where(j => map.Junctions.All(m => m.Place.DistanceTo(j.Place) > 0.05)).Select(j => j.Place)
        );
        Assert.Empty(
            map.Junctions.Where(j => whole.Junctions.All(m => m.Place.DistanceTo(j.Place) > 0.05)).Select(j => j.Place)
        );
        Assert.Equal(9, map.Blocks.Count);
        Assert.All(known.Blocks, b => Assert.Equal(b.Pattern, map.FindBlock(b.Id)!.Pattern));
        Assert.Equal([2, 2, 2], map.Blocks.Skip(6).Select(b => b.Row ?? -1));
    }

    [Fact]
    public void Drawn_up_cloth_gets_the_inches_that_a_ruler_finds_now()
    {
        QuiltMap known = Part(0, 36);
        QuiltMap seen = Part(SeenFrom, 36, scale: 0.97);
        (QuiltMap map, OntoReport report, _) = MapOnto.Lay(
            Mapped(seen),
            known,
            new() { Known = "known.json" },
            "photo.jpg",
            TestContext.Current.CancellationToken
        );
        Assert.Equal(-3, report.AcrossPercent, 1);
        Assert.Equal(known.Seams.Select(s => s.Id), map.Seams.Select(s => s.Id));
        (Block was, Block now) = (known.Blocks[7], map.FindBlock(known.Blocks[7].Id)!);
        Assert.Equal(0.97 * was.Corners[0].DistanceTo(was.Corners[1]), now.Corners[0].DistanceTo(now.Corners[1]), 2);
    }

    [Fact]
    public void Equal_blocks_are_refused_with_the_places_and_a_row_settles_it()
    {
        QuiltMap known = BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 3, 3, Length.Zero);
        known = Edged(known, _ => EdgeKind.Raw);
        QuiltMap seen = BlockDrafting.Draft(BlockLibrary.Find("ohio-star"), Length.FromInches(12), 3, 2, Length.Zero);
        seen = Edged(seen, e => Math.Abs(e.To.X - e.From.X) < 0.01 ? EdgeKind.Raw : EdgeKind.Cut);
        InputException refused = Assert.Throws<InputException>(() =>
            MapOnto.Lay(
                Mapped(seen),
                known,
                new() { Known = "k.json" },
                "photo.jpg",
                TestContext.Current.CancellationToken
            )
        );
        Assert.Contains("row 1", refused.What, StringComparison.Ordinal);
        Assert.Contains("row 2", refused.What, StringComparison.Ordinal);
        Assert.Contains("--row", refused.Remedy, StringComparison.Ordinal);

        OntoReport report = MapOnto
            .Lay(
                Mapped(seen),
                known,
                new() { Known = "k.json", Row = 2 },
                "photo.jpg",
                TestContext.Current.CancellationToken
            )
            .Report;
        Assert.Equal(12, report.TopLeft.Y, 2);
    }

    private static QuiltMap Edged(QuiltMap map, Func<Edge<ClothSpace>, EdgeKind> kind) =>
        map.With(
            seams: [.. map.Seams.Select(s => s.Role == SeamRole.Edge ? s with { Edge = kind(map.EdgeOf(s)) } : s)]
        );

    private static MappedQuilt Mapped(QuiltMap map) => new(map, new Picture(2, 2, new byte[12]), Length.Zero, []);

    // Rows from one height to another, cut where the part ends inside the quilt.
    private static QuiltMap Part(double from, double to, double scale = 1)
    {
        List<SeamLine> lines = [];
        List<Block> blocks = [];
        for (int i = 0; i < 9; i++)
        {
            Vector<ClothSpace> by = new(12 * (i % 3), 12 * (i / 3));
            QuiltMap block = BlockDrafting.Draft(
                BlockLibrary.Find(Sampler[i]),
                Length.FromInches(12),
                1,
                1,
                Length.Zero
            );
            foreach (Seam s in block.Seams)
            {
                Edge<ClothSpace> e = block.EdgeOf(s);
                if (Clip(e.From + by, e.To + by, from, to) is { } kept)
                {
                    lines.Add(new(Scaled(kept, from, scale)));
                }
            }

            if (by.Y >= from && by.Y + 12 <= to)
            {
                Point<ClothSpace> c = new(by.X * scale, (by.Y - from) * scale);
                double side = 12 * scale;
                blocks.Add(
                    new(
                        FormattableString.Invariant($"b{blocks.Count + 1}"),
                        [
                            c,
                            c + new Vector<ClothSpace>(side, 0),
                            c + new Vector<ClothSpace>(side, side),
                            c + new Vector<ClothSpace>(0, side),
                        ]
                    )
                    {
                        Row = i / 3 - (int)Math.Ceiling(from / 12),
                        Column = i % 3,
                        Pattern = Sampler[i],
                    }
                );
            }
        }

        return MapBuilder.Build(
            Length.FromInches(36 * scale),
            Length.FromInches((to - from) * scale),
            lines,
            blocks,
            Length.FromInches(0.02),
            EdgeKind.Cut,
            _ => Length.FromInches(0.01)
        );
    }

    private static Edge<ClothSpace>? Clip(Point<ClothSpace> a, Point<ClothSpace> b, double top, double bottom)
    {
        if (a.Y > b.Y)
        {
            (a, b) = (b, a);
        }

        if (b.Y <= top || a.Y >= bottom)
        {
            return null;
        }

        Point<ClothSpace> p = a.Y < top ? a.Toward(b, (top - a.Y) / (b.Y - a.Y)) : a;
        Point<ClothSpace> q = b.Y > bottom ? a.Toward(b, (bottom - a.Y) / (b.Y - a.Y)) : b;
        return new(p, q);
    }

    private static Edge<ClothSpace> Scaled(Edge<ClothSpace> e, double from, double scale) =>
        new(new(e.From.X * scale, (e.From.Y - from) * scale), new(e.To.X * scale, (e.To.Y - from) * scale));
}
