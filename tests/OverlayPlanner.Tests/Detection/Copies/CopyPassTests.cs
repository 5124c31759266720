using OverlayPlanner.Detection;
using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Tests.Detection.Copies;

public sealed class CopyPassTests
{
    [Fact]
    public void A_seam_that_one_copy_hardly_shows_is_laid_in_after_the_others()
    {
        QuiltMap truth = Top("sawtooth-star", 3, 2);
        Seam hidden = Inner(truth, "b5");
        QuiltMap found = Find(DrawnEvidence.Of(truth, s => s.Id == hidden.Id ? 0.12 : 0.96), truth).Map;
        Seam laid = Along(found, truth.EdgeOf(hidden))!;
        Assert.NotNull(laid);
        Assert.InRange(laid.Confidence, 0.5, 0.97);
        Assert.Equal(truth.Seams.Count, found.Seams.Count);
    }

    [Theory]
    [InlineData(0.75, false)]
    [InlineData(0.98, true)]
    public void A_line_that_one_copy_alone_has_stays_only_where_it_is_seen_well(double strength, bool stays)
    {
        QuiltMap truth = Top("sawtooth-star", 3, 2);

        // Down the middle square of the second block, from side to side of it.
        Edge<ClothSpace> extra = new(new(18, 3), new(18, 9));
        EvidenceMap evidence = DrawnEvidence.Of(
            truth.Width.Inches,
            truth.Height.Inches,
            [.. truth.Seams.Select(s => (truth.EdgeOf(s), 0.96)), (extra, strength)]
        );
        DetectedQuilt found = Find(evidence, truth);
        Assert.Equal(stays, Along(found.Map, extra) is not null);
        Assert.Equal(!stays, found.Findings.Any(f => f.What == "seam-left-out"));
    }

    [Fact]
    public void Blocks_whose_sides_are_hidden_are_found_by_what_they_show_together()
    {
        QuiltMap truth = Top("square-in-a-square", 4, 3);
        QuiltMap found = Find(DrawnEvidence.Of(truth, s => s.Role == SeamRole.Block ? 0.33 : 0.96), truth).Map;
        Assert.Equal(12, found.Blocks.Count);
        Assert.All(found.Blocks, b => Assert.Equal("square-in-a-square", b.Pattern));
        Assert.True(MapCheck.Inspect(found).IsPlane);
    }

