using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration.Taping;

/// <summary>Six measures to four corners, and what they say when one of them is wrong.</summary>
public sealed class BlockFromTapeTests
{
    private static readonly Point<ClothSpace>[] Square = [new(2, 3), new(14, 3), new(14, 15), new(2, 15)];

    [Fact]
    public void A_square_of_sides_12_and_diagonals_17_is_a_square_between_the_two()
    {
        // By hand: 4 (s − 12)² + 2 w (s√2 − 17)² is least where s = (48 + 34 w √2) ÷ (4 + 4 w). With w = 1 that is 12.01041; a
        // diagonal is longer and so read a little less well: w = (1/32² + 0.012²) ÷ (1/32² + 0.017²) = 0.8855.
        double w = (1 / 1024.0 + 0.000144) / (1 / 1024.0 + 0.000289);
        double s = (4 * 12 + 2 * w * 17 * Math.Sqrt(2)) / (4 + 4 * w);
        TapedBlock block = BlockFromTape.Solve(Square, Measures([12, 12, 12, 12], [17, 17]));
        for (int i = 0; i < 4; i++)
        {
            Assert.Equal(s, block.Corners[i].DistanceTo(block.Corners[(i + 1) % 4]), 9);
            Assert.Equal(Math.Sqrt(2) * s, block.Corners[i].DistanceTo(block.Corners[(i + 2) % 4]), 9);
        }

        // Laid on its old place, about its middle: (8, 9).
        Assert.Equal(8 - s / 2, block.Corners[0].X, 9);
        Assert.Equal(9 - s / 2, block.Corners[0].Y, 9);
        Assert.Empty(block.Findings);
    }

    [Fact]
    public void Measures_without_a_contradiction_come_back_to_the_last_digit()
    {
        Point<ClothSpace>[] now = [new(0.1, 0.05), new(11.9, -0.02), new(11.85, 11.8), new(0, 11.92)];
        TapedBlock block = BlockFromTape.Solve(Square, Measures(now));
        for (int i = 0; i < 4; i++)
        {
            for (int j = 0; j < i; j++)
            {
                Assert.Equal(now[i].DistanceTo(now[j]), block.Corners[i].DistanceTo(block.Corners[j]), 9);
            }
        }

        Assert.Equal(0, block.Contradiction.Inches, 9);
    }

    [Theory]
    [InlineData(0, 0.5, "top side")]
    [InlineData(1, -0.5, "right side")]
    [InlineData(2, 0.5, "bottom side")]
    [InlineData(3, 0.625, "left side")]
    [InlineData(4, 0.5, "diagonal from the top left")]
    [InlineData(5, -0.5, "diagonal from the top right")]
    public void A_slip_is_refused_in_inches_and_the_slipped_measure_is_named(int measure, double slip, string name)
    {
        // A block that drew up by 1 % across and 2 % down, square.
        double[] all = [11.88, 11.76, 11.88, 11.76, Math.Sqrt(11.88 * 11.88 + 11.76 * 11.76), 0];
        all[5] = all[4];
        all[measure] += slip;
        foreach (bool known in new[] { true, false })
        {
            BlockMeasures measures = Measures(all[..4], all[4..]);
            InputException refused = Assert.Throws<InputException>(() =>
                known ? BlockFromTape.Solve(Square, measures) : BlockFromTape.Solve(measures)
            );
            Assert.Contains(name, refused.What, StringComparison.Ordinal);
            Assert.Contains(
                "by " + Length.FromInches(Math.Abs(slip)).ToSixteenths() + " in",
                refused.What,
                StringComparison.Ordinal
            );
            Assert.Equal(measure < 4 ? "--sides" : "--diagonals", refused.Where);
        }
    }

    [Fact]
    public void What_the_tape_leaves_open_covers_what_it_does()
    {
        // Read with its own spread a thousand times, a corner's place about the block's middle wanders as the spreads say.
        Random random = new(5);
        Point<ClothSpace>[] now = [new(2, 3), new(13.9, 3.1), new(13.8, 14.9), new(2.1, 14.8)];
        double[] truth = Lengths(now);
        double squares = 0;
        const int times = 1000;
        TapedBlock clean = BlockFromTape.Solve(Square, Measures(now));
        for (int t = 0; t < times; t++)
        {
            // Even noise of the same spread has no tails, so that none of the thousand is refused.
            double[] read = [.. truth.Select(l => l + Sigma(l) * Math.Sqrt(3) * (2 * random.NextDouble() - 1))];
            Point<ClothSpace> corner = BlockFromTape.Solve(Square, Measures(read[..4], read[4..])).Corners[2];
            squares += (corner - clean.Corners[2]).Dot(corner - clean.Corners[2]);
        }

        double said = clean.Spreads.Sum(s => (s[2] - clean.Corners[2]).Dot(s[2] - clean.Corners[2]));
        Assert.InRange(Math.Sqrt(squares / times / said), 0.93, 1.07);
    }

    private static double Sigma(double l) => Math.Sqrt(1 / 1024.0 + 1e-6 * l * l);

    private static double[] Lengths(Point<ClothSpace>[] c) =>
        [
            c[0].DistanceTo(c[1]),
            c[1].DistanceTo(c[2]),
            c[3].DistanceTo(c[2]),
            c[0].DistanceTo(c[3]),
            c[0].DistanceTo(c[2]),
            c[1].DistanceTo(c[3]),
        ];

    private static BlockMeasures Measures(Point<ClothSpace>[] c) => Measures(Lengths(c)[..4], Lengths(c)[4..]);

    private static BlockMeasures Measures(double[] sides, double[] diagonals) =>
        new([.. sides.Select(Length.FromInches)], [.. diagonals.Select(Length.FromInches)]);
}
