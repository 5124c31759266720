using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// The least that any unbiased estimator could reach from the corners of rendered scenes: the inverse of JᵀJ at the truth
/// (C. R. Rao, 1945; H. Cramér, 1946; with priors as further observations H. Van Trees, 1968), carried to the points at which
/// the map is measured, and laid on the cards' middles as the map is.
/// </summary>
/// <remarks>Its Jacobian of the map is taken by differences, so that it shares no formula with the product's stated error.</remarks>
internal sealed class LeastError
{
    private const int Draws = 400;

    private readonly List<Spread> asBelieved = [];
    private readonly List<Spread> allFlat = [];
    private double squares;
    private int count;

    /// <summary>What the corners are off, px, root mean square of one axis over all scenes.</summary>
    public double CornerRms => Math.Sqrt(squares / count);

    /// <summary>Adds one scene of one photo, with the corners that were measured in it and the points at which it is judged.</summary>
    public void Add(CardTruth truth, CardPhoto seen, LensProfile? lens, PrintedSize? printed, int across = 8)
    {
        truth = truth with { Cards = [.. truth.Cards.Where(c => seen.Patterns.Any(p => p.Card == c.Card))] };
        List<(int Card, Point<ClothSpace> On, Point<PhotoSpace> True)> corners = [];
        double own = 0;
        foreach (SeenPattern pattern in seen.Patterns)
        {
            int card = truth.Cards.ToList().FindIndex(c => c.Card == pattern.Card);
            foreach ((Point<ClothSpace> on, Point<PhotoSpace> at) in pattern.Corners)
            {
                double[] world = new double[3];
                (TargetCard target, double[] place) = truth.Cards[card];
                CardModel.Place(
                    place,
                    truth.Print,
                    target.Kind == CardKind.Strip,
                    on.X,
                    on.Y,
                    world,
                    [],
                    new double[CardModel.Size]
                );
                if (truth.Project(0, world[0], world[1], -world[2]) is { } exact)
                {
                    Vector<PhotoSpace> off = at - exact;
                    own += off.Dot(off);
                    corners.Add((card, on, exact));
                }
            }
        }

        squares += own;
        count += 2 * corners.Count;
        double sigma = Math.Sqrt(own / (2 * corners.Count));
        Point<ClothSpace>[] points = [.. Points(truth, across)];
        foreach ((List<Spread> spreads, bool flat) in new[] { (asBelieved, false), (allFlat, true) })
        {
            spreads.Add(Spread.Of(truth, seen, corners, sigma, lens, printed, flat, points));
        }
    }

    /// <summary>Adds the rows of what was reached beside what could be.</summary>
    /// <param name="reached">What the product's own errors are, in the same scenes.</param>
    public void AddRows(List<(string, string, string, bool)> rows, string name, ErrorTally reached)
    {
        double p95 = reached.Quantile(0.95);
        foreach (CardsKnown known in Enum.GetValues<CardsKnown>())
        {
            (double half, double most, double low, double high) = Quantiles(known);
            string what =
                known == CardsKnown.ByPriors ? "that these corners allow" : "if it were known that the cards lie flat";
            rows.Add(
                (
                    $"{name}: least {what}",
                    FormattableString.Invariant(
                        $"P95 {most:0.0000} in ({low:0.0000} to {high:0.0000} in 9 of 10 such sets), P50 {half:0.0000} in; corners {CornerRms:0.000} px RMS; reached {p95:0.0000} in"
                    ),
                    known == CardsKnown.ByPriors
                        ? FormattableString.Invariant($"reached ≤ {high:0.0000} in")
                        : "beside",
                    known != CardsKnown.ByPriors || p95 <= high
                )
            );
        }
    }

    /// <summary>P95 and P50 of the least error, with what the P95 of nine in ten such sets of scenes lies between.</summary>
    /// <param name="cards">What the estimator knows of the cards beside their corners.</param>
    public (double P50, double P95, double Low, double High) Quantiles(CardsKnown cards)
    {
        List<Spread> spreads = cards == CardsKnown.ByPriors ? asBelieved : allFlat;
        Random random = new(1);
        List<double> p50 = [];
        List<double> p95 = [];
        for (int draw = 0; draw < Draws; draw++)
        {
            double[] errors = [.. spreads.SelectMany(s => s.Draw(random)).Order()];
            p50.Add(errors[errors.Length / 2]);
            p95.Add(errors[(int)(0.95 * errors.Length)]);
        }

        p50.Sort();
        p95.Sort();
        return (p50[Draws / 2], p95[Draws / 2], p95[Draws / 20], p95[Draws - 1 - Draws / 20]);
    }

    private static IEnumerable<Point<ClothSpace>> Points(CardTruth truth, int across)
    {
        (double left, double top, double w, double h) = truth.Area;
        for (int i = 0; i <= across; i++)
        {
            for (int j = 0; j <= across; j++)
            {
                Point<ClothSpace> at = new(left + w * i / across, top + h * j / across);
                if (truth.Shows(truth.Project(0, at.X, at.Y)))
                {
                    yield return at;
                }
            }
        }
    }

    /// <summary>How the errors of one scene's points hang together: each is a sum of independent normal numbers.</summary>
    private sealed record Spread(double[][] X, double[][] Y)
    {
        public IEnumerable<double> Draw(Random random)
        {
            double[] z = [.. Enumerable.Range(0, X[0].Length).Select(_ => CardLayouts.Normal(random))];
            for (int i = 0; i < X.Length; i++)
            {
                (double x, double y) = (0, 0);
                for (int k = 0; k < z.Length; k++)
                {
                    x += X[i][k] * z[k];
                    y += Y[i][k] * z[k];
                }

                yield return Math.Sqrt(x * x + y * y);
            }
        }

