using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Routing;

/// <summary>Random plane graphs as quilt maps, and checks of routes that share no code with the planner.</summary>
internal static class PlaneGraphs
{
    /// <summary>
    /// A jittered lattice with some of its sides and diagonals, some of them bent: every line from corner to corner of a cell,
    /// so that none cross.
    /// </summary>
    public static QuiltMap Random(int seed, int most = 7)
    {
        Random random = new(seed);
        int columns = random.Next(2, most);
        int rows = random.Next(2, most);
        double share = 0.4 + 0.6 * random.NextDouble();
        List<Junction> junctions = [];
        for (int r = 0; r < rows; r++)
        {
            for (int c = 0; c < columns; c++)
            {
                double x = 2 * (c + 0.5) + 0.5 * (random.NextDouble() - 0.5);
                double y = 2 * (r + 0.5) + 0.5 * (random.NextDouble() - 0.5);
                junctions.Add(new($"j{junctions.Count}", Estimate<Point<ClothSpace>>.Exact(new(x, y))));
            }
        }

        List<Seam> seams = [];
        for (int r = 0; r < rows; r++)
        {
            for (int c = 0; c < columns; c++)
            {
                int v = r * columns + c;
                if (c + 1 < columns)
                {
                    Add(v, v + 1, 0.15);
                }

                if (r + 1 < rows)
                {
                    Add(v, v + columns, 0.15);
                }

                if (c + 1 < columns && r + 1 < rows)
                {
                    bool falling = random.Next(2) == 0;
                    Add(falling ? v : v + 1, falling ? v + columns + 1 : v + columns, 0.05);
                }
            }
        }

        if (seams.Count == 0)
        {
            seams.Add(new("s0", "j0", "j1"));
        }

        return new(Length.FromInches(2 * columns), Length.FromInches(2 * rows), junctions, seams);

        void Add(int a, int b, double bend)
        {
            if (random.NextDouble() < share)
            {
                double bulge = random.Next(3) == 0 ? bend * (2 * random.NextDouble() - 1) : 0;
                seams.Add(
                    new(
                        "s" + seams.Count.ToString(CultureInfo.InvariantCulture),
                        junctions[a].Id,
                        junctions[b].Id,
                        bulge
                    )
                );
            }
        }
    }

    /// <summary>
    /// Crossings counted by brute force: at points by where each line is a ten-thousandth of its length away from the point,
    /// elsewhere by flattening every pair of lines. Passes that go back over a line are left out, as the contract says.
    /// </summary>
    public static int CountCrossings(RouteCandidate candidate)
    {
        int count = 0;
        List<(Point<ClothSpace> At, double A, double B)> passes = [];
        List<Move> lines = [];
        foreach (Run run in candidate.Runs)
        {
            for (int i = 0; i < run.Moves.Count; i++)
            {
                if (run.Moves[i].Kind != MoveKind.Retrace)
                {
                    lines.Add(run.Moves[i]);
                }

                if (i > 0 && run.Moves[i].Kind != MoveKind.Retrace && run.Moves[i - 1].Kind != MoveKind.Retrace)
                {
                    passes.Add(
                        (run.Moves[i].Path.From, AngleOf(run.Moves[i - 1].Path.Reversed), AngleOf(run.Moves[i].Path))
                    );
                }
            }
        }

        foreach (
            IGrouping<Point<ClothSpace>, (Point<ClothSpace> At, double A, double B)> here in passes.GroupBy(p => p.At)
        )
        {
            (Point<ClothSpace> At, double A, double B)[] all = [.. here];
            for (int i = 0; i < all.Length; i++)
            {
                for (int k = i + 1; k < all.Length; k++)
                {
                    bool c = IsBetween(all[k].A, all[i].A, all[i].B);
                    bool d = IsBetween(all[k].B, all[i].A, all[i].B);
                    count += c != d ? 1 : 0;
                }
            }
        }

        for (int i = 0; i < lines.Count; i++)
        {
            for (int k = i + 1; k < lines.Count; k++)
            {
                count += CutEachOther(lines[i].Path, lines[k].Path) ? 1 : 0;
            }
        }

        return count;

        static double AngleOf(Edge<ClothSpace> e)
        {
            Vector<ClothSpace> v = e.PointAt(1e-3) - e.From;
            return Math.Atan2(v.Y, v.X);
        }

        static bool IsBetween(double x, double a, double b) => x > Math.Min(a, b) && x < Math.Max(a, b);
    }

    /// <summary>Every move begins where the last one of its run ended.</summary>
    public static void AssertChained(RouteCandidate candidate)
    {
        foreach (Run run in candidate.Runs)
        {
            Assert.NotEmpty(run.Moves);
            for (int i = 1; i < run.Moves.Count; i++)
            {
                Assert.Equal(run.Moves[i - 1].Path.To, run.Moves[i].Path.From);
            }
        }
    }

    /// <summary>Every seam asked for is stitched exactly once, apart from backtracking, over the whole of it.</summary>
    public static void AssertEverySeamOnce(QuiltMap map, RouteCandidate candidate, Func<Seam, bool>? asked = null)
    {
        ILookup<string, Move> first = candidate
            .AllMoves.Where(m => m.Seam is not null && m.Kind != MoveKind.Retrace)
            .ToLookup(m => m.Seam!);
        foreach (Seam s in map.Seams)
        {
            if (asked?.Invoke(s) == false)
            {
                Assert.Empty(first[s.Id]);
                continue;
            }

            Move move = Assert.Single(first[s.Id]);
            Edge<ClothSpace> path = map.EdgeOf(s);
            Assert.True(
                move.Path == path || move.Path == path.Reversed,
                $"seam {s.Id} is not stitched over the whole of it"
            );
        }
    }

    private static bool CutEachOther(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        if (!a.Bounds().Meets(b.Bounds()))
        {
            return false;
        }

        IReadOnlyList<Point<ClothSpace>> p = a.Flatten(1e-4);
        IReadOnlyList<Point<ClothSpace>> q = b.Flatten(1e-4);
        for (int i = 1; i < p.Count; i++)
        {
            for (int k = 1; k < q.Count; k++)
            {
                if (!Box<ClothSpace>.Around(p[i - 1], p[i]).Meets(Box<ClothSpace>.Around(q[k - 1], q[k])))
                {
                    continue;
                }

                double d1 = Side(p[i - 1], p[i], q[k - 1]);
                double d2 = Side(p[i - 1], p[i], q[k]);
                double d3 = Side(q[k - 1], q[k], p[i - 1]);
                double d4 = Side(q[k - 1], q[k], p[i]);
                if (d1 * d2 < -1e-12 && d3 * d4 < -1e-12)
                {
                    return true;
                }
            }
        }

        return false;

        static double Side(Point<ClothSpace> s, Point<ClothSpace> t, Point<ClothSpace> x) => (t - s).Cross(x - s);
    }
}
