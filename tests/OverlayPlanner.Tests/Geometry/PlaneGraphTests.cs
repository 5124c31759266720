using OverlayPlanner.Geometry;

namespace OverlayPlanner.Tests.Geometry;

public class PlaneGraphTests
{
    // A square with its centre joined to the corners; node 4 is the centre.
    private static readonly PlaneGraph<ClothSpace> Hourglass = new(
        [new(0, 0), new(4, 0), new(4, 4), new(0, 4), new(2, 2)],
        [(0, 1, 0), (1, 2, 0), (2, 3, 0), (3, 0, 0), (0, 4, 0), (1, 4, 0), (2, 4, 0), (3, 4, 0)]
    );

    [Fact]
    public void Round_a_node_half_edges_run_anticlockwise_as_seen()
    {
        // From the centre: up right is corner 1, then up left 0, down left 3, down right 2.
        Assert.Equal([1, 0, 3, 2], Hourglass.Around(4).Select(h => Hourglass.NodeOf(h ^ 1)));
        for (int h = 0; h < 2 * Hourglass.EdgeCount; h++)
        {
            Assert.Equal(h, Hourglass.Around(Hourglass.NodeOf(h))[Hourglass.PlaceOf(h)]);
            Assert.Equal(Hourglass.Nodes[Hourglass.NodeOf(h)], Hourglass.Along(h).From);
        }
    }

    [Fact]
    public void The_next_half_edge_keeps_the_face_on_the_left()
    {
        // Along the top from left to right the upper face is the outside; the left turn at the corner leads out, so the way
        // round goes on down the right side. From right to left the face is the upper triangle: corner 0, centre, corner 1.
        Assert.Equal(2, Hourglass.NextRoundLeftFace(0));
        Assert.Equal(8, Hourglass.NextRoundLeftFace(1));
        Assert.Equal(11, Hourglass.NextRoundLeftFace(8));
        Assert.Equal(1, Hourglass.NextRoundLeftFace(11));
        Assert.Equal([-16, 4, 4, 4, 4], Hourglass.FindFaces().Select(Hourglass.SignedArea).Order());
    }

    [Fact]
    public void A_half_circle_adds_or_takes_away_half_a_disc()
    {
        // One inch square of area 4 whose top side bows out; then in. A half disc of radius 1 is π / 2.
        foreach (double bulge in new[] { 1.0, -1.0 })
        {
            PlaneGraph<ClothSpace> graph = new(
                [new(0, 0), new(2, 0), new(2, 2), new(0, 2)],
                [(0, 1, bulge), (1, 2, 0), (2, 3, 0), (3, 0, 0)]
            );
            double inner = graph.FindFaces().Select(graph.SignedArea).Max();
            Assert.Equal(4 + (bulge * Math.PI / 2), inner, 1e-14);
        }
    }

    [Fact]
    public void The_sliver_between_a_line_and_a_nearly_straight_arc_has_its_area()
    {
        // Two thirds of chord × sagitta for a flat arc: (2/3) × 8 × (8 b / 2).
        const double b = 1e-9;
        PlaneGraph<ClothSpace> graph = new([new(0, 0), new(8, 0)], [(0, 1, b), (0, 1, 0)]);
        double area = graph.FindFaces().Select(graph.SignedArea).Max();
        Assert.Equal(1, area / (2.0 / 3 * 8 * 8 * b / 2), 1e-6);
    }

    public static TheoryData<int, bool> Seeds()
    {
        TheoryData<int, bool> data = [];
        for (int seed = 1; seed <= 12; seed++)
        {
            data.Add(seed, seed % 2 == 0);
        }

        return data;
    }

    [Theory]
    [MemberData(nameof(Seeds))]
    public void Random_plane_graphs_obey_Euler_and_their_faces_fill_their_outlines(int seed, bool arcs)
    {
        PlaneGraph<ClothSpace> graph = RandomPlane.Make(new Random(seed), 9, 7, 0.7, arcs);

        Assert.Empty(graph.FindConflicts());
        IReadOnlyList<IReadOnlyList<int>> faces = graph.FindFaces();
        int[] piece = graph.FindPieces(out int pieces);
        int nodes = piece.Count(p => p >= 0);

        // Euler, with one outer ring for each piece: V − E + F = 2 C.
        Assert.Equal(2 * pieces, nodes - graph.EdgeCount + faces.Count);
        Assert.Equal(2 * graph.EdgeCount, faces.Sum(f => f.Count));
        Assert.Equal(2 * graph.EdgeCount, faces.SelectMany(f => f).Distinct().Count());
        for (int c = 0; c < pieces; c++)
        {
            double[] areas = [.. faces.Where(f => piece[graph.NodeOf(f[0])] == c).Select(graph.SignedArea).Order()];
            Assert.Equal(0, areas.Sum(), 1e-9);
            Assert.True(areas[0] <= 1e-9);
            Assert.All(areas.Skip(1), a => Assert.True(a > 1e-9));
        }
    }

