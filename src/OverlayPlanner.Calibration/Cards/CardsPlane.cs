using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A card where the adjustment put it.</summary>
/// <param name="Card">The card.</param>
/// <param name="Middle">Its middle on the cloth.</param>
/// <param name="Outline">The corners of its pattern on the cloth, clockwise from its own top left.</param>
/// <param name="RmsPixels">Root mean square of its corners' errors, px, one axis.</param>
/// <param name="Used">False where it was left out.</param>
public sealed record PlacedCard(
    TargetCard Card,
    Point<ClothSpace> Middle,
    IReadOnlyList<Point<ClothSpace>> Outline,
    double RmsPixels,
    bool Used
);

/// <summary>Covariance of a cloth position: in², along and across the axes.</summary>
public readonly record struct PositionCovariance(double Xx, double Xy, double Yy)
{
    /// <summary>Standard deviation along one axis: the root of the mean of the two variances.</summary>
    public Length Sigma => Length.FromInches(Math.Sqrt((Xx + Yy) / 2));

    /// <summary>Standard deviation along the worst direction.</summary>
    public Length Worst
    {
        get
        {
            double mean = (Xx + Yy) / 2;
            double half = (Xx - Yy) / 2;
            return Length.FromInches(Math.Sqrt(mean + Math.Sqrt(half * half + Xy * Xy)));
        }
    }

    /// <summary>Sum with an independent error.</summary>
    public static PositionCovariance operator +(PositionCovariance a, PositionCovariance b) =>
        new(a.Xx + b.Xx, a.Xy + b.Xy, a.Yy + b.Yy);
}

/// <summary>The cloth's plane as found from cards in one or more photos.</summary>
/// <remarks>
/// A map has no place of its own on the cloth: errors are those that remain when the map is laid on the truth so that the cards'
/// middles agree best, by shift and turn alone (the inner constraints of W. Baarda, 1973). Scale is no freedom: its error counts.
/// </remarks>
public sealed class CardsPlane
{
    private readonly CardAdjustment adjustment;
    private readonly ParameterCovariance covariance;
    private readonly IReadOnlyList<CardPhoto> photos;
    private readonly LensProfile lens;

    // Output cloth from the adjustment's own frame: turn, then shift.
    private readonly Similarity<ClothSpace, ClothSpace> clothFromOwn;
    private readonly Similarity<ClothSpace, ClothSpace> ownFromCloth;

    internal CardsPlane(
        CardAdjustment adjustment,
        ParameterCovariance covariance,
        IReadOnlyList<CardPhoto> photos,
        Similarity<ClothSpace, ClothSpace> clothFromOwn,
        IReadOnlyList<PlacedCard> leftOut,
        IReadOnlyList<Finding> findings
    )
    {
        this.adjustment = adjustment;
        this.covariance = covariance;
        this.photos = photos;
        this.clothFromOwn = clothFromOwn;
        ownFromCloth = clothFromOwn.Inverse();
        LeftOut = leftOut;
        Findings = findings;
        lens = CameraModel.ToProfile(adjustment.Camera, photos[0].Width, photos[0].Height);
        Cards = [.. adjustment.Cards.Select(c => Placed(c.Key, c.Value)), .. leftOut.Select(Carry)];
        Planes = [.. Enumerable.Range(0, photos.Count).Select(PlaneOf)];
        (Width, Height) = (Length.Zero, Length.Zero);
    }

    /// <summary>A plane for each photo, all in one cloth frame, in the order of the photos.</summary>
    public IReadOnlyList<PlaneFit> Planes { get; }

    /// <summary>The cards, those left out last.</summary>
    public IReadOnlyList<PlacedCard> Cards { get; }

    /// <summary>What a person should know.</summary>
    public IReadOnlyList<Finding> Findings { get; }

    /// <summary>The lens as the photos show it: the profile, moved within its error.</summary>
    public LensProfile Lens => lens;

    /// <summary>Estimated standard deviation of a measured corner, px, one axis.</summary>
    public double CornerSigmaPixels => adjustment.SigmaPixels;

    /// <summary>Printed inches for each drawn inch, across and down the page, as solved.</summary>
    public (double Across, double Down) PrintScale => (adjustment.Print[0], adjustment.Print[1]);

    /// <summary>Width of the mapped area, from the origin; zero until <see cref="WithArea"/> has set it.</summary>
    public Length Width { get; private init; }

    /// <summary>Height of the mapped area, from the origin.</summary>
    public Length Height { get; private init; }

    internal IReadOnlyList<PlacedCard> LeftOut { get; }

    internal CardAdjustment Adjustment => adjustment;

    /// <summary>The corners that were measured, photo by photo.</summary>
    internal IReadOnlyList<CardPhoto> Seen => photos;

