using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Workflows;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>What a made advance is to be like.</summary>
internal sealed record AdvanceWishes
{
    /// <summary>Ids of blocks to draw from, at random for each cell; one for equal blocks.</summary>
    public IReadOnlyList<string> Patterns { get; init; } = ["sawtooth-star"];

    public int Columns { get; init; } = 7;
    public int Rows { get; init; } = 5;
    public double BlockInches { get; init; } = 12;

    /// <summary>Height of the band that shows, in.</summary>
    public double BandInches { get; init; } = 20;

    /// <summary>Mean draw-up, as a share; it differs from place to place by half as much either way.</summary>
    public double DrawUp { get; init; } = 0.03;

    public double TurnDegrees { get; init; } = 3;

    /// <summary>Standard deviation of a found point, one axis, in.</summary>
    public double NoiseInches { get; init; } = 0.015;

    /// <summary>Share of the points that are missed, and of points that are none, in the photograph.</summary>
    public double Mistaken { get; init; } = 0.1;
}

/// <summary>
/// A quilt with its points, then drawn up, turned and advanced: what is known, what a photograph of a band shows, and the truth.
/// The draw-up is a wave, not the polynomial that registration fits.
/// </summary>
internal sealed class AdvancedCloth
{
    private readonly Dictionary<int, int> knownOfSeen = [];

    public AdvancedCloth(AdvanceWishes wishes, int seed)
    {
        Random random = new(seed);
        (double w, double h) = (wishes.Columns * wishes.BlockInches, wishes.Rows * wishes.BlockInches);
        List<(Point<ClothSpace> At, List<double> Directions)> points = Points(wishes, random);
        Point<ClothSpace>[] sewn = [.. points.Select(p => Moved(p.At, random, 0.04))];
        List<ClothMark<ClothSpace>> known = [];
        List<int> knownPoints = [];
        for (int i = 0; i < points.Count; i++)
        {
            if (random.NextDouble() >= 0.03)
            {
                known.Add(
                    new(
                        Moved(sewn[i], random, wishes.NoiseInches),
                        Length.FromInches(wishes.NoiseInches),
                        points[i].Directions
                    )
                );
                knownPoints.Add(i);
            }
        }

        // The wave's length and place differ from case to case; its slope is the draw-up's unevenness.
        double wave = 2 * Math.PI / (w * (1.2 + random.NextDouble()));
        double phase = 2 * Math.PI * random.NextDouble();
        double uneven = wishes.DrawUp / 2;
        double turn = wishes.TurnDegrees * Math.PI / 180 * (random.Next(2) == 0 ? 1 : -1);
        double top = random.NextDouble() * (h - wishes.BandInches);
        (double sin, double cos) = Math.SinCos(turn);

        Point<SeenSpace> Now(Point<ClothSpace> p)
        {
            double x =
                (p.X - w / 2) * (1 - wishes.DrawUp)
                + uneven / wave * (Math.Sin(wave * p.X + phase) - Math.Sin(wave * w / 2 + phase)) * (1 - 0.3 * p.Y / h);
            double y = (p.Y - top) * (1 - wishes.DrawUp) + uneven / wave * 0.5 * Math.Cos(wave * p.X + phase);
            return new(cos * x - sin * y + w / 2, sin * x + cos * y + 1);
        }

        Box<SeenSpace> area = new(-1, 0, w + 1, wishes.BandInches);
        List<ClothMark<SeenSpace>> seen = [];
        Point<SeenSpace>[] truth = [.. sewn.Select(p => Moved(Now(p), random, 0.008))];
        for (int k = 0; k < known.Count; k++)
        {
            Truth.Add(truth[knownPoints[k]]);
        }

        Dictionary<int, int> knownOfPoint = knownPoints.Select((p, k) => (p, k)).ToDictionary(x => x.p, x => x.k);
        int visible = 0;
        for (int i = 0; i < points.Count; i++)
        {
            if (!area.Holds(truth[i]))
            {
                continue;
            }

            visible++;
            if (random.NextDouble() < wishes.Mistaken)
            {
                continue;
            }

            if (knownOfPoint.TryGetValue(i, out int k))
            {
                knownOfSeen[seen.Count] = k;
            }

            seen.Add(
                new(
                    Moved(truth[i], random, wishes.NoiseInches),
                    Length.FromInches(wishes.NoiseInches),
                    [.. points[i].Directions.Select(d => d + turn + 0.03 * CardLayouts.Normal(random))]
                )
            );
        }

        for (int i = 0; i < wishes.Mistaken * visible; i++)
        {
            double d = 2 * Math.PI * random.NextDouble();
            seen.Add(
                new(
                    new(area.Left + area.Width * random.NextDouble(), area.Height * random.NextDouble()),
                    Length.FromInches(wishes.NoiseInches),
                    [d, d + Math.PI, d + Math.PI / 2]
                )
            );
        }

        Known = new(known, new(0, 0, w, h))
        {
            Closed = ClosedSides.Left | ClosedSides.Right | ClosedSides.Top | ClosedSides.Bottom,
        };
        Seen = new(seen, area) { Closed = ClosedSides.Left | ClosedSides.Right };
        Middle = new(w / 2, top + wishes.BandInches / 2);
    }