    [Fact]
    public void Copies_of_an_edge_keep_the_graph_plane()
    {
        // Every line of the hourglass twice more, once in each direction: each extra copy adds one face of no area.
        List<(int, int, double)> lines = [];
        for (int e = 0; e < Hourglass.EdgeCount; e++)
        {
            (int a, int b) = (Hourglass.NodeOf(2 * e), Hourglass.NodeOf((2 * e) + 1));
            lines.AddRange([(a, b, 0), (b, a, 0), (a, b, 0)]);
        }

        PlaneGraph<ClothSpace> graph = new(Hourglass.Nodes, lines);
        Assert.Equal(2, 5 - graph.EdgeCount + graph.FindFaces().Count);
        Assert.Equal([-16, 4, 4, 4, 4], graph.FindFaces().Select(graph.SignedArea).Where(a => a != 0).Order());
    }

    [Theory]
    [InlineData(0.41421356237309503)] // tan 22.5° to the nearest double, and its neighbours
    [InlineData(0.41421356237309509)]
    [InlineData(0.41421356237309498)]
    [InlineData(0.4142)] // as a file with four places has it: the tangent is off by 3e-5 rad, inwards
    [InlineData(0.4143)] // by 1.7e-4 rad, outwards
    public void An_arc_drafted_tangent_to_a_side_stays_on_its_own_side_of_it(double bulge)
    {
        // A quarter circle about the top left corner of a square, from the top right corner to the bottom left one, bowing
        // to the bottom right corner: it leaves the top right corner along the right side. Rounding turns it to either side.
        PlaneGraph<ClothSpace> graph = new(
            [new(0, 0), new(4, 0), new(4, 4), new(0, 4)],
            [(0, 1, 0), (1, 2, 0), (2, 3, 0), (3, 0, 0), (1, 3, -bulge), (1, 3, bulge)]
        );

        Assert.Equal(2, 4 - graph.EdgeCount + graph.FindFaces().Count);

        // The petal between two quarter circles of radius 4 is 2 (4π − 8); the two corners share the rest of the 16.
        double petal = 8 * (Math.PI - 2);
        double[] areas = [.. graph.FindFaces().Select(graph.SignedArea).Order()];
        Assert.Equal([-16, (16 - petal) / 2, (16 - petal) / 2, petal], areas, (a, b) => Math.Abs(a - b) < 0.01);
    }

    [Fact]
    public void Conflicts_are_those_that_every_pair_compared_gives()
    {
        Random random = new(11);
        List<Point<ClothSpace>> nodes = [];
        List<(int, int, double)> lines = [];
        for (int i = 0; i < 120; i++)
        {
            nodes.Add(new(random.Next(0, 25), random.Next(0, 25)));
            Point<ClothSpace> p = nodes[^1];
            nodes.Add(new(p.X + random.Next(1, 6), p.Y + random.Next(-5, 6)));
            double bulge = random.Next(3) == 0 ? random.Next(-4, 5) / 2.0 : 0;
            lines.Add((2 * i, (2 * i) + 1, bulge));
        }

        PlaneGraph<ClothSpace> graph = new(nodes, lines);
        List<(int, int, EdgeRelation)> expected = [];
        for (int a = 0; a < graph.EdgeCount; a++)
        {
            for (int b = a + 1; b < graph.EdgeCount; b++)
            {
                EdgeRelation relation = Reference.Relate(graph[a], graph[b]);
                if (relation is not (EdgeRelation.Apart or EdgeRelation.ShareEnd))
                {
                    expected.Add((a, b, relation));
                }
            }
        }

        Assert.Equal(expected, graph.FindConflicts());
        foreach (EdgeRelation kind in new[] { EdgeRelation.Cross, EdgeRelation.Touch, EdgeRelation.Overlap })
        {
            Assert.Contains(expected, c => c.Item3 == kind);
        }
    }
}

/// <summary>Random plane graphs: a disturbed grid of which a share of the edges is kept, some of them bent.</summary>
internal static class RandomPlane
{
    public static PlaneGraph<ClothSpace> Make(Random random, int columns, int rows, double keep, bool arcs)
    {
        List<Point<ClothSpace>> nodes = [];
        for (int y = 0; y <= rows; y++)
        {
            for (int x = 0; x <= columns; x++)
            {
                // Nodes move by at most 0.15 and bends rise by at most a tenth of a chord below 1.4: neighbours stay clear.
                nodes.Add(new(x + Stray(), y + Stray()));
            }
        }

        List<(int, int, double)> lines = [];
        for (int y = 0; y <= rows; y++)
        {
            for (int x = 0; x <= columns; x++)
            {
                int at = (y * (columns + 1)) + x;
                if (x < columns && random.NextDouble() < keep)
                {
                    lines.Add((at, at + 1, Bend()));
                }

                if (y < rows && random.NextDouble() < keep)
                {
                    lines.Add((at + columns + 1, at, Bend()));
                }
            }
        }

        return new(nodes, lines);

        double Stray() => (random.NextDouble() - 0.5) * 0.3;

        double Bend() => arcs && random.Next(2) == 0 ? (random.NextDouble() - 0.5) * 0.4 : 0;
    }
}
