using OverlayPlanner.Benchmarks.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Benchmarks;

/// <summary>Figures of the metric on maps so small that they are counted by hand.</summary>
public sealed class MapScoreTests
{
    private static readonly (double, double, double, double)[] FourPatch = [(0, 6, 12, 6), (6, 0, 6, 12)];

    [Fact]
    public void A_map_scores_itself_as_whole()
    {
        QuiltMap map = Map(FourPatch);

        MapScore score = MapScore.Compare(map, map);

        // Four ends on the outline and the middle; four pieces; four squares. The corners are given and count for nothing.
        Assert.Equal(new Tally(5, 0, 0), score.Points);
        Assert.Equal(new Tally(4, 0, 0), score.Seams);
        Assert.Equal(new Tally(4, 0, 0), score.Patches);
        Assert.Equal(default, HandEdits.Between(map, map));
    }

    [Fact]
    public void A_missed_seam_costs_its_ends_its_pieces_and_the_patches_that_it_parts()
    {
        MapScore score = MapScore.Compare(Map([FourPatch[0]]), Map(FourPatch));

        // Found: one line with its two ends. Missed: the upright's two ends and the middle.
        Assert.Equal(new Tally(2, 3, 0), score.Points);
        // The found line is one piece from side to side; all four true pieces are half as long.
        Assert.Equal(new Tally(0, 4, 1), score.Seams);
        // Two halves, each with an intersection over union of 1/2 with two squares.
        Assert.Equal(new Tally(0, 4, 2), score.Patches);
        // One stroke draws the upright.
        Assert.Equal(new HandEdits(1, 0, 0), HandEdits.Between(Map([FourPatch[0]]), Map(FourPatch)));
    }

    [Fact]
    public void A_false_seam_is_one_to_take_out_however_many_pieces_it_has()
    {
        QuiltMap found = Map([.. FourPatch, (0, 9, 12, 9)]);

        Assert.Equal(new HandEdits(0, 1, 0), HandEdits.Between(found, Map(FourPatch)));
        // Its two ends and where it crosses the upright.
        Assert.Equal(new Tally(5, 0, 3), MapScore.Compare(found, Map(FourPatch)).Points);
    }

    [Theory]
    [InlineData(0.124, 5, 0, 0)]
    [InlineData(0.126, 4, 1, 1)]
    [InlineData(0.4, 4, 1, 1)]
    public void A_point_counts_within_an_eighth_of_an_inch(double off, int hits, int missed, int moved)
    {
        QuiltMap found = Map([(0, 6, 6 + off, 6), (6 + off, 6, 12, 6), (6, 0, 6 + off, 6), (6 + off, 6, 6, 12)]);

        Assert.Equal(new Tally(hits, missed, missed), MapScore.Compare(found, Map(FourPatch)).Points);
        Assert.Equal(new HandEdits(0, 0, moved), HandEdits.Between(found, Map(FourPatch)));
    }

    [Theory]
    // A strip of 6 × 12 found as w × 12: the intersection over union is w ÷ 6, and of the other 6 ÷ (12 − w).
    [InlineData(4.3, 2)] // 0.717 and 0.779
    [InlineData(4.1, 1)] // 0.683 and 0.759
    [InlineData(3.2, 0)] // 0.533 and 0.682
    public void A_patch_counts_from_seven_tenths_of_intersection_over_union(double width, int hits)
    {
        MapScore score = MapScore.Compare(Map([(width, 0, width, 12)]), Map([(6, 0, 6, 12)]));

        Assert.Equal(hits, score.Patches.Hits);
    }

    [Fact]
    public void A_point_that_only_passes_a_straight_seam_on_is_none()
    {
        MapScore score = MapScore.Compare(Map([(0, 6, 5, 6), (5, 6, 12, 6)]), Map([(0, 6, 12, 6)]));

        Assert.Equal(new Tally(2, 0, 0), score.Points);
        Assert.Equal(new Tally(1, 0, 0), score.Seams);
    }

    [Theory]
    // Sagitta = bulge × chord ÷ 2, so over a chord of 12 the middles lie 6 × the difference of the bulges apart.
    [InlineData(0.2, 1)] // 0
    [InlineData(0.22, 1)] // 0.12 in
    [InlineData(0.222, 0)] // 0.132 in
    public void An_arc_must_agree_in_its_middle_too(double bulge, int hits)
    {
        QuiltMap truth = Map([], [new(new(0, 6), new(12, 6), 0.2)]);
        QuiltMap found = Map([], [new(new(0, 6), new(12, 6), bulge)]);

        Assert.Equal(hits, MapScore.Compare(found, truth).Seams.Hits);
    }

    [Fact]
    public void Pitch_is_compared_as_a_part_of_the_true_step()
    {
        QuiltMap truth = Blocks(10, 10);
        QuiltMap found = Blocks(10.02, 10);

        LatticeScore score = LatticeScore.Compare(found, truth);

        Assert.True(score.Exact);
        Assert.Equal(0.002, score.PitchError, 9);
        Assert.Equal(Naming.Right, score.Named);
    }

    [Fact]
    public void Calibration_error_is_the_mean_gap_between_said_and_so()
    {
        QuiltMap truth = Map([(0, 6, 12, 6)]);
        // Two seams, said to be 95 % and 75 % sure; only the first is there: gaps of 0.05 and 0.75, used once each.
        QuiltMap found = MapBuilder.Build(
            Length.FromInches(12),
            Length.FromInches(12),
            [new(new(new(0, 6), new(12, 6)), 0.95), new(new(new(0, 9), new(12, 9)), 0.75)],
            [],
            Length.FromInches(0.001)
        );
        ConfidenceScore score = new();

        score.Add(found, truth, 0.125);

        Assert.Equal(0.4, score.CalibrationError, 9);
        Assert.Equal((1, 1), score.SureOnes);
        Assert.Equal((1, 0), score.OtherOnes);
    }

    private static QuiltMap Map((double, double, double, double)[] lines, Edge<ClothSpace>[]? arcs = null) =>
        MapBuilder.Build(
            Length.FromInches(12),
            Length.FromInches(12),
            [
                .. lines.Select(l => new SeamLine(new(new(l.Item1, l.Item2), new(l.Item3, l.Item4)))),
                .. (arcs ?? []).Select(a => new SeamLine(a)),
            ],
            [],
            Length.FromInches(0.001)
        );

    private static QuiltMap Blocks(double across, double down)
    {
        Block[] blocks =
        [
            .. from row in Enumerable.Range(0, 2)
            from column in Enumerable.Range(0, 3)
            let x = column * across
            let y = row * down
            select new Block(
                FormattableString.Invariant($"b{row}{column}"),
                [new(x, y), new(x + 10, y), new(x + 10, y + 10), new(x, y + 10)]
            )
            {
                Row = row,
                Column = column,
                Pattern = "four-patch",
            },
        ];
        return MapBuilder.Build(Length.FromInches(31), Length.FromInches(20), [], blocks, Length.FromInches(0.001));
    }
}