        public static Spread Of(
            CardTruth truth,
            CardPhoto seen,
            List<(int Card, Point<ClothSpace> On, Point<PhotoSpace> True)> corners,
            double sigma,
            LensProfile? lens,
            PrintedSize? printed,
            bool flat,
            Point<ClothSpace>[] points
        )
        {
            LeastSquaresProblem problem = new();
            (double[] expected, double[] spread, bool[] held) = CardPriors.Camera(seen, lens);
            int camera = problem.AddGroup(truth.Camera);
            int print = problem.AddGroup(truth.Print);
            int pose = problem.AddGroup(truth.Poses[0]);
            int[] cards = [.. truth.Cards.Select(c => problem.AddGroup(c.Place))];
            for (int k = 0; k < CameraModel.Size; k++)
            {
                problem.Hold(camera, k, held[k]);
            }

            problem.Add(PriorBlock.FromCovariance(camera, expected, spread)!);
            (double[] size, double[] sizes) = CardPriors.Print(printed, false);
            problem.Add(PriorBlock.FromCovariance(print, size, sizes)!);
            problem.Hold(print, 0, flat);
            problem.Hold(print, 1, flat);
            double inf = double.PositiveInfinity;
            foreach (int card in cards)
            {
                problem.Add(
                    new PriorBlock(
                        card,
                        new double[CardModel.Size],
                        [inf, inf, inf, CardPriors.LiftInches, CardPriors.Slope, CardPriors.Slope]
                    )
                );
                for (int k = 0; k < CardModel.Size; k++)
                {
                    // The first card is the frame: its place and turn are no freedoms.
                    problem.Hold(card, k, k < CardModel.Lift ? card == cards[0] : flat);
                }
            }

            foreach ((int card, Point<ClothSpace> on, Point<PhotoSpace> at) in corners)
            {
                bool turned = truth.Cards[card].Card.Kind == CardKind.Strip;
                problem.Add(
                    new CardPointBlock(camera, pose, cards[card], print, turned, on.X, on.Y, at.X, at.Y)
                    {
                        Sigma = sigma,
                    }
                );
            }

            ParameterCovariance covariance =
                problem.Covariance() ?? throw new InvalidOperationException("Cards round the area fix its plane.");
            return Carry(truth, problem, covariance, camera, pose, cards, points);
        }

        private static Spread Carry(
            CardTruth truth,
            LeastSquaresProblem problem,
            ParameterCovariance covariance,
            int camera,
            int pose,
            int[] cards,
            Point<ClothSpace>[] points
        )
        {
            int n = covariance.Size;
            double[][] gx = [.. points.Select(_ => new double[n])];
            double[][] gy = [.. points.Select(_ => new double[n])];
            Point<PhotoSpace>[] pixels = [.. points.Select(p => truth.Project(0, p.X, p.Y)!.Value)];
            foreach (int group in cards.Prepend(pose).Prepend(camera))
            {
                double[] values = problem.Values(group);
                for (int k = 0; k < values.Length; k++)
                {
                    int place = covariance.PlaceOf(group, k);
                    if (place < 0)
                    {
                        continue;
                    }

                    double kept = values[k];
                    double step = 1e-3 * covariance.SigmaOf(group, k);
                    values[k] = kept + step;
                    Point<ClothSpace>[] up = Map();
                    values[k] = kept - step;
                    Point<ClothSpace>[] down = Map();
                    values[k] = kept;
                    for (int i = 0; i < points.Length; i++)
                    {
                        gx[i][place] = (up[i].X - down[i].X) / (2 * step);
                        gy[i][place] = (up[i].Y - down[i].Y) / (2 * step);
                    }
                }
            }

            double[] root = [.. covariance.Matrix];
            if (!Matrices.Factor(root, n))
            {
                throw new InvalidOperationException("A covariance is positive definite.");
            }

            double[] Times(double[] g) =>
                [.. Enumerable.Range(0, n).Select(c => Enumerable.Range(c, n - c).Sum(r => g[r] * root[r * n + c]))];
            return new([.. gx.Select(Times)], [.. gy.Select(Times)]);

            // Where the photo's pixels would be put, laid on the true cards by shift and turn.
            Point<ClothSpace>[] Map()
            {
                BrownLens lens = new(problem.Values(camera), truth.Width, truth.Height);
                SightLines sight = new(problem.Values(pose));
                Similarity<ClothSpace, ClothSpace> lay = StatedError.Lay([
                    .. cards.Select(
                        (c, i) =>
                            (
                                new Point<ClothSpace>(problem.Values(c)[CardModel.X], problem.Values(c)[CardModel.Y]),
                                new Point<ClothSpace>(truth.Cards[i].Place[0], truth.Cards[i].Place[1])
                            )
                    ),
                ]);
                return
                [
                    .. pixels.Select(q =>
                    {
                        (double x, double y) = sight.Ground(lens.RayAt(q.X, q.Y));
                        return lay.Apply(new Point<ClothSpace>(x, y));
                    }),
                ];
            }
        }
    }
}

/// <summary>What an estimator knows of the cards beside their corners.</summary>
internal enum CardsKnown
{
    /// <summary>What the product believes: near the plane, nearly level, the print measured with a ruler.</summary>
    ByPriors,

    /// <summary>That they lie exactly flat and are exactly as large as they are.</summary>
    Exactly,
}
