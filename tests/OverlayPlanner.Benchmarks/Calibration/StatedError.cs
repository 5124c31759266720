using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Counts of how often the truth lay within the stated 95 % region, and the errors themselves.</summary>
internal sealed class ErrorTally
{
    // 95 % of a two-dimensional Gaussian lies within this squared Mahalanobis distance: −2 ln 0.05.
    private const double Region95 = 5.991464547;
    private const double Interval95 = 1.959963985;

    private int inRegion;
    private int inIntervals;
    private readonly List<double> errors = [];

    /// <summary>Points counted.</summary>
    public int Count => errors.Count;

    /// <summary>Share of the points whose error lies in its 95 % ellipse.</summary>
    public double Region => (double)inRegion / Count;

    /// <summary>Share of the coordinates whose error lies within 1.96 stated sigmas.</summary>
    public double Intervals => inIntervals / (2.0 * Count);

    /// <summary>Adds one point.</summary>
    public void Add(double ex, double ey, PositionCovariance c)
    {
        double det = c.Xx * c.Yy - c.Xy * c.Xy;
        double d = (c.Yy * ex * ex - 2 * c.Xy * ex * ey + c.Xx * ey * ey) / det;
        inRegion += d <= Region95 ? 1 : 0;
        double sigma = c.Sigma.Inches;
        inIntervals += Math.Abs(ex) <= Interval95 * sigma ? 1 : 0;
        inIntervals += Math.Abs(ey) <= Interval95 * sigma ? 1 : 0;
        errors.Add(Math.Sqrt(ex * ex + ey * ey));
    }

    /// <summary>Adds another tally's points.</summary>
    public void Add(ErrorTally other)
    {
        inRegion += other.inRegion;
        inIntervals += other.inIntervals;
        errors.AddRange(other.errors);
    }

    /// <summary>The error that a share of the points stays under, in.</summary>
    public double Quantile(double q)
    {
        double[] sorted = [.. errors.Order()];
        return sorted[Math.Min(sorted.Length - 1, (int)(q * sorted.Length))];
    }
}

/// <summary>How the scale of the print is known.</summary>
internal enum ScaleKnown
{
    /// <summary>Nobody measured.</summary>
    No,

    /// <summary>The long rulers on the page were measured.</summary>
    ByRuler,

    /// <summary>The two longest distances between cards were measured by tape.</summary>
    ByTape,
}

/// <summary>
/// The stated error against the truth: scenes drawn from the priors, noise on the corners, the plane solved each time, and the
/// map laid on the truth by shift and turn so that the cards' middles agree.
/// </summary>
internal static class StatedError
{
    /// <summary>Regions of the mapped area.</summary>
    public static readonly string[] Regions = ["centre", "edge", "corner"];

    /// <summary>Tallies by region over many solves; one point of each region a solve, so that the counts are independent.</summary>
    public static ErrorTally[] Run(
        CardLayout layout,
        int photos,
        int solves,
        bool withProfile,
        double sigmaPixels,
        int seed,
        ScaleKnown scale = ScaleKnown.No
    )
    {
        ErrorTally[][] each = new ErrorTally[solves][];
        Parallel.For(
            0,
            solves,
            i => each[i] = One(layout, photos, withProfile, sigmaPixels, new Random(seed + i), scale)
        );
        ErrorTally[] tallies = [new(), new(), new()];
        foreach (ErrorTally[] one in each)
        {
            for (int region = 0; region < 3; region++)
            {
                tallies[region].Add(one[region]);
            }
        }

        return tallies;
    }

    private static ErrorTally[] One(
        CardLayout layout,
        int photos,
        bool withProfile,
        double sigmaPixels,
        Random random,
        ScaleKnown scale
    )
    {
        ErrorTally[] tallies = [new(), new(), new()];
        CardTruth truth = CardLayouts.Draw(random, layout, photos, withProfile);
        IReadOnlyList<CardPhoto> seen = CardLayouts.Observe(truth, sigmaPixels, random);
        LensProfile? lens = withProfile ? CardLayouts.Nominal(truth.Width, truth.Height) : null;
        CardsPlane plane = PlaneFromCards.Solve(seen, Wishes(truth, scale, random) with { Lens = lens });
        Similarity<ClothSpace, ClothSpace> truthFromMap = Lay(truth, plane);
        (double left, double top, double w, double h) = truth.Area;
        for (int region = 0; region < 3; region++)
        {
            (double fx, double fy) = Draw(random, region);
            double x = left + fx * w;
            double y = top + fy * h;
            double lift = CardPriors.FlatnessInches * CardLayouts.Normal(random);
            int photo = -1;
            Point<PhotoSpace> at = default;
            PositionCovariance least = new(1e9, 0, 1e9);
            for (int p = 0; p < photos; p++)
            {
                Point<PhotoSpace>? q = truth.Project(p, x, y, lift);
                if (truth.Shows(q))
                {
                    Point<ClothSpace> there = plane.Planes[p].ClothFromPhoto.Apply(q!.Value);
                    PositionCovariance c = plane.CovarianceAt(p, there);
                    if (c.Xx + c.Yy < least.Xx + least.Yy)
                    {
                        (photo, at, least) = (p, q.Value, c);
                    }
                }
            }

            if (photo < 0)
            {
                continue;
            }

            Point<ClothSpace> map = plane.Planes[photo].ClothFromPhoto.Apply(at);
            Point<ClothSpace> laid = truthFromMap.Apply(map);

            // The error in the map's own axes.
            double c0 = truthFromMap.A;
            double s0 = truthFromMap.B;
            double dx = laid.X - x;
            double dy = laid.Y - y;
            tallies[region].Add(c0 * dx + s0 * dy, -s0 * dx + c0 * dy, least);
        }

        return tallies;
    }

