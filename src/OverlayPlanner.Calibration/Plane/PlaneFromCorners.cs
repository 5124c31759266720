using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>The cloth's plane from the four corners of a rectangle of known size.</summary>
public static class PlaneFromCorners
{
    /// <summary>Standard deviation of a corner touched by hand on the photo, px, one axis (common practice, no source).</summary>
    public const double TouchSigmaPixels = 1;

    // Larger than any quilt (a king size is about 110 in) and any hall floor of them; smaller than a typing slip.
    private const double LargestInches = 2_000;
    private const double SmallestInches = 0.5;

    // A corner may lie this far outside the photo, as a part of its longer side: a cut-off corner is led on by eye.
    private const double OutsideAllowed = 0.05;

    private const double LeastSidePixels = 16;

    // The size's proportions against those that the perspective shows, over the lenses of phones and cameras.
    private const double AspectDoubtful = 1.15;
    private const double AspectImpossible = 2.5;

    /// <summary>Solves the plane.</summary>
    /// <param name="corners">Photo pixels of the corners, clockwise as seen from the rectangle's top left.</param>
    /// <param name="width">The rectangle's width, from its first to its second corner.</param>
    /// <param name="height">The rectangle's height, from its second to its third corner.</param>
    /// <param name="photoWidth">Photo pixels across.</param>
    /// <param name="photoHeight">Photo pixels down.</param>
    /// <param name="lens">The lens, where known; without it the photo is taken as free of distortion.</param>
    /// <param name="facts">What the photo says about its focal length; sharpens the check of the proportions.</param>
    /// <param name="cornerSigmaPixels">Standard deviation of each corner, px, one axis.</param>
    /// <exception cref="InputException">The corners or the size can't be.</exception>
    public static PlaneFit Solve(
        IReadOnlyList<Point<PhotoSpace>> corners,
        Length width,
        Length height,
        int photoWidth,
        int photoHeight,
        LensProfile? lens = null,
        PhotoFacts? facts = null,
        double cornerSigmaPixels = TouchSigmaPixels
    )
    {
        ArgumentNullException.ThrowIfNull(corners);
        CheckSize(width, height);
        double w = width.Inches;
        double h = height.Inches;
        return Solve(
            corners,
            [new(0, 0), new(w, 0), new(w, h), new(0, h)],
            [],
            FormattableString.Invariant($"--size {w:0.###}x{h:0.###}"),
            photoWidth,
            photoHeight,
            lens,
            facts,
            cornerSigmaPixels
        );
    }

    /// <summary>Solves the plane from one block: its corners on the photo, its shape by the tape.</summary>
    /// <param name="corners">Photo pixels of the block's corners, clockwise from its top left.</param>
    /// <param name="block">Its shape in inches, and what the tape leaves open of it.</param>
    /// <param name="photoWidth">Photo pixels across.</param>
    /// <param name="photoHeight">Photo pixels down.</param>
    /// <param name="lens">The lens, where known.</param>
    /// <param name="facts">What the photo says about its focal length.</param>
    /// <exception cref="InputException">The corners can't be, or can't be those of such a block.</exception>
    public static PlaneFit SolveBlock(
        IReadOnlyList<Point<PhotoSpace>> corners,
        TapedBlock block,
        int photoWidth,
        int photoHeight,
        LensProfile? lens = null,
        PhotoFacts? facts = null
    )
    {
        ArgumentNullException.ThrowIfNull(corners);
        ArgumentNullException.ThrowIfNull(block);
        return Solve(
            corners,
            [.. block.Corners],
            block.Spreads,
            "the block's measures",
            photoWidth,
            photoHeight,
            lens,
            facts,
            TouchSigmaPixels
        );
    }

