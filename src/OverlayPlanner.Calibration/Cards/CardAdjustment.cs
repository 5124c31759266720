using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A card as the adjustment knows it: its number, and which of several with that number.</summary>
internal readonly record struct CardKey(int Number, int Copy);

/// <summary>
/// One bundle adjustment over all photos of one plane: camera, each photo's pose, each card's place, turn, lift and slopes, the
/// printer's scale; corners, tape distances and priors as observations.
/// </summary>
/// <remarks>
/// The plane's own frame is that of the first card, which is held. Standard deviations of the corners are estimated from their
/// own residuals.
/// </remarks>
internal sealed class CardAdjustment
{
    // Corners are never better than this, px: the camera's own processing.
    private const double LeastSigma = 0.02;
    private const double HuberScale = 3;

    // An inch off the cloth, and steeper than anyone lays a card.
    private const double Anyhow = 32;

    private readonly IReadOnlyList<CardPhoto> photos;
    private readonly LeastSquaresProblem problem = new();
    private readonly List<CardPointBlock> corners = [];
    private readonly Dictionary<CardKey, int> cardGroups = [];
    private readonly int cameraGroup;
    private readonly int printGroup;
    private readonly int[] poseGroups;

    private CardAdjustment(
        IReadOnlyList<CardPhoto> photos,
        IReadOnlyDictionary<CardKey, TargetCard> cards,
        (double[] Expected, double[] Covariance, bool[] Held) camera,
        (double[] Expected, double[] Covariance) print,
        double[] start,
        IReadOnlyList<double[]> poses,
        IReadOnlyDictionary<CardKey, double[]> places,
        IReadOnlyList<(CardKey From, CardKey To, double Inches)> tapes,
        double unevenness,
        CardKey? standing
    )
    {
        this.photos = photos;
        Cards = cards;
        Unevenness = unevenness;
        Standing = standing;
        cameraGroup = problem.AddGroup(start);
        printGroup = problem.AddGroup(print.Expected);
        poseGroups = [.. poses.Select(p => problem.AddGroup(p))];
        CardKey first = cards.Keys.First();
        foreach (CardKey key in cards.Keys)
        {
            int group = problem.AddGroup(places[key]);
            cardGroups[key] = group;
            if (key == first)
            {
                problem.Hold(group, CardModel.X);
                problem.Hold(group, CardModel.Y);
                problem.Hold(group, CardModel.Turn);
            }

            double inf = double.PositiveInfinity;
            double uneven = key == standing ? Anyhow : unevenness;
            problem.Add(
                new PriorBlock(
                    group,
                    new double[CardModel.Size],
                    [
                        inf,
                        inf,
                        inf,
                        uneven * CardPriors.LiftInches,
                        uneven * CardPriors.Slope,
                        uneven * CardPriors.Slope,
                    ]
                )
            );
        }

        for (int i = 0; i < CameraModel.Size; i++)
        {
            problem.Hold(cameraGroup, i, camera.Held[i]);
        }

        problem.Add(
            PriorBlock.FromCovariance(cameraGroup, camera.Expected, camera.Covariance)
                ?? throw new InvalidOperationException("A camera's covariance is positive definite.")
        );
        problem.Add(
            PriorBlock.FromCovariance(printGroup, print.Expected, print.Covariance)
                ?? throw new InvalidOperationException("A print's covariance is positive definite.")
        );
        for (int p = 0; p < photos.Count; p++)
        {
            foreach ((CardKey key, SeenPattern pattern) in Keyed(photos[p]))
            {
                if (!cardGroups.TryGetValue(key, out int card))
                {
                    continue;
                }

                foreach ((Point<ClothSpace> on, Point<PhotoSpace> seen) in pattern.Corners)
                {
                    CardPointBlock block = new(
                        cameraGroup,
                        poseGroups[p],
                        card,
                        printGroup,
                        pattern.Card.Kind == CardKind.Strip,
                        on.X,
                        on.Y,
                        seen.X,
                        seen.Y
                    )
                    {
                        Loss = RobustLoss.Huber,
                        LossScale = HuberScale,
                    };
                    corners.Add(block);
                    problem.Add(block);
                }
            }
        }

        foreach ((CardKey from, CardKey to, double inches) in tapes)
        {
            problem.Add(new TapeBlock(cardGroups[from], cardGroups[to], inches, TapeDistance.Sigma.Inches));
        }
    }

