using OverlayPlanner.Benchmarks.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.AcceptanceTests.Reference.Detection;

public sealed class OneToOneTests
{
    [Fact]
    public void Most_pairs_agree_with_trying_every_assignment()
    {
        // 200 small cases with a fixed seed; the other answer tries all partial assignments.
        Random random = new(20);
        for (int run = 0; run < 200; run++)
        {
            int found = random.Next(0, 6);
            int truth = random.Next(0, 6);
            double[,] distance = new double[Math.Max(found, 1), Math.Max(truth, 1)];
            for (int f = 0; f < found; f++)
            {
                for (int t = 0; t < truth; t++)
                {
                    distance[f, t] = random.NextDouble();
                }
            }

            int[] match = OneToOne.Match(found, truth, (f, t) => distance[f, t], 0.4);
            Assert.Equal(MostPairs(distance, found, truth, 0.4, 0, 0), match.Count(m => m >= 0));
            Assert.Distinct(match.Where(m => m >= 0));
            Assert.All(match.Index().Where(m => m.Item >= 0), m => Assert.True(distance[m.Index, m.Item] <= 0.4));
        }
    }

    [Fact]
    public void A_chain_that_greed_would_spoil_is_matched_whole()
    {
        // Found at 0 and 0.9; true at 1 and −1: the nearest pair (0.9, 1) is kept, and 0 still reaches −1.
        double[] found = [0, 0.9];
        double[] truth = [1, -1];
        int[] match = OneToOne.Match(2, 2, (f, t) => Math.Abs(found[f] - truth[t]), 1);
        Assert.Equal([1, 0], match);

        // Found at 0.6 and 1.4; true at 1 and 2: greed pairs (0.6, 1) or (1.4, 1); both must be matched.
        found = [0.6, 1.4];
        truth = [1, 2];
        match = OneToOne.Match(2, 2, (f, t) => Math.Abs(found[f] - truth[t]), 0.65);
        Assert.Equal([0, 1], match);
    }

    [Fact]
    public void F1_by_hand()
    {
        // 8 hits, 1 missed, 3 false: precision 8/11, recall 8/9, F1 = 16/20.
        Assert.Equal(0.8, new Tally(8, 1, 3).F1, 1e-12);
        Assert.Equal(1, new Tally(0, 0, 0).F1);
    }

    [Fact]
    public void A_map_agrees_wholly_with_itself_and_misses_what_was_taken_out()
    {
        QuiltMap truth = BlockDrafting.Draft(BlockLibrary.Find("shoofly"), Length.FromInches(12), 1, 1, Length.Zero);
        MapScore same = MapScore.Compare(truth, truth);
        Assert.Equal((1.0, 1.0, 1.0), (same.Points.F1, same.Seams.F1, same.Patches.F1));

        // Without one corner's diagonal: one piece is missed, and both its ends are still points where others meet.
        Seam diagonal = truth.Seams.First(s => Math.Abs(truth.EdgeOf(s).Chord - 4 * Math.Sqrt(2)) < 1e-6);
        QuiltMap cut = new(truth.Width, truth.Height, truth.Junctions, [.. truth.Seams.Where(s => s != diagonal)]);
        cut = cut.With(patches: PatchFinder.FindPatches(cut));
        MapScore less = MapScore.Compare(cut, truth);
        Assert.Equal(new Tally(same.Seams.Hits - 1, 1, 0), less.Seams);
        Assert.Equal(0, less.Points.Missed);

        // Two triangles became one square, which is neither of them.
        Assert.Equal(2, less.Patches.Missed);
        Assert.Equal(1, less.Patches.False);
    }

    private static int MostPairs(double[,] d, int found, int truth, double tolerance, int f, int used)
    {
        if (f == found)
        {
            return 0;
        }

        int best = MostPairs(d, found, truth, tolerance, f + 1, used);
        for (int t = 0; t < truth; t++)
        {
            if ((used & (1 << t)) == 0 && d[f, t] <= tolerance)
            {
                best = Math.Max(best, 1 + MostPairs(d, found, truth, tolerance, f + 1, used | (1 << t)));
            }
        }

        return best;
    }
}
