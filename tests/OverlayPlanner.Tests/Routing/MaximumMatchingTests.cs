using CsCheck;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Tests.Routing;

public class MaximumMatchingTests
{
    [Fact]
    public void The_matching_equals_an_exhaustive_search_on_small_graphs() =>
        Property.ForAll(
            Gen.Select(Gen.Int[0, 1_000_000], Gen.Bool),
            c =>
            {
                Random random = new(c.Item1);
                int n = random.Next(1, 9);
                MatchingEdge[] edges = RandomEdges(random, n, 0.6, 30);
                (int[] partner, _) = MaximumMatching.Find(n, edges, c.Item2, TestContext.Current.CancellationToken);
                (int pairs, long weight) = Value(partner, edges);
                (int bestPairs, long bestWeight) = Best(0, edges, c.Item2);
                Assert.Equal(bestWeight, weight);
                if (c.Item2)
                {
                    Assert.Equal(bestPairs, pairs);
                }
            },
            count: 3000
        );

    [Fact]
    public void The_certificate_proves_a_perfect_matching_of_larger_graphs() =>
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                Random random = new(seed);
                int n = 2 * random.Next(5, 60);

                // Few different weights make many ties and therefore many nested blossoms.
                MatchingEdge[] edges =
                [
                    .. RandomEdges(random, n, 0.15, random.Next(2, 9)),
                    .. Enumerable.Range(0, n / 2).Select(i => new MatchingEdge(2 * i, 2 * i + 1, 1)),
                ];
                (int[] partner, MatchingCertificate proof) = MaximumMatching.Find(
                    n,
                    edges,
                    true,
                    TestContext.Current.CancellationToken
                );
                Assert.All(partner, p => Assert.True(p >= 0));
                AssertProven(edges, partner, proof);
            },
            count: 300
        );

    [Fact]
    public void Two_thousand_points_are_matched_within_seconds()
    {
        Random random = new(3);
        (double X, double Y)[] points =
        [
            .. Enumerable.Range(0, 2000).Select(_ => (random.NextDouble(), random.NextDouble())),
        ];
        List<MatchingEdge> edges = [];
        for (int i = 0; i < points.Length; i++)
        {
            foreach (
                int k in Enumerable.Range(0, points.Length).Where(k => k != i).OrderBy(k => Distance(i, k)).Take(8)
            )
            {
                edges.Add(new(i, k, 1_000_000 - Distance(i, k)));
            }
        }

        (int[] partner, MatchingCertificate proof) = MaximumMatching.Find(
            points.Length,
            edges,
            true,
            TestContext.Current.CancellationToken
        );
        Assert.True(partner.Count(p => p >= 0) > 1900);
        if (partner.All(p => p >= 0))
        {
            AssertProven(edges, partner, proof);
        }

        long Distance(int i, int k) =>
            (long)(1e6 * Math.Sqrt(Math.Pow(points[i].X - points[k].X, 2) + Math.Pow(points[i].Y - points[k].Y, 2)));
    }

    // Complementary slackness (Edmonds 1965): no edge outweighs its prices, matched ones meet them, odd sets are full.
    private static void AssertProven(IReadOnlyList<MatchingEdge> edges, int[] partner, MatchingCertificate proof)
    {
        HashSet<int>[] members = [.. proof.OddSets.Select(s => s.Members.ToHashSet())];
        foreach (MatchingEdge e in edges)
        {
            long slack = proof.Prices[e.U] + proof.Prices[e.V] - 2 * e.Weight;
            for (int s = 0; s < members.Length; s++)
            {
                slack += members[s].Contains(e.U) && members[s].Contains(e.V) ? 2 * proof.OddSets[s].Price : 0;
            }

            Assert.True(slack >= 0, $"edge {e} outweighs its prices by {-slack}");
        }

        long dual = proof.Prices.Sum() + proof.OddSets.Sum(s => s.Price * (s.Members.Count - 1));
        Assert.All(proof.OddSets, s => Assert.True(s.Price >= 0 && s.Members.Count % 2 == 1));
        (_, long weight) = Value(partner, edges);
        Assert.Equal(2 * weight, dual);
    }

    private static MatchingEdge[] RandomEdges(Random random, int n, double share, int weights)
    {
        List<MatchingEdge> edges = [];
        for (int i = 0; i < n; i++)
        {
            for (int k = i + 1; k < n; k++)
            {
                if (random.NextDouble() < share)
                {
                    edges.Add(new(i, k, random.Next(1, weights + 1)));
                }
            }
        }

        return [.. edges];
    }

    private static (int Pairs, long Weight) Value(int[] partner, IReadOnlyList<MatchingEdge> edges)
    {
        int pairs = 0;
        long weight = 0;
        for (int v = 0; v < partner.Length; v++)
        {
            int w = partner[v];
            if (w < 0)
            {
                continue;
            }

            Assert.Equal(v, partner[w]);
            if (v < w)
            {
                pairs++;
                weight += edges.Where(e => (e.U == v && e.V == w) || (e.U == w && e.V == v)).Max(e => e.Weight);
            }
        }

        return (pairs, weight);
    }

    private static (int Pairs, long Weight) Best(int used, MatchingEdge[] edges, bool mostPairs)
    {
        (int Pairs, long Weight) best = (0, 0);
        foreach (MatchingEdge e in edges)
        {
            if ((used & (1 << e.U)) == 0 && (used & (1 << e.V)) == 0)
            {
                (int pairs, long weight) = Best(used | (1 << e.U) | (1 << e.V), edges, mostPairs);
                (int Pairs, long Weight) value = (pairs + 1, weight + e.Weight);
                bool better = mostPairs
                    ? value.Pairs > best.Pairs || (value.Pairs == best.Pairs && value.Weight > best.Weight)
                    : value.Weight > best.Weight;
                best = better ? value : best;
            }
        }

        return best;
    }
}
