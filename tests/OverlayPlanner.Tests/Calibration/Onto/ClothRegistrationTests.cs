using OverlayPlanner.Benchmarks.Calibration;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Calibration.Onto;

/// <summary>Made advances with a known truth: noise, missed and false points, uneven draw-up and a turn.</summary>
public sealed class ClothRegistrationTests
{
    private static readonly AdvanceWishes Small = new()
    {
        Columns = 4,
        Rows = 4,
        BandInches = 20,
    };
    private static readonly AdvanceWishes Unequal = Small with
    {
        Patterns = ["sawtooth-star", "ohio-star", "churn-dash", "pinwheel", "shoofly", "friendship-star"],
    };

    [Theory]
    [InlineData(1)]
    [InlineData(2)]
    [InlineData(3)]
    public void Unequal_blocks_settle_where_the_photograph_lies(int seed)
    {
        AdvancedCloth cloth = new(Unequal, seed);
        RegistrationAnswer answer = ClothRegistration.Find(cloth.Known, cloth.Seen);
        Registration way = Assert.Single(answer.Possible());
        Assert.False(answer.IsMirrored);
        Assert.True(cloth.IsAt(way));
        Assert.Equal(0, cloth.Wrong(way));
        double[] off = [.. cloth.Visible.Select(k => way.PlaceOf(k).Value.DistanceTo(cloth.Truth[k])).Order()];
        Assert.InRange(off[(int)(0.95 * off.Length)], 0, 1 / 16.0);
    }

    [Fact]
    public void Equal_blocks_fit_several_rows_and_the_truth_is_one_of_them()
    {
        AdvancedCloth cloth = new(Small, 5);
        IReadOnlyList<Registration> ways = ClothRegistration.Find(cloth.Known, cloth.Seen).Possible();
        Assert.True(ways.Count > 1);
        Assert.Single(ways, cloth.IsAt);
    }

    [Fact]
    public void Fabrics_settle_what_equal_blocks_leave_open()
    {
        AdvancedCloth cloth = new(Small, 5);
        Registration truth = ClothRegistration.Find(cloth.Known, cloth.Seen).Possible().Single(cloth.IsAt);
        Random random = new(8);
        List<ClothColor<ClothSpace>> before = [];
        List<ClothColor<SeenSpace>> now = [];
        for (int i = 0; i < 16 * 9; i++)
        {
            Point<ClothSpace> at = new(2 + 4 * (i % 12), 2 + 4 * (i / 12));
            (double l, double a, double b) = (
                20 + 60 * random.NextDouble(),
                40 * random.NextDouble(),
                40 * random.NextDouble()
            );
            before.Add(new(at, l, a, b));

            // Another light: darker, warmer, and a little noise.
            Point<SeenSpace> there = truth.SeenFromKnown.Apply(at);
            if (cloth.Seen.Area.Holds(there))
            {
                now.Add(new(there, 0.8 * l + 3 * random.NextDouble(), 0.9 * a + 4, b + 3 * random.NextDouble()));
            }
        }

        Registration way = Assert.Single(
            ClothRegistration.Find(cloth.Known with { Colors = before }, cloth.Seen with { Colors = now }).Possible()
        );
        Assert.True(cloth.IsAt(way));
    }

    [Fact]
    public void Another_quilt_fits_nowhere()
    {
        AdvancedCloth one = new(Small with { Patterns = ["ohio-star"] }, 3);
        AdvancedCloth other = new(Small with { Patterns = ["sawtooth-star"] }, 4);
        Assert.Empty(ClothRegistration.Find(one.Known, other.Seen).Possible());
    }

    [Fact]
    public void A_mirrored_photograph_is_noticed_where_the_quilt_is_not_its_own_mirror_image()
    {
        AdvancedCloth cloth = new(Unequal, 2);
        Assert.True(ClothRegistration.Find(cloth.Known, cloth.Seen.Mirrored()).IsMirrored);
    }

    [Fact]
    public void The_stretch_is_said_each_way_and_a_rigid_move_needs_none()
    {
        AdvancedCloth drawn = new(Unequal, 1);
        Registration way = ClothRegistration.Find(drawn.Known, drawn.Seen).Possible().Single();
        Assert.InRange(way.Motion.Across, -4.6, -1.4);
        Assert.InRange(way.Motion.Down, -4.6, -1.4);
        Assert.Equal(3, Math.Abs(way.Motion.Turn), 0);
        Assert.NotEqual(StretchOrder.Similarity, way.SeenFromKnown.Order);

        AdvancedCloth still = new(Unequal with { DrawUp = 0 }, 1);
        Registration rigid = ClothRegistration.Find(still.Known, still.Seen).Possible().Single();
        Assert.Equal(StretchOrder.Similarity, rigid.SeenFromKnown.Order);
        Assert.Equal(0, rigid.Motion.Across, 1);
    }
}