    /// <summary>The cards that take part.</summary>
    public IReadOnlyDictionary<CardKey, TargetCard> Cards { get; }

    /// <summary>How many times less flat the cards are believed to lie than is usual.</summary>
    public double Unevenness { get; }

    /// <summary>A card of which nothing is believed, and which may stand off the cloth as it likes; or null.</summary>
    public CardKey? Standing { get; }

    /// <summary>Estimated standard deviation of a corner, px, one axis.</summary>
    public double SigmaPixels { get; private set; }

    /// <summary>Half the sum of the losses.</summary>
    public double Cost { get; private set; }

    /// <summary>The camera's ten numbers.</summary>
    public double[] Camera => problem.Values(cameraGroup);

    /// <summary>The print's scale across and down.</summary>
    public double[] Print => problem.Values(printGroup);

    /// <summary>A photo's pose.</summary>
    public double[] PoseOf(int photo) => problem.Values(poseGroups[photo]);

    /// <summary>A card's six numbers.</summary>
    public double[] PlaceOf(CardKey card) => problem.Values(cardGroups[card]);

    /// <summary>Groups, for the covariance.</summary>
    public (int Camera, int Print, IReadOnlyList<int> Poses, IReadOnlyDictionary<CardKey, int> Cards) Groups =>
        (cameraGroup, printGroup, poseGroups, cardGroups);

    /// <summary>Covariance of all that is free; null where the cards do not fix it.</summary>
    public ParameterCovariance? Covariance() => problem.Covariance();

    /// <summary>Root mean square of a card's corners, px, one axis.</summary>
    public double RmsOf(CardKey card)
    {
        int group = cardGroups[card];
        double sum = 0;
        int n = 0;
        foreach (CardPointBlock block in corners.Where(b => b.Card == group))
        {
            sum += problem.ResidualsOf(block).Sum(r => r * r) * block.Sigma * block.Sigma;
            n += 2;
        }

        return Math.Sqrt(sum / n);
    }

    /// <summary>How many corners of a card take part.</summary>
    public int CountOf(CardKey card) => corners.Count(b => b.Card == cardGroups[card]);

    /// <summary>Root mean square over all corners, px, one axis.</summary>
    public double Rms =>
        Math.Sqrt(corners.Sum(b => problem.ResidualsOf(b).Sum(r => r * r) * b.Sigma * b.Sigma) / (2.0 * corners.Count));

    /// <summary>Distance of two cards' middles, in, and its derivative by the parameters of a covariance.</summary>
    public (double Inches, double[] Gradient) Distance(ParameterCovariance covariance, CardKey from, CardKey to)
    {
        double dx = PlaceOf(to)[CardModel.X] - PlaceOf(from)[CardModel.X];
        double dy = PlaceOf(to)[CardModel.Y] - PlaceOf(from)[CardModel.Y];
        double distance = Math.Sqrt(dx * dx + dy * dy);
        double[] gradient = new double[covariance.Size];
        foreach ((CardKey key, double sign) in new[] { (from, -1.0), (to, 1.0) })
        {
            int x = covariance.PlaceOf(cardGroups[key], CardModel.X);
            int y = covariance.PlaceOf(cardGroups[key], CardModel.Y);
            if (x >= 0)
            {
                gradient[x] += sign * dx / distance;
                gradient[y] += sign * dy / distance;
            }
        }

        return (distance, gradient);
    }

    /// <summary>
    /// Twice the cost that this adjustment has over another with fewer demands, both by the other's corner sigma.
    /// </summary>
    public double MisfitAgainst(CardAdjustment other)
    {
        double own = corners[0].Sigma;
        SetSigma(other.SigmaPixels);
        double cost = problem.Cost();
        SetSigma(own);
        return 2 * (cost - other.Cost);
    }

    /// <summary>The patterns of a photo with their cards' keys: two patterns of one number are two copies, by height.</summary>
    public static IEnumerable<(CardKey Key, SeenPattern Pattern)> Keyed(CardPhoto photo)
    {
        Dictionary<int, int> copies = [];
        foreach (SeenPattern pattern in photo.Patterns)
        {
            copies[pattern.Pattern.Id] = copies.TryGetValue(pattern.Pattern.Id, out int n) ? n + 1 : 0;
            yield return (new(pattern.Card.Number, copies[pattern.Pattern.Id]), pattern);
        }
    }

