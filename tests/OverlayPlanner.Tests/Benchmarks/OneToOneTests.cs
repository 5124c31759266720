using Google.OrTools.Graph;
using OverlayPlanner.Benchmarks.Detection;

namespace OverlayPlanner.Tests.Benchmarks;

/// <summary>The matching metric against an independent implementation, and against trying everything.</summary>
public sealed class OneToOneTests
{
    public static TheoryData<int, int, int, double> Cases =>
        new()
        {
            { 1, 5, 5, 9 },
            { 2, 8, 6, 9 },
            { 3, 12, 15, 7 },
            { 4, 20, 20, 6 },
            { 5, 30, 25, 5 },
            { 6, 40, 40, 5 },
            { 7, 60, 50, 4 },
            { 8, 80, 80, 3.5 },
        };

    // The linear sum assignment of Google OR-Tools (cost scaling, A. Goldberg and R. Kennedy, 1995): a pair within the tolerance
    // costs nothing, any other costs one, so that the least cost leaves the most pairs.
    [Theory]
    [MemberData(nameof(Cases))]
    public void As_many_pairs_are_matched_as_the_assignment_solver_of_OrTools_matches(
        int seed,
        int found,
        int truth,
        double tolerance
    )
    {
        ((int X, int Y)[] f, (int X, int Y)[] t) = Points(seed, found, truth);
        int side = Math.Max(found, truth);
        LinearSumAssignment solver = new();
        for (int i = 0; i < side; i++)
        {
            for (int j = 0; j < side; j++)
            {
                bool near = i < found && j < truth && Distance(f[i], t[j]) <= tolerance;
                solver.AddArcWithCost(i, j, near ? 0 : 1);
            }
        }

        Assert.Equal(LinearSumAssignment.Status.OPTIMAL, solver.Solve());
        int most = side - (int)solver.OptimalCost();

        int[] matches = OneToOne.Match(found, truth, (i, j) => Distance(f[i], t[j]), tolerance);

        Assert.Equal(most, matches.Count(m => m >= 0));
        Assert.All(
            matches.Index().Where(m => m.Item >= 0),
            m => Assert.True(Distance(f[m.Index], t[m.Item]) <= tolerance)
        );
        Assert.Equal(matches.Count(m => m >= 0), matches.Where(m => m >= 0).Distinct().Count());
    }

    [Fact]
    public void As_many_pairs_are_matched_as_trying_everything_finds()
    {
        for (int seed = 100; seed < 160; seed++)
        {
            const double Tolerance = 14;
            ((int X, int Y)[] f, (int X, int Y)[] t) = Points(seed, 6, 6);

            int[] matches = OneToOne.Match(6, 6, (i, j) => Distance(f[i], t[j]), Tolerance);

            Assert.Equal(Most(f, t, Tolerance, 0, 0), matches.Count(m => m >= 0));
        }
    }

    [Fact]
    public void Nearest_first_alone_would_leave_a_pair_out()
    {
        // Found at 0 and 3, true at 2 and 6 on a line, tolerance 3: nearest first takes 3–2 and leaves 0 and 6, which are too far.
        double[] found = [0, 3];
        double[] truth = [2, 6];

        Assert.Equal([0, 1], OneToOne.Match(2, 2, (f, t) => Math.Abs(found[f] - truth[t]), 3));
    }

    [Fact]
    public void Two_finds_at_one_true_point_are_one_hit_and_one_false_find()
    {
        int[] matches = OneToOne.Match(2, 1, (f, _) => 0.01 * f, 0.125);

        Assert.Equal([0, -1], matches);
    }

    // F1 = 2 hits ÷ (2 hits + missed + false): C. van Rijsbergen, "Information retrieval", 1979, chapter 7.
    [Fact]
    public void F1_is_the_harmonic_mean_of_precision_and_recall()
    {
        Tally tally = new(8, 2, 4);
        (double precision, double recall) = (8.0 / 12, 8.0 / 10);

        Assert.Equal(2 * precision * recall / (precision + recall), tally.F1, 12);
        Assert.Equal(1, default(Tally).F1);
    }

    // A linear congruential generator (the C standard's example), so that the cases are the same everywhere; 49 steps of 1/8.
    private static ((int, int)[] Found, (int, int)[] Truth) Points(int seed, int found, int truth)
    {
        long state = seed;
        return (
            [.. Enumerable.Range(0, found).Select(_ => (Next(), Next()))],
            [.. Enumerable.Range(0, truth).Select(_ => (Next(), Next()))]
        );

        int Next()
        {
            state = (state * 1103515245 + 12345) % (1L << 31);
            return (int)((state >> 16) % 49);
        }
    }

    private static double Distance((int X, int Y) a, (int X, int Y) b) =>
        Math.Sqrt((a.X - b.X) * (a.X - b.X) + (a.Y - b.Y) * (a.Y - b.Y));

    private static int Most((int X, int Y)[] f, (int X, int Y)[] t, double tolerance, int next, int taken)
    {
        if (next == f.Length)
        {
            return 0;
        }

        int best = Most(f, t, tolerance, next + 1, taken);
        for (int j = 0; j < t.Length; j++)
        {
            if ((taken & (1 << j)) == 0 && Distance(f[next], t[j]) <= tolerance)
            {
                best = Math.Max(best, 1 + Most(f, t, tolerance, next + 1, taken | (1 << j)));
            }
        }

        return best;
    }
}