    /// <summary>Shift and turn that lay the map's cards on the true ones.</summary>
    public static Similarity<ClothSpace, ClothSpace> Lay(CardTruth truth, CardsPlane plane)
    {
        List<(Point<ClothSpace> Map, Point<ClothSpace> True)> pairs = [];
        foreach (PlacedCard card in plane.Cards.Where(c => c.Used))
        {
            (_, double[] place) = truth.Cards.First(c => c.Card == card.Card);
            pairs.Add((card.Middle, new(place[CardModel.X], place[CardModel.Y])));
        }

        return Lay(pairs);
    }

    /// <summary>Shift and turn that lay places on others (least squares; W. Kabsch, 1976, in the plane).</summary>
    public static Similarity<ClothSpace, ClothSpace> Lay(
        IReadOnlyList<(Point<ClothSpace> Map, Point<ClothSpace> True)> pairs
    )
    {
        double mx = pairs.Average(p => p.Map.X);
        double my = pairs.Average(p => p.Map.Y);
        double tx = pairs.Average(p => p.True.X);
        double ty = pairs.Average(p => p.True.Y);
        double a = pairs.Sum(p => (p.Map.X - mx) * (p.True.X - tx) + (p.Map.Y - my) * (p.True.Y - ty));
        double b = pairs.Sum(p => (p.Map.X - mx) * (p.True.Y - ty) - (p.Map.Y - my) * (p.True.X - tx));
        double n = Math.Sqrt(a * a + b * b);
        (a, b) = (a / n, b / n);
        return new(a, b, tx - (a * mx - b * my), ty - (b * mx + a * my));
    }

    // What a user would have measured, with the errors that the solver expects of a ruler and a tape.
    private static CardWishes Wishes(CardTruth truth, ScaleKnown scale, Random random)
    {
        if (scale == ScaleKnown.ByRuler)
        {
            double sigma = PrintedSize.Sigma.Inches;
            return new()
            {
                Printed = new(
                    PrintedSize.DrawnAcross * truth.Print[0] + Length.FromInches(sigma * CardLayouts.Normal(random)),
                    PrintedSize.DrawnDown * truth.Print[1] + Length.FromInches(sigma * CardLayouts.Normal(random))
                ),
            };
        }

        if (scale == ScaleKnown.No)
        {
            return new();
        }

        // The two longest distances.
        List<TapeDistance> tapes =
        [
            .. truth
                .Cards.SelectMany((a, i) => truth.Cards.Skip(i + 1).Select(b => (a, b)))
                .Select(p =>
                    (
                        p.a.Card.Number,
                        Other: p.b.Card.Number,
                        Inches: Math.Sqrt(
                            Math.Pow(p.a.Place[0] - p.b.Place[0], 2) + Math.Pow(p.a.Place[1] - p.b.Place[1], 2)
                        )
                    )
                )
                .OrderByDescending(p => p.Inches)
                .Take(2)
                .Select(p => new TapeDistance(
                    p.Number,
                    p.Other,
                    Length.FromInches(p.Inches + TapeDistance.Sigma.Inches * CardLayouts.Normal(random))
                )),
        ];
        return new() { Tapes = tapes };
    }

    private static (double X, double Y) Draw(Random random, int region)
    {
        double u = random.NextDouble();
        double v = random.NextDouble();
        return region switch
        {
            0 => (0.3 + 0.4 * u, 0.3 + 0.4 * v),
            1 => random.Next(2) == 0
                ? (0.3 + 0.4 * u, v < 0.5 ? 0.1 * v : 1 - 0.1 * v + 0.05)
                : (u < 0.5 ? 0.1 * u : 1 - 0.1 * u + 0.05, 0.3 + 0.4 * v),
            _ => (u < 0.5 ? 0.2 * u : 0.9 + 0.2 * (u - 0.5), v < 0.5 ? 0.2 * v : 0.9 + 0.2 * (v - 0.5)),
        };
    }
}