    [Fact]
    public void A_taught_block_is_fitted_to_each_copy_where_that_lies()
    {
        QuiltMap truth = Shaken(Top("churn-dash", 3, 2), 20251125, 0.08);
        EvidenceMap evidence = DrawnEvidence.Of(truth, s => s.Role == SeamRole.Seam ? 0.5 : 0.96);

        // All that is known: the blocks' sides, and the first block as a person drew it.
        Block taught = truth.Blocks[0];
        List<SeamLine> lines =
        [
            .. truth
                .Seams.Where(s => s.Role == SeamRole.Block || IsIn(truth, taught, s))
                .Where(s => s.Role != SeamRole.Edge)
                .Select(s => new SeamLine(truth.EdgeOf(s))),
        ];
        QuiltMap mended = MapBuilder.Build(
            truth.Width,
            truth.Height,
            lines,
            [.. truth.Blocks.Select(b => b with { Pattern = null })],
            Length.FromInches(0.02)
        );
        DetectedQuilt fitted = SeamFinder.FitCopiesIn(
            Blank(evidence),
            evidence,
            Wishes(truth),
            mended,
            mended.Blocks[0],
            TestContext.Current.CancellationToken
        );
        Assert.True(MapCheck.Inspect(fitted.Map).IsPlane);
        Assert.Equal(truth.Seams.Count, fitted.Map.Seams.Count);
        double[] errors =
        [
            .. truth.Junctions.Select(j => fitted.Map.Junctions.Min(f => f.Place.DistanceTo(j.Place))).Order(),
        ];
        Assert.True(errors[^1] <= 1 / 16.0, FormattableString.Invariant($"worst {errors[^1]:0.000} in"));

        // What the person drew stays as drawn.
        Assert.All(
            mended.Junctions.Where(j => j.Place.X < 11.5 && j.Place.Y < 11.5),
            j => Assert.Contains(fitted.Map.Junctions, f => f.Place.DistanceTo(j.Place) < 1e-6)
        );
        Finding said = Assert.Single(fitted.Findings, f => f.What == "copies-fitted");
        Assert.Contains("b6", said.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void A_block_that_is_not_there_cannot_be_taught()
    {
        using SeamFinder finder = new();
        QuiltMap truth = Top("four-patch", 2, 1);
        InputException refused = Assert.Throws<InputException>(() =>
            finder.FitCopies(
                Blank(DrawnEvidence.Of(truth)),
                Wishes(truth),
                truth,
                "b9",
                TestContext.Current.CancellationToken
            )
        );
        Assert.Contains("b1 to b2", refused.Message, StringComparison.Ordinal);
    }

    private static QuiltMap Top(string id, int columns, int rows) =>
        BlockDrafting.Draft(BlockLibrary.Find(id), Length.FromInches(12), columns, rows, Length.Zero);

    private static DetectionWishes Wishes(QuiltMap truth) =>
        new()
        {
            Width = truth.Width,
            Height = truth.Height,
            Margin = Length.FromInches(DrawnEvidence.MarginInches),
        };

    private static DetectedQuilt Find(EvidenceMap evidence, QuiltMap truth) =>
        SeamFinder.FindIn(Blank(evidence), evidence, Wishes(truth), TestContext.Current.CancellationToken);

    private static Picture Blank(EvidenceMap evidence)
    {
        byte[] rgb = new byte[evidence.Width * evidence.Height * Picture.Channels];
        Array.Fill(rgb, (byte)200);
        return new(evidence.Width, evidence.Height, rgb, DrawnEvidence.PixelsPerInch);
    }

    private static bool IsIn(QuiltMap map, Block block, Seam seam) =>
        seam.Role == SeamRole.Seam && PatchFinder.IsInside(block.Corners, map.EdgeOf(seam).PointAt(0.5));

    private static Seam Inner(QuiltMap map, string block) =>
        map.Seams.First(s => IsIn(map, map.Blocks.First(b => b.Id == block), s));

    private static Seam? Along(QuiltMap map, Edge<ClothSpace> line) =>
        map.Seams.FirstOrDefault(s =>
            s.Role != SeamRole.Edge
            && new[] { 0.25, 0.5, 0.75 }.All(t => map.EdgeOf(s).Nearest(line.PointAt(t)).Distance < 0.15)
        );

    // Every point off its place by as much as piecing errs; the outline stays.
    private static QuiltMap Shaken(QuiltMap map, int seed, double most)
    {
        Random random = new(seed);
        Dictionary<string, Point<ClothSpace>> places = map.Junctions.ToDictionary(
            j => j.Id,
            j => new Point<ClothSpace>(
                IsOn(j.Place.X, map.Width.Inches) ? j.Place.X : j.Place.X + most * (2 * random.NextDouble() - 1),
                IsOn(j.Place.Y, map.Height.Inches) ? j.Place.Y : j.Place.Y + most * (2 * random.NextDouble() - 1)
            )
        );
        QuiltMap shaken = MapBuilder.Build(
            map.Width,
            map.Height,
            [
                .. map
                    .Seams.Where(s => s.Role != SeamRole.Edge)
                    .Select(s => new SeamLine(new(places[s.From], places[s.To], s.Bulge))),
            ],
            [
                .. map.Blocks.Select(b =>
                    b with
                    {
                        Corners =
                        [
                            .. b.Corners.Select(c => places[map.Junctions.MinBy(j => j.Place.DistanceTo(c))!.Id]),
                        ],
                    }
                ),
            ],
            Length.FromInches(0.02)
        );
        return shaken.With(
            seams:
            [
                .. shaken.Seams.Select(s =>
                    s.Role != SeamRole.Edge
                    && shaken.Blocks.Any(b =>
                        Enumerable
                            .Range(0, 4)
                            .Any(i =>
                                new Edge<ClothSpace>(b.Corners[i], b.Corners[(i + 1) % 4])
                                    .Nearest(shaken.EdgeOf(s).PointAt(0.5))
                                    .Distance < 0.2
                            )
                    )
                        ? s with
                        {
                            Role = SeamRole.Block,
                        }
                        : s
                ),
            ]
        );

        static bool IsOn(double v, double far) => v < 1e-9 || v > far - 1e-9;
    }
}
