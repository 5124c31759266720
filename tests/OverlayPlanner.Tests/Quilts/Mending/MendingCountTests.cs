using OverlayPlanner.Benchmarks.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Tests.Quilts.Mending;

public class MendingCountTests
{
    private static QuiltMap Draft(string pattern) =>
        BlockDrafting.Draft(BlockLibrary.Find(pattern), Length.FromInches(12), 2, 2, Length.Zero);

    [Theory]
    [InlineData("ohio-star")]
    [InlineData("churn-dash")]
    [InlineData("drunkards-path")]
    public void A_map_that_is_right_needs_nothing(string pattern)
    {
        MendingCount count = MendingCount.Of(Draft(pattern), Draft(pattern));
        Assert.Empty(count.Edits);
        Assert.True(count.IsEqual);
    }

    [Theory]
    [InlineData("ohio-star", 1)]
    [InlineData("ohio-star", 2)]
    [InlineData("churn-dash", 3)]
    [InlineData("sawtooth-star", 4)]
    [InlineData("drunkards-path", 5)]
    [InlineData("log-cabin", 6)]
    public void A_spoilt_map_is_mended_and_each_fault_costs_about_one_edit(string pattern, int seed)
    {
        // Twelve faults as a finder makes them: seams missed, seams that are none, points that lie off.
        QuiltMap truth = Draft(pattern);
        Random random = new(seed);
        QuiltMap found = truth;
        int faults = 0;
        while (faults < 12)
        {
            Seam s = found.Seams[random.Next(found.Seams.Count)];
            Junction j = found.Junctions[random.Next(found.Junctions.Count)];
            Junction k = found.Junctions[random.Next(found.Junctions.Count)];
            MapEdit fault = random.Next(3) switch
            {
                0 => new RemoveSeam(new(s.Id)),
                1 => new AddSeam(j.Place, k.Place),
                _ => new MovePoint(new(j.Id), j.Place + new Vector<ClothSpace>(0.3, -0.25)),
            };
            try
            {
                found = fault is AddSeam && j.Place.DistanceTo(k.Place) > 5 ? found : Mender.Apply(found, fault).Map;
                faults++;
            }
            catch (InputException)
            {
                // This fault can't be made here.
            }
        }

        MendingCount count = MendingCount.Of(found, truth);
        Assert.True(count.IsEqual, string.Join(", ", count.ByKind));
        Assert.InRange(count.Edits.Count, 1, 60);
    }
}