    /// <summary>Solves, estimating the corners' standard deviation as it goes; null where no start is found.</summary>
    /// <param name="near">An adjustment of the same photos and at least these cards, to start from; or null.</param>
    /// <param name="unevenness">How many times less flat the cards are believed to lie than is usual.</param>
    /// <param name="standing">A card that may stand off the cloth as it likes.</param>
    public static CardAdjustment? Solve(
        IReadOnlyList<CardPhoto> photos,
        IReadOnlyDictionary<CardKey, TargetCard> cards,
        (double[] Expected, double[] Covariance, bool[] Held) camera,
        (double[] Expected, double[] Covariance) print,
        IReadOnlyList<(CardKey From, CardKey To, double Inches)> tapes,
        CardAdjustment? near = null,
        double unevenness = 1,
        CardKey? standing = null,
        CancellationToken ct = default
    )
    {
        CardAdjustment adjustment;
        if (near is not null)
        {
            // From where another adjustment ended; its frame stays, the first card is held where it lies.
            adjustment = new(
                photos,
                cards,
                camera,
                print,
                near.Camera,
                [.. Enumerable.Range(0, photos.Count).Select(near.PoseOf)],
                cards.Keys.ToDictionary(k => k, near.PlaceOf),
                tapes,
                unevenness,
                standing
            );
            near.Print.CopyTo(adjustment.Print, 0);
            adjustment.Iterate(camera.Held, near.SigmaPixels, ct);
        }
        else
        {
            double[] start = (double[])camera.Expected.Clone();
            if (CardStart.Find(photos, cards, start, print.Expected) is not var (poses, places))
            {
                return null;
            }

            adjustment = new(photos, cards, camera, print, start, poses, places, tapes, unevenness, standing);
            adjustment.Iterate(camera.Held, null, ct);
        }

        return double.IsFinite(adjustment.Cost) ? adjustment : null;
    }

    private void Iterate(bool[] held, double? sigma, CancellationToken ct)
    {
        SetSigma(sigma ?? 0.5);
        if (double.IsInfinity(problem.Cost()))
        {
            Cost = double.PositiveInfinity;
            return;
        }

        if (sigma is null)
        {
            // First with the camera and the print held: the places settle, and nothing can run away.
            HoldShared(true, held);
            problem.Solve(40, 1e-5, ct);
            HoldShared(false, held);
        }

        problem.Solve(60, 1e-6, ct);
        for (int round = 0; round < 5; round++)
        {
            double before = corners[0].Sigma;
            SetSigma(Math.Max(LeastSigma, EstimateSigma()));
            problem.Solve(60, 1e-8, ct);
            if (Math.Abs(corners[0].Sigma / before - 1) < 0.02)
            {
                break;
            }
        }

        SigmaPixels = corners[0].Sigma;
        Cost = problem.Cost();
    }

    private void HoldShared(bool hold, bool[] held)
    {
        for (int i = 0; i < CameraModel.Size; i++)
        {
            problem.Hold(cameraGroup, i, hold || held[i]);
        }

        problem.Hold(printGroup, 0, hold);
        problem.Hold(printGroup, 1, hold);
    }

    private void SetSigma(double sigma)
    {
        foreach (CardPointBlock block in corners)
        {
            block.Sigma = sigma;
        }
    }

    /// <summary>
    /// From the median distance: of a two-dimensional Gaussian it is σ √(2 ln 2). Corrected for the parameters that the corners
    /// determined; priors make that correction a little too large.
    /// </summary>
    private double EstimateSigma()
    {
        double[] distances =
        [
            .. corners.Select(b => Math.Sqrt(problem.ResidualsOf(b).Sum(r => r * r)) * b.Sigma).Order(),
        ];
        double median = distances[distances.Length / 2] / Math.Sqrt(2 * Math.Log(2));
        double n = 2.0 * corners.Count;
        double free = poseGroups.Length * 6 + 3 * cardGroups.Count;
        double robust = median * Math.Sqrt(n / Math.Max(n / 4, n - free));

        // The median of a few dozen is itself noisy; where no corner stands out the mean square is the better estimate.
        double square = Math.Sqrt(distances.Sum(d => d * d) / Math.Max(n / 4, n - free));
        return square < 1.3 * robust ? square : robust;
    }
}