    /// <summary>The same plane in another frame: turned and shifted, never scaled.</summary>
    /// <exception cref="ArgumentException">The map scales or mirrors.</exception>
    public CardsPlane Moved(Similarity<ClothSpace, ClothSpace> newFromOld)
    {
        ArgumentNullException.ThrowIfNull(newFromOld);
        if (newFromOld.Mirrored || Math.Abs(newFromOld.Scale - 1) > 1e-9)
        {
            throw new ArgumentException("A frame is turned and shifted alone.", nameof(newFromOld));
        }

        IReadOnlyList<PlacedCard> leftOut =
        [
            .. LeftOut.Select(c =>
                c with
                {
                    Middle = newFromOld.Apply(c.Middle),
                    Outline = [.. c.Outline.Select(newFromOld.Apply)],
                }
            ),
        ];
        return new(adjustment, covariance, photos, newFromOld.After(clothFromOwn), leftOut, Findings)
        {
            Width = Width,
            Height = Height,
        };
    }

    /// <summary>The same plane with its origin at the top left of an area, and the area's size kept.</summary>
    public CardsPlane WithArea(Point<ClothSpace> topLeft, Length width, Length height)
    {
        CardsPlane moved = Moved(new(1, 0, -topLeft.X, -topLeft.Y));
        return new(moved.adjustment, covariance, photos, moved.clothFromOwn, moved.LeftOut, Findings)
        {
            Width = width,
            Height = height,
        };
    }

    /// <summary>The same plane turned, its area chosen anew: the bounding box of what the photos show well near the cards.</summary>
    /// <param name="radians">Turn of the cloth in the map, from x to y.</param>
    public CardsPlane Turned(double radians) =>
        CardArea.Frame(Moved(new(Math.Cos(radians), Math.Sin(radians), 0, 0)), photos);

    /// <summary>
    /// The distance that a share of many cloth positions stay within, given their standard deviations along one axis: the error
    /// of each taken as round and Gaussian.
    /// </summary>
    public static Length ErrorWithin(IReadOnlyList<Length> sigmas, double share = 0.95)
    {
        ArgumentNullException.ThrowIfNull(sigmas);
        double[] finite = [.. sigmas.Select(s => s.Inches).Where(double.IsFinite)];
        if (finite.Length == 0)
        {
            return Length.FromInches(double.PositiveInfinity);
        }

        // Σ (1 − exp(−x² ÷ 2σ²)) = share × n, halved to 1e-6 of the largest.
        double low = 0;
        double high = 10 * Math.Max(finite.Max(), 1e-9);
        for (int step = 0; step < 60; step++)
        {
            double x = (low + high) / 2;
            double inside = finite.Average(s => s > 0 ? 1 - Math.Exp(-x * x / (2 * s * s)) : 1);
            (low, high) = inside < share ? (x, high) : (low, x);
        }

        return Length.FromInches(high);
    }

    /// <summary>
    /// Covariance of the inches that a photo's picture of a cloth point is given, from the adjustment and from cloth that does
    /// not lie flat there.
    /// </summary>
    /// <param name="photo">Which photo the point is measured in.</param>
    /// <param name="at">The cloth point.</param>
    /// <param name="flatnessInches">
    /// How far the cloth may lie off the plane, one standard deviation; a point lifted by δ and seen at an angle θ is put
    /// δ tan θ aside. Null: as flat as the cards lie, and no flatter than is usual.
    /// </param>
    public PositionCovariance CovarianceAt(int photo, Point<ClothSpace> at, double? flatnessInches = null)
    {
        double off = flatnessInches ?? Math.Max(1, adjustment.Unevenness) * CardPriors.FlatnessInches;
        Point<ClothSpace> own = ownFromCloth.Apply(at);
        double[] pose = adjustment.PoseOf(photo);
        Span<double> byCamera = stackalloc double[2 * CameraModel.Size];
        Span<double> byPose = stackalloc double[2 * CameraModel.PoseSize];
        Span<double> byWorld = stackalloc double[6];
        bool seen = CameraModel.ProjectPosed(
            adjustment.Camera,
            pose,
            [own.X, own.Y, 0],
            out _,
            out _,
            byCamera,
            byPose,
            byWorld
        );
        double det = byWorld[0] * byWorld[4] - byWorld[1] * byWorld[3];
        if (!seen || det == 0)
        {
            return new(double.PositiveInfinity, 0, double.PositiveInfinity);
        }

        // Inches for pixels: the inverse of the derivative by the cloth's two axes.
        double ax = byWorld[4] / det;
        double ay = -byWorld[1] / det;
        double bx = -byWorld[3] / det;
        double by = byWorld[0] / det;
        double[] gx = new double[covariance.Size];
        double[] gy = new double[covariance.Size];
        (int camera, _, IReadOnlyList<int> poses, IReadOnlyDictionary<CardKey, int> cards) = adjustment.Groups;
        for (int k = 0; k < CameraModel.Size; k++)
        {
            Add(camera, k, byCamera[k], byCamera[CameraModel.Size + k]);
        }

        for (int k = 0; k < CameraModel.PoseSize; k++)
        {
            Add(poses[photo], k, byPose[k], byPose[CameraModel.PoseSize + k]);
        }

        LayOnCards(own, cards, gx, gy);
        double xx = covariance.Between(gx, gx);
        double xy = covariance.Between(gx, gy);
        double yy = covariance.Between(gy, gy);

        // Off the plane: ∂p ÷ ∂z takes the place of a pixel error.
        double zx = -(ax * byWorld[2] + ay * byWorld[5]) * off;
        double zy = -(bx * byWorld[2] + by * byWorld[5]) * off;
        return Turned(xx + zx * zx, xy + zx * zy, yy + zy * zy);

        // A parameter's change moves the picture of the point; the same pixel then stands for another cloth point.
        void Add(int group, int index, double du, double dv)
        {
            int place = covariance.PlaceOf(group, index);
            if (place >= 0)
            {
                gx[place] -= ax * du + ay * dv;
                gy[place] -= bx * du + by * dv;
            }
        }
    }

