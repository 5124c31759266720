using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// A mapped block whose cloth then drew up by 1 %, not alike in all places and directions, and rose by 1/2 in as the roll grew,
/// more at the roll: where its points lie on the cloth, and where the projector, calibrated before, must light to meet them.
/// </summary>
internal sealed class DrawnUpBlock
{
    private const double Side = 12;
    private const double DrawUp = 0.01;
    private const double Rise = 0.5;
    private static readonly string[] Patterns = ["ohio-star", "sawtooth-star", "churn-dash", "card-trick", "snowball"];

    public DrawnUpBlock(int seed)
    {
        Random random = new(seed);
        double Even(double most) => most * (2 * random.NextDouble() - 1);
        QuiltMap block = BlockDrafting.Draft(
            BlockLibrary.Find(Patterns[random.Next(Patterns.Length)]),
            Length.FromInches(Side),
            1,
            1,
            Length.Zero
        );

        // Piecing wanders, and the map errs: both are in the known shape; only the piecing is on the cloth.
        Point<ClothSpace>[] sewn = [.. block.Junctions.Select(j => Near(j.Place, random, 0.04))];
        Points = [.. sewn.Select(p => Near(p, random, 0.012))];
        int[] corners = [.. block.Blocks[0].Corners.Select(c => IndexOf(block, c))];
        CornerIndices = corners;

        // Across and down draw up differently, and along a wave of 10 to 30 in some more; the block leans.
        (double across, double down) = (1 - DrawUp + Even(0.006), 1 - DrawUp + Even(0.006));
        double lean = Even(0.006);
        double wave = 2 * Math.PI / (10 + 20 * random.NextDouble());
        (double px, double py) = (Math.PI * Even(1), Math.PI * Even(1));
        const double uneven = 0.005;
        OnCloth =
        [
            .. sewn.Select(p => new Point<ClothSpace>(
                across * p.X + lean * p.Y + uneven / wave * Math.Sin(wave * p.X + px) * Math.Cos(wave * p.Y / 2 + py),
                down * p.Y + uneven / wave * Math.Sin(wave * p.Y + py)
            )),
        ];

        // The lamp 5 ft above, up to 15 in beside the block's middle; the roll at the block's lower side lifts it there.
        (double lx, double ly, double lz) = (6 + Even(15), 6 + Even(15), 60.0);
        double tilt = Rise / 24 * random.NextDouble();
        InLight =
        [
            .. OnCloth.Select(p =>
            {
                double z = Rise + tilt * (p.Y - 6);
                double t = lz / (lz - z);
                return new Point<ClothSpace>(lx + t * (p.X - lx), ly + t * (p.Y - ly));
            }),
        ];
    }

    /// <summary>The block's points as mapped.</summary>
    public Point<ClothSpace>[] Points { get; }

    /// <summary>The same on the cloth now, measured along it.</summary>
    public Point<ClothSpace>[] OnCloth { get; }

    /// <summary>The same as the projector, calibrated before, must draw them.</summary>
    public Point<ClothSpace>[] InLight { get; }

    /// <summary>Which of the points are the corners, clockwise from the top left.</summary>
    public int[] CornerIndices { get; }

    public Point<ClothSpace>[] CornersOf(Point<ClothSpace>[] points) => [.. CornerIndices.Select(i => points[i])];

    private static int IndexOf(QuiltMap block, Point<ClothSpace> at) =>
        Enumerable.Range(0, block.Junctions.Count).MinBy(i => block.Junctions[i].Place.DistanceTo(at));

    private static Point<ClothSpace> Near(Point<ClothSpace> p, Random random, double sigma) =>
        new(p.X + sigma * CardLayouts.Normal(random), p.Y + sigma * CardLayouts.Normal(random));
}
