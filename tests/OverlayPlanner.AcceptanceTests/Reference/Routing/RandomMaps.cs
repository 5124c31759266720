using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.AcceptanceTests.Reference.Routing;

/// <summary>Random plane graphs as quilt maps.</summary>
internal static class RandomMaps
{
    /// <summary>
    /// A jittered lattice, two to <paramref name="most"/> points each way, with a share of its sides and of one diagonal in each
    /// cell; some sides are bent.
    /// </summary>
    public static QuiltMap Lattice(Random random, int most, double share)
    {
        int columns = random.Next(2, most + 1);
        int rows = random.Next(2, most + 1);
        Junction[] junctions =
        [
            .. Enumerable
                .Range(0, rows * columns)
                .Select(i => new Junction(
                    "j" + i.ToString(CultureInfo.InvariantCulture),
                    Estimate<Point<ClothSpace>>.Exact(
                        new(2 * (i % columns + 0.5) + Jitter(), 2 * (i / columns + 0.5) + Jitter())
                    )
                )),
        ];
        List<Seam> seams = [new("s0", "j0", "j1")];
        for (int v = 0; v < junctions.Length; v++)
        {
            bool right = v % columns + 1 < columns;
            bool down = v / columns + 1 < rows;
            Add(right && v > 0, v, v + 1, 0.15);
            Add(down, v, v + columns, 0.15);
            Add(right && down, v, v + columns + 1, 0);
        }

        return new(Length.FromInches(2 * columns), Length.FromInches(2 * rows), junctions, seams);

        double Jitter() => 0.5 * (random.NextDouble() - 0.5);

        void Add(bool fits, int a, int b, double bend)
        {
            if (fits && random.NextDouble() < share)
            {
                double bulge = random.Next(3) == 0 ? bend * (2 * random.NextDouble() - 1) : 0;
                string id = "s" + seams.Count.ToString(CultureInfo.InvariantCulture);
                seams.Add(new(id, junctions[a].Id, junctions[b].Id, bulge));
            }
        }
    }
}