    /// <summary>The same for the middle of one card: how far it may be from where it is put.</summary>
    public PositionCovariance CovarianceOf(PlacedCard card)
    {
        ArgumentNullException.ThrowIfNull(card);
        (_, _, _, IReadOnlyDictionary<CardKey, int> cards) = adjustment.Groups;
        CardKey key = adjustment.Cards.First(c => c.Value == card.Card).Key;
        double[] gx = new double[covariance.Size];
        double[] gy = new double[covariance.Size];
        if (covariance.PlaceOf(cards[key], CardModel.X) is >= 0 and var place)
        {
            gx[place] = 1;
            gy[covariance.PlaceOf(cards[key], CardModel.Y)] = 1;
        }

        LayOnCards(ownFromCloth.Apply(card.Middle), cards, gx, gy);
        return Turned(covariance.Between(gx, gx), covariance.Between(gx, gy), covariance.Between(gy, gy));
    }

    /// <summary>Where a photo was taken from: the cloth point below the camera, and its height over the cards' plane, in.</summary>
    internal (Point<ClothSpace> Foot, double Height) EyeOf(int photo)
    {
        double[] pose = adjustment.PoseOf(photo);
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double Own(int axis) => -(r[axis] * pose[3] + r[3 + axis] * pose[4] + r[6 + axis] * pose[5]);

        // The plane's third axis points away from the camera.
        return (clothFromOwn.Apply(new Point<ClothSpace>(Own(0), Own(1))), -Own(2));
    }

    /// <summary>
    /// The photo in which a cloth point has the least error, and its covariance there; −1 where no photo shows it.
    /// </summary>
    public (int Photo, PositionCovariance Covariance) BestAt(Point<ClothSpace> at)
    {
        int best = -1;
        PositionCovariance least = new(double.PositiveInfinity, 0, double.PositiveInfinity);
        for (int p = 0; p < photos.Count; p++)
        {
            Point<PhotoSpace> seen = Planes[p].PhotoFromCloth.Apply(at);
            bool inside = seen.X >= 0 && seen.Y >= 0 && seen.X <= photos[p].Width - 1 && seen.Y <= photos[p].Height - 1;
            if (inside && CovarianceAt(p, at) is var c && c.Xx + c.Yy < least.Xx + least.Yy)
            {
                (best, least) = (p, c);
            }
        }

        return (best, least);
    }

    /// <summary>
    /// Standard deviation of a cloth position, one axis: where photos show it that of <see cref="BestAt"/>, elsewhere the least
    /// that a photo's plane would give it, led on beyond the frame.
    /// </summary>
    public Length SigmaAt(Point<ClothSpace> at) =>
        BestAt(at) is { Photo: >= 0 } best
            ? best.Covariance.Sigma
            : Enumerable.Range(0, photos.Count).Min(p => CovarianceAt(p, at).Sigma);