    private static PlaneFit Solve(
        IReadOnlyList<Point<PhotoSpace>> corners,
        Point<ClothSpace>[] cloth,
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> spreads,
        string said,
        int photoWidth,
        int photoHeight,
        LensProfile? lens,
        PhotoFacts? facts,
        double cornerSigmaPixels
    )
    {
        List<Finding> findings = [];
        CheckCorners(corners, photoWidth, photoHeight, findings);

        LensProfile? fitting = lens?.ForPhoto(photoWidth, photoHeight);
        Point<FlatSpace>[] flat = Flatten(corners, fitting);
        Homography<FlatSpace, ClothSpace> flatFromCloth =
            HomographyFit.Fit<FlatSpace, ClothSpace>([.. cloth.Zip(flat)])
            ?? throw Unusable("Three of the four corners lie on one line", corners);
        Homography<ClothSpace, FlatSpace> clothFromFlat = flatFromCloth.Inverse();
        Length width = Length.FromInches((cloth[0].DistanceTo(cloth[1]) + cloth[3].DistanceTo(cloth[2])) / 2);
        Length height = Length.FromInches((cloth[0].DistanceTo(cloth[3]) + cloth[1].DistanceTo(cloth[2])) / 2);
        CheckProportions(flatFromCloth, width, height, said, photoWidth, photoHeight, fitting, facts, findings);

        IMap<PhotoSpace, ClothSpace> photoFromCloth = WithLens(flatFromCloth, fitting);
        IMap<ClothSpace, PhotoSpace> clothFromPhoto = WithLens(clothFromFlat, fitting);
        double density = MedianDensity(photoFromCloth, width.Inches, height.Inches);
        CheckDensity(density, findings);
        Func<Point<ClothSpace>, Length> touched = CornerError(
            corners,
            cloth,
            fitting,
            photoFromCloth,
            cornerSigmaPixels
        );
        return new(
            clothFromPhoto,
            photoFromCloth,
            spreads.Count == 0 ? touched : WithTape(touched, cloth, spreads),
            density,
            findings
        );
    }

    // What the tape leaves open moves the whole plane with the block's corners.
    private static Func<Point<ClothSpace>, Length> WithTape(
        Func<Point<ClothSpace>, Length> touched,
        Point<ClothSpace>[] cloth,
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> spreads
    )
    {
        Homography<ClothSpace, ClothSpace>[] moved =
        [
            .. spreads
                .Select(s => HomographyFit.Fit<ClothSpace, ClothSpace>([.. cloth.Zip(s)]))
                .OfType<Homography<ClothSpace, ClothSpace>>(),
        ];
        return at =>
        {
            double sigma = touched(at).Inches;
            double variance = moved.Sum(m =>
            {
                Vector<ClothSpace> by = m.Apply(at) - at;
                return by.Dot(by) / 2;
            });
            return Length.FromInches(Math.Sqrt(sigma * sigma + variance));
        };
    }

    private static Point<FlatSpace>[] Flatten(IReadOnlyList<Point<PhotoSpace>> corners, LensProfile? lens)
    {
        if (lens is null)
        {
            return [.. corners.Select(c => new Point<FlatSpace>(c.X, c.Y))];
        }

        IMap<FlatSpace, PhotoSpace> flatFromPhoto = lens.FlatFromPhoto;
        Point<FlatSpace>[] flat = [.. corners.Select(flatFromPhoto.Apply)];
        for (int i = 0; i < flat.Length; i++)
        {
            if (!flat[i].IsFinite)
            {
                throw new InputException(
                    "The lens profile does not reach this corner of the photo",
                    $"corner {Number(i)} at {At(corners[i])}",
                    "Make the lens profile with photos that fill the frame, or leave it away."
                );
            }
        }

        return flat;
    }

    private static IMap<PhotoSpace, ClothSpace> WithLens(Homography<FlatSpace, ClothSpace> h, LensProfile? lens) =>
        lens is null
            ? new Homography<PhotoSpace, ClothSpace>(h.RowByRow)
            : new Chain<PhotoSpace, FlatSpace, ClothSpace>(lens.PhotoFromFlat, h);

