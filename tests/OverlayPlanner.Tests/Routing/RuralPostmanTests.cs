using CsCheck;
using OverlayPlanner.Geometry;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Tests.Routing;

public class RuralPostmanTests
{
    private static readonly TimeSpan Ample = TimeSpan.FromSeconds(30);

    [Fact]
    public void The_walk_and_its_bound_equal_an_exhaustive_search_on_small_graphs() =>
        Property.ForAll(
            Gen.Int[0, 1_000_000],
            seed =>
            {
                (int n, RuralLine[] lines) = RandomProblem(seed);
                RuralWalk walk = RuralPostman.Solve(n, lines, Ample, TestContext.Current.CancellationToken);
                double least = LeastByTrying(n, lines);
                Assert.Equal(least, walk.Cost, 1e-6);
                Assert.Equal(least, walk.Bound, 1e-6);
                Assert.Equal(0, walk.Gap, 1e-9);
                AssertClosedAndWhole(lines, walk);
            },
            count: 150
        );

    [Fact]
    public void Two_separate_squares_are_joined_there_and_back()
    {
        // Two unit squares, 3 apart at their nearest corners and 5 at the others: 8 round both, and 3 there and back.
        List<RuralLine> lines = [];
        for (int i = 0; i < 4; i++)
        {
            lines.Add(new(i, (i + 1) % 4, 1, true));
            lines.Add(new(4 + i, 4 + (i + 1) % 4, 1, true));
        }

        lines.Add(new(1, 4, 3, false));
        lines.Add(new(0, 5, 5, false));
        RuralWalk walk = RuralPostman.Solve(8, lines, Ample, TestContext.Current.CancellationToken);
        Assert.Equal(14, walk.Cost);
        Assert.Equal(14, walk.Bound);
    }

    [Fact]
    public void Impossible_problems_are_refused()
    {
        CancellationToken cancellation = TestContext.Current.CancellationToken;
        Assert.Throws<InputException>(() => RuralPostman.Solve(2, [new(0, 1, 1, false)], Ample, cancellation));
        Assert.Throws<InputException>(() => RuralPostman.Solve(2, [new(0, 2, 1, true)], Ample, cancellation));
        Assert.Throws<InputException>(() => RuralPostman.Solve(2, [new(0, 1, -1, true)], Ample, cancellation));
        Assert.Throws<InputException>(() => RuralPostman.Solve(2, [new(0, 1, double.NaN, true)], Ample, cancellation));
        InputException apart = Assert.Throws<InputException>(() =>
            RuralPostman.Solve(4, [new(0, 1, 1, true), new(2, 3, 1, true)], Ample, cancellation)
        );
        Assert.Contains("reached", apart.Message, StringComparison.Ordinal);
    }

    // Up to seven junctions on a tree with some more lines; about half are required, so that they lie in pieces.
    private static (int, RuralLine[]) RandomProblem(int seed)
    {
        Random random = new(seed);
        int n = random.Next(3, 8);
        List<RuralLine> lines = [];
        for (int v = 1; v < n; v++)
        {
            lines.Add(new(random.Next(v), v, Cost(), random.Next(2) == 0));
        }

        for (int more = random.Next(4); more > 0; more--)
        {
            int a = random.Next(n);
            int b = (a + random.Next(1, n)) % n;
            lines.Add(new(a, b, Cost(), random.Next(2) == 0));
        }

        lines[0] = lines[0] with { IsRequired = true };
        return (n, [.. lines]);

        double Cost() => random.Next(1, 10) / (seed % 2 == 0 ? 1.0 : 4.0);
    }

    // Every line travelled up to twice more than it must be: even everywhere, and in one piece with all that is required.
    private static double LeastByTrying(int n, RuralLine[] lines)
    {
        int sets = (int)Math.Pow(3, lines.Length);
        double best = double.PositiveInfinity;
        for (int set = 0; set < sets; set++)
        {
            int[] degree = new int[n];
            int[] label = [.. Enumerable.Range(0, n)];
            bool[] met = new bool[n];
            double cost = 0;
            List<RuralLine> used = [];
            int code = set;
            foreach (RuralLine l in lines)
            {
                int times = code % 3 + (l.IsRequired ? 1 : 0);
                code /= 3;
                cost += times * l.Cost;
                degree[l.From] += times;
                degree[l.To] += times;
                if (times > 0)
                {
                    used.Add(l);
                    met[l.From] = met[l.To] = true;
                }
            }

            if (cost >= best || degree.Any(d => d % 2 == 1))
            {
                continue;
            }

            for (int round = 0; round < n; round++)
            {
                foreach (RuralLine l in used)
                {
                    label[l.From] = label[l.To] = Math.Min(label[l.From], label[l.To]);
                }
            }

            if (Enumerable.Range(0, n).Where(v => met[v]).Select(v => label[v]).Distinct().Count() == 1)
            {
                best = cost;
            }
        }

        return best;
    }

    private static void AssertClosedAndWhole(RuralLine[] lines, RuralWalk walk)
    {
        int[] from = [.. walk.Steps.Select(s => s.Forward ? lines[s.Line].From : lines[s.Line].To)];
        int[] to = [.. walk.Steps.Select(s => s.Forward ? lines[s.Line].To : lines[s.Line].From)];
        Assert.Equal(from.Skip(1).Append(from[0]), to);
        Assert.Equal(walk.Cost, walk.Steps.Sum(s => lines[s.Line].Cost), 1e-9);
        Assert.All(
            Enumerable.Range(0, lines.Length).Where(e => lines[e].IsRequired),
            e => Assert.Contains(walk.Steps, s => s.Line == e)
        );
    }
}