    public ClothScene<ClothSpace> Known { get; }

    public ClothScene<SeenSpace> Seen { get; }

    /// <summary>Where each known mark truly lies now.</summary>
    public List<Point<SeenSpace>> Truth { get; } = [];

    /// <summary>About the band's middle on the known quilt.</summary>
    public Point<ClothSpace> Middle { get; }

    /// <summary>True where a registration lies in the right row and column.</summary>
    public bool IsAt(Registration way) => way.KnownFromSeen(Seen.Area.Center).DistanceTo(Middle) < 4;

    /// <summary>Matches of a registration that join what is not one point.</summary>
    public int Wrong(Registration way) =>
        way.Matches.Count(m => !(knownOfSeen.TryGetValue(m.Seen, out int k) && k == m.Known));

    /// <summary>Known marks that lie in the band.</summary>
    public IEnumerable<int> Visible => Enumerable.Range(0, Truth.Count).Where(k => Seen.Area.Holds(Truth[k]));

    private static List<(Point<ClothSpace> At, List<double> Directions)> Points(AdvanceWishes wishes, Random random)
    {
        List<(Point<ClothSpace> At, List<double> Directions)> points = [];
        for (int row = 0; row < wishes.Rows; row++)
        {
            for (int column = 0; column < wishes.Columns; column++)
            {
                QuiltMap block = BlockDrafting.Draft(
                    BlockLibrary.Find(wishes.Patterns[random.Next(wishes.Patterns.Count)]),
                    Length.FromInches(wishes.BlockInches),
                    1,
                    1,
                    Length.Zero
                );
                Vector<ClothSpace> by = new(column * wishes.BlockInches, row * wishes.BlockInches);
                foreach (ClothMark<ClothSpace> m in QuiltScene<ClothSpace>.Of(block).Scene.Marks)
                {
                    Point<ClothSpace> at = m.At + by;
                    int there = points.FindIndex(p => p.At.DistanceTo(at) < 1e-6);
                    if (there < 0)
                    {
                        points.Add((at, [.. m.Directions]));
                    }
                    else
                    {
                        points[there]
                            .Directions.AddRange(
                                m.Directions.Where(d =>
                                        !points[there]
                                            .Directions.Exists(o =>
                                                Math.Abs(Math.IEEERemainder(o - d, 2 * Math.PI)) < 0.01
                                            )
                                    )
                                    .ToArray()
                            );
                    }
                }
            }
        }

        return points;
    }

    private static Point<TSpace> Moved<TSpace>(Point<TSpace> p, Random random, double sigma)
        where TSpace : ISpace =>
        new(p.X + sigma * CardLayouts.Normal(random), p.Y + sigma * CardLayouts.Normal(random));
}