    private static IMap<ClothSpace, PhotoSpace> WithLens(Homography<ClothSpace, FlatSpace> h, LensProfile? lens) =>
        lens is null
            ? new Homography<ClothSpace, PhotoSpace>(h.RowByRow)
            : new Chain<ClothSpace, FlatSpace, PhotoSpace>(h, lens.FlatFromPhoto);

    /// <summary>
    /// First-order propagation: each of the eight corner coordinates is moved a little both ways, the plane solved again, and
    /// the square shifts of the point summed (A. Criminisi, I. Reid and A. Zisserman 1999 do the same in closed form).
    /// </summary>
    private static Func<Point<ClothSpace>, Length> CornerError(
        IReadOnlyList<Point<PhotoSpace>> corners,
        Point<ClothSpace>[] cloth,
        LensProfile? lens,
        IMap<PhotoSpace, ClothSpace> photoFromCloth,
        double sigmaPixels
    )
    {
        const double Step = 0.25;
        IMap<FlatSpace, PhotoSpace>? flatFromPhoto = lens?.FlatFromPhoto;
        Lazy<(Homography<ClothSpace, FlatSpace> Plus, Homography<ClothSpace, FlatSpace> Minus)[]> moved = new(() =>
            [.. Enumerable.Range(0, 8).Select(k => (SolveMoved(k, Step), SolveMoved(k, -Step)))]
        );

        return at =>
        {
            Point<PhotoSpace> seen = photoFromCloth.Apply(at);
            Point<FlatSpace> flat = flatFromPhoto?.Apply(seen) ?? new(seen.X, seen.Y);
            double variance = 0;
            foreach ((Homography<ClothSpace, FlatSpace> plus, Homography<ClothSpace, FlatSpace> minus) in moved.Value)
            {
                Vector<ClothSpace> shift = plus.Apply(flat) - minus.Apply(flat);
                variance += shift.Dot(shift) / (4 * Step * Step);
            }

            // Half the trace: the mean of the two axes.
            return Length.FromInches(sigmaPixels * Math.Sqrt(variance / 2));
        };

        Homography<ClothSpace, FlatSpace> SolveMoved(int k, double by)
        {
            Point<PhotoSpace>[] c = [.. corners];
            c[k / 2] += k % 2 == 0 ? new Vector<PhotoSpace>(by, 0) : new Vector<PhotoSpace>(0, by);
            return HomographyFit.Fit<ClothSpace, FlatSpace>([.. Flatten(c, lens).Zip(cloth)])
                ?? throw Unusable("The four corners are too close together to measure by", corners);
        }
    }

    private static double MedianDensity(IMap<PhotoSpace, ClothSpace> photoFromCloth, double w, double h)
    {
        const int Across = 9;
        List<double> densities = [];
        for (int i = 0; i < Across; i++)
        {
            for (int j = 0; j < Across; j++)
            {
                densities.Add(DensityAt(photoFromCloth, new((i + 0.5) / Across * w, (j + 0.5) / Across * h)));
            }
        }

        densities.Sort();
        return densities[densities.Count / 2];
    }

    /// <summary>√(photo pixels in a square inch) at a cloth point.</summary>
    internal static double DensityAt(IMap<PhotoSpace, ClothSpace> photoFromCloth, Point<ClothSpace> at)
    {
        const double Step = 0.01;
        Vector<PhotoSpace> dx =
            photoFromCloth.Apply(new(at.X + Step, at.Y)) - photoFromCloth.Apply(new(at.X - Step, at.Y));
        Vector<PhotoSpace> dy =
            photoFromCloth.Apply(new(at.X, at.Y + Step)) - photoFromCloth.Apply(new(at.X, at.Y - Step));
        return Math.Sqrt(Math.Abs(dx.Cross(dy))) / (2 * Step);
    }

    private static void CheckSize(Length width, Length height)
    {
        foreach ((string side, Length length) in new[] { ("width", width), ("height", height) })
        {
            if (!(length.Inches >= SmallestInches && length.Inches <= LargestInches))
            {
                throw new InputException(
                    string.Create(CultureInfo.InvariantCulture, $"The {side} {length.Inches:0.####} in can't be"),
                    "--size",
                    "Give the measured width x height of the rectangle between the corners, 1/2 to 2,000 in each, for example 36x24."
                );
            }
        }
    }