    // Takes the shift and turn that would lay the cards' middles back out of a point's change.
    private void LayOnCards(Point<ClothSpace> own, IReadOnlyDictionary<CardKey, int> cards, double[] gx, double[] gy)
    {
        double n = cards.Count;
        double cx = cards.Keys.Average(k => adjustment.PlaceOf(k)[CardModel.X]);
        double cy = cards.Keys.Average(k => adjustment.PlaceOf(k)[CardModel.Y]);
        double inertia = 0;
        foreach (CardKey key in cards.Keys)
        {
            double dx = adjustment.PlaceOf(key)[CardModel.X] - cx;
            double dy = adjustment.PlaceOf(key)[CardModel.Y] - cy;
            inertia += dx * dx + dy * dy;
        }

        double rx = own.X - cx;
        double ry = own.Y - cy;
        foreach ((CardKey key, int group) in cards)
        {
            int px = covariance.PlaceOf(group, CardModel.X);
            int py = covariance.PlaceOf(group, CardModel.Y);
            if (px < 0)
            {
                continue;
            }

            // Turn ω = Σ d × δ ÷ Σ d²; it moves the point by ω (−ry, rx).
            double wx = inertia > 0 ? -(adjustment.PlaceOf(key)[CardModel.Y] - cy) / inertia : 0;
            double wy = inertia > 0 ? (adjustment.PlaceOf(key)[CardModel.X] - cx) / inertia : 0;
            gx[px] -= 1 / n - ry * wx;
            gx[py] -= -ry * wy;
            gy[px] -= rx * wx;
            gy[py] -= 1 / n + rx * wy;
        }

        if (cards.Count == 1)
        {
            // One card alone lays the map by its own turn as well.
            int turn = covariance.PlaceOf(cards.Values.First(), CardModel.Turn);
            if (turn >= 0)
            {
                gx[turn] += ry;
                gy[turn] -= rx;
            }
        }
    }

    private PositionCovariance Turned(double xx, double xy, double yy)
    {
        double c = clothFromOwn.A;
        double s = clothFromOwn.B;
        return new(
            c * c * xx - 2 * c * s * xy + s * s * yy,
            c * s * (xx - yy) + (c * c - s * s) * xy,
            s * s * xx + 2 * c * s * xy + c * c * yy
        );
    }

    private PlacedCard Placed(CardKey key, TargetCard card) =>
        Outline(card, adjustment.PlaceOf(key), adjustment.RmsOf(key), used: true);

    private PlacedCard Outline(TargetCard card, double[] place, double rms, bool used)
    {
        double half = card.Side.Inches / 2;
        double reach = card.Patterns.Max(p => Math.Abs(p.X)) + half;
        Similarity<ClothSpace, ClothSpace> ownFromCard = new(
            Math.Cos(place[CardModel.Turn]),
            Math.Sin(place[CardModel.Turn]),
            place[CardModel.X],
            place[CardModel.Y]
        );
        Similarity<ClothSpace, ClothSpace> map = clothFromOwn.After(ownFromCard);
        Point<ClothSpace>[] corners = [new(-reach, -half), new(reach, -half), new(reach, half), new(-reach, half)];
        return new(card, map.Apply(Point<ClothSpace>.Origin), [.. corners.Select(map.Apply)], rms, used);
    }

    private static PlacedCard Carry(PlacedCard leftOut) => leftOut;

    private PlaneFit PlaneOf(int photo)
    {
        double[] camera = adjustment.Camera;
        double[] pose = adjustment.PoseOf(photo);
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double fx = camera[CameraModel.F];
        double fy = fx * camera[CameraModel.Aspect];
        double cx = camera[CameraModel.Cx];
        double cy = camera[CameraModel.Cy];
        double[] h = new double[9];
        for (int k = 0; k < 3; k++)
        {
            double x = k < 2 ? r[k] : pose[3];
            double y = k < 2 ? r[3 + k] : pose[4];
            double z = k < 2 ? r[6 + k] : pose[5];
            h[k] = fx * x + cx * z;
            h[3 + k] = fy * y + cy * z;
            h[6 + k] = z;
        }

        Homography<FlatSpace, ClothSpace> flatFromOwn = new(h);
        Homography<FlatSpace, ClothSpace> flatFromCloth = flatFromOwn.After(ownFromCloth.ToHomography());
        IMap<PhotoSpace, ClothSpace> photoFromCloth = new Chain<PhotoSpace, FlatSpace, ClothSpace>(
            lens.PhotoFromFlat,
            flatFromCloth
        );
        IMap<ClothSpace, PhotoSpace> clothFromPhoto = new Chain<ClothSpace, FlatSpace, PhotoSpace>(
            flatFromCloth.Inverse(),
            lens.FlatFromPhoto
        );
        double[] densities =
        [
            .. Cards
                .Where(c => c.Used)
                .Select(c => PlaneFromCorners.DensityAt(photoFromCloth, c.Middle))
                .Where(double.IsFinite)
                .Order(),
        ];
        return new(
            clothFromPhoto,
            photoFromCloth,
            at => CovarianceAt(photo, at).Sigma,
            densities[densities.Length / 2],
            Findings
        );
    }
}