    private static void CheckCorners(
        IReadOnlyList<Point<PhotoSpace>> corners,
        int photoWidth,
        int photoHeight,
        List<Finding> findings
    )
    {
        if (corners.Count != 4)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"There are {corners.Count} corners, not four"),
                "--corners",
                "Give four photo points, clockwise from the top left: \"x,y x,y x,y x,y\"."
            );
        }

        double margin = OutsideAllowed * Math.Max(photoWidth, photoHeight);
        for (int i = 0; i < 4; i++)
        {
            Point<PhotoSpace> c = corners[i];
            string where = $"corner {Number(i)} at {At(c)}";
            if (!c.IsFinite)
            {
                throw new InputException("A corner is no number", where, "Give photo pixels, for example 312,188.");
            }

            // The picture reaches half a pixel past the outer pixels' centres.
            double outside = Math.Max(
                Math.Max(-0.5 - c.X, c.X - (photoWidth - 0.5)),
                Math.Max(-0.5 - c.Y, c.Y - (photoHeight - 0.5))
            );
            string size = string.Create(CultureInfo.InvariantCulture, $"{photoWidth} × {photoHeight}");
            if (outside > margin)
            {
                throw new InputException(
                    $"A corner lies outside the photo, which is {size} pixels",
                    where,
                    "Give pixels of the full-size photo, upright as your viewer shows it; where the frame cuts the quilt off, the corners of a smaller rectangle."
                );
            }

            if (outside > 0)
            {
                findings.Add(
                    new(
                        "corner-outside-photo",
                        $"{where}; the photo is {size} pixels",
                        "What lies outside the photo is not mapped; step back and photograph the whole rectangle."
                    )
                );
            }
        }

        for (int i = 0; i < 4; i++)
        {
            for (int j = i + 1; j < 4; j++)
            {
                if (corners[i].DistanceTo(corners[j]) < LeastSidePixels)
                {
                    throw new InputException(
                        "Two corners lie in the same place",
                        $"corners {Number(i)} and {Number(j)}, at {At(corners[i])} and {At(corners[j])}",
                        "Give the four corners of the rectangle, one each."
                    );
                }
            }
        }

        // Sine of each corner's angle, positive for a right turn as seen.
        double[] turn = new double[4];
        for (int i = 0; i < 4; i++)
        {
            Vector<PhotoSpace> arrive = (corners[i] - corners[(i + 3) % 4]).Unit;
            Vector<PhotoSpace> leave = (corners[(i + 1) % 4] - corners[i]).Unit;
            turn[i] = arrive.Cross(leave);
        }

        const double Flat = 0.02;
        if (turn.Any(t => Math.Abs(t) < Flat))
        {
            throw Unusable("Three of the four corners lie on one line", corners);
        }

        int right = turn.Count(t => t > 0);
        if (right == 0)
        {
            throw new InputException(
                "The corners run anticlockwise",
                All(corners),
                "Give them clockwise from the top left: top left, top right, bottom right, bottom left."
            );
        }

        if (right == 2)
        {
            throw new InputException(
                "The corners are out of order: the sides between them cross",
                All(corners),
                "Give them clockwise from the top left: top left, top right, bottom right, bottom left."
            );
        }

        if (right != 4)
        {
            throw new InputException(
                "The corners are not those of a rectangle: one lies inside the triangle of the others",
                All(corners),
                "Look for a mistyped number, or corners given out of order."
            );
        }

        Vector<PhotoSpace> top = corners[1] - corners[0];
        if (top.X < Math.Abs(top.Y))
        {
            findings.Add(
                new(
                    "corners-start-turned",
                    All(corners),
                    "The map's top will not be the photo's top; where that is not meant, begin with the corner at the top left."
                )
            );
        }
    }

    /// <summary>
    /// Whether a rectangle of this size can look so: with the centre in the middle and square pixels, the sides' directions fix
    /// the proportions for each focal length (Z. Zhang and L.-W. He, 2007). Asked over the focal lengths that cameras have.
    /// </summary>
    private static void CheckProportions(
        Homography<FlatSpace, ClothSpace> flatFromCloth,
        Length width,
        Length height,
        string said,
        int photoWidth,
        int photoHeight,
        LensProfile? lens,
        PhotoFacts? facts,
        List<Finding> findings
    )
    {
        double cx = lens?.Cx ?? (photoWidth - 1) / 2.0;
        double cy = lens?.Cy ?? (photoHeight - 1) / 2.0;
        double diagonal = Math.Sqrt((double)photoWidth * photoWidth + (double)photoHeight * photoHeight);

        // 43.27 mm is the diagonal of 36 × 24 mm film.
        const double FilmDiagonal = 43.27;
        double[] focal =
            lens is not null ? [lens.Fx]
            : facts?.FocalLength35Millimeters is { } f35 ? [f35 / FilmDiagonal * diagonal]
            : [.. new[] { 13.0, 18, 24, 26, 28, 35, 50, 70, 100, 200 }.Select(f => f / FilmDiagonal * diagonal)];
        IReadOnlyList<double> m = flatFromCloth.RowByRow;
        double best = double.NaN;
        foreach (double f in focal)
        {
            // Lengths of the first two columns, seen from the camera: equal where the cloth's inch is the same both ways.
            double ratio = Norm(m[0], m[3], m[6], f) / Norm(m[1], m[4], m[7], f);
            if (double.IsNaN(best) || Math.Abs(Math.Log(ratio)) < Math.Abs(Math.Log(best)))
            {
                best = ratio;
            }
        }

        double off = Math.Max(best, 1 / best);
        if (off < AspectDoubtful)
        {
            return;
        }

        // The width that would fit the height.
        double fitting = width.Inches * best;
        string where = string.Create(
            CultureInfo.InvariantCulture,
            $"{said}: the photo shows about {fitting / height.Inches:0.00} times as wide as high, the size says {width / height:0.00}"
        );
        bool swapped = Math.Abs(Math.Log(fitting / height.Inches * (width / height))) < Math.Log(AspectDoubtful);
        string remedy = swapped
            ? "Width comes first: the two may be swapped."
            : "Check both numbers, that they belong to these corners, and that the photo is not cropped.";
        if (off > AspectImpossible)
        {
            throw new InputException("A rectangle of this size can't look so in a photo", where, remedy);
        }

        findings.Add(new("size-does-not-fit", where, remedy));

        double Norm(double a, double b, double c, double f)
        {
            double x = (a - cx * c) / f;
            double y = (b - cy * c) / f;
            return Math.Sqrt(x * x + y * y + c * c);
        }
    }

    private static void CheckDensity(double density, List<Finding> findings)
    {
        // A 1/4 in triangle point is then 4 pixels wide.
        const double Coarse = 16;
        if (density < Coarse)
        {
            findings.Add(
                new(
                    "photo-is-coarse",
                    string.Create(CultureInfo.InvariantCulture, $"{density:0.#} photo pixels to the inch"),
                    "Go nearer, or photograph the quilt in parts: 30 pixels to the inch show every seam."
                )
            );
        }
    }

    private static InputException Unusable(string what, IReadOnlyList<Point<PhotoSpace>> corners) =>
        new(what, All(corners), "Give the four corners of a rectangle, clockwise from the top left.");

    private static string All(IReadOnlyList<Point<PhotoSpace>> corners) =>
        "--corners " + string.Join(' ', corners.Select(At));

    private static string Number(int i) => (i + 1).ToString(CultureInfo.InvariantCulture);

    private static string At(Point<PhotoSpace> p) =>
        string.Create(CultureInfo.InvariantCulture, $"{p.X:0.##},{p.Y:0.##}");
}
