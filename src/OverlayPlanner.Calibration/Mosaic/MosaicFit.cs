using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Moves photos on the cloth, each within the error of its place, so that their overlaps agree.</summary>
/// <remarks>
/// <para>
/// One linear least-squares problem over all photos: what two of them show apart, and, of each photo, the four corners of its
/// part, which are known to the standard deviation that the cards leave them. The second keeps what all photos have in common
/// where the cards put it; the first shares out their differences by who is known the worse. Ties that are wrong count less and
/// less (J. Tukey's biweight, from a robust scale: 1.4826 × the median of the sizes), solved again a few times.
/// </para>
/// <para>
/// Half of the ties is held out: only where they come together too, the change is taken. A change of more than three standard
/// deviations is not one of cards, but of cloth that moved between the photos: then nothing is moved, and the ties say so.
/// </para>
/// </remarks>
internal static class MosaicFit
{
    private const int Rounds = 6;
    private const int LeastTies = 12;

    // Two windows of the same cloth are told apart to about a tenth of a pixel at best.
    private const double LeastSigmaPixels = 0.1;

    // Flatness alone leaves a place this much, inches.
    private const double LeastSigma = 0.002;

    private const double MostSigmas = 3;
    private const double MostOfBefore = 0.95;
    private const double Biweight = 4.685;

    /// <summary>How each photo is moved, or null where they stay.</summary>
    /// <param name="plane">The plane, with its area.</param>
    /// <param name="shown">The box round what each photo shows of the area; null where it shows nothing.</param>
    /// <param name="ties">What the photos show apart.</param>
    /// <param name="pixelsPerInch">Density that the ties were measured at.</param>
    public static IReadOnlyList<PlaneShift>? Solve(
        CardsPlane plane,
        IReadOnlyList<Box<ClothSpace>?> shown,
        IReadOnlyList<MosaicTie> ties,
        double pixelsPerInch
    )
    {
        if (ties.Count < LeastTies)
        {
            return null;
        }

        Anchor[] anchors = [.. shown.SelectMany((box, p) => AnchorsOf(plane, box, p))];
        MosaicTie[] used = [.. ties.Where((_, k) => k % 2 == 0)];
        MosaicTie[] heldOut = [.. ties.Where((_, k) => k % 2 == 1)];
        PlaneShift[]? fitted = Fit(used, anchors, shown.Count, plane, pixelsPerInch);
        if (fitted is null || MedianApart(heldOut, fitted) > MostOfBefore * MedianApart(heldOut, null))
        {
            return null;
        }

        PlaneShift[]? all = Fit(ties, anchors, shown.Count, plane, pixelsPerInch);
        return all is not null && anchors.All(a => all[a.Photo].At(a.At).Norm <= MostSigmas * Math.Sqrt(2) * a.Sigma)
            ? all
            : null;
    }

    private static PlaneShift[]? Fit(
        IReadOnlyList<MosaicTie> ties,
        IReadOnlyList<Anchor> anchors,
        int photos,
        CardsPlane plane,
        double pixelsPerInch
    )
    {
        Point<ClothSpace> middle = new(plane.Width.Inches / 2, plane.Height.Inches / 2);
        double unit = Math.Max(plane.Width.Inches, plane.Height.Inches) / 2;
        double least = LeastSigmaPixels / pixelsPerInch;
        PlaneShift[] shifts =
        [
            .. Enumerable.Repeat(new PlaneShift(new double[PlaneShift.Terms], middle, unit), photos),
        ];
        for (int round = 0; round < Rounds; round++)
        {
            double[] left = [.. ties.Select(t => LeftOf(t, shifts).Norm)];

            // Of a two-dimensional Gaussian half lies within 1.1774 standard deviations.
            double sigma = Math.Max(least, left.Order().ElementAt(left.Length / 2) / 1.1774);
            int size = photos * PlaneShift.Terms;
            double[][] normal = [.. Enumerable.Range(0, size).Select(_ => new double[size])];
            double[] right = new double[size];
            for (int k = 0; k < ties.Count; k++)
            {
                // The first round takes all of them: at the start the photos' own differences are the largest.
                double far = round == 0 ? 0 : left[k] / (Biweight * sigma);
                double share = far < 1 ? (1 - far * far) * (1 - far * far) : 0;
                MosaicTie t = ties[k];
                (double[] across, double[] down) = PlaneShift.TermsAt(t.At, middle, unit);
                Add(normal, right, t.First, t.Second, across, t.Apart.X, share / (sigma * sigma));
                Add(normal, right, t.First, t.Second, down, t.Apart.Y, share / (sigma * sigma));
            }

            foreach (Anchor a in anchors)
            {
                (double[] across, double[] down) = PlaneShift.TermsAt(a.At, middle, unit);
                Add(normal, right, a.Photo, null, across, 0, 1 / (a.Sigma * a.Sigma));
                Add(normal, right, a.Photo, null, down, 0, 1 / (a.Sigma * a.Sigma));
            }

            if (LeastSquares.Solve(normal, right) is not { } solved)
            {
                return null;
            }

            shifts =
            [
                .. Enumerable
                    .Range(0, photos)
                    .Select(p => new PlaneShift(
                        solved[(p * PlaneShift.Terms)..((p + 1) * PlaneShift.Terms)],
                        middle,
                        unit
                    )),
            ];
        }

        return shifts;
    }

    // One observation: the first photo's move less the second's is so much.
    private static void Add(
        double[][] normal,
        double[] right,
        int first,
        int? second,
        double[] terms,
        double value,
        double weight
    )
    {
        (int Place, double Slope)[] row =
        [
            .. terms.Select((t, k) => (first * PlaneShift.Terms + k, t)),
            .. second is { } s ? terms.Select((t, k) => (s * PlaneShift.Terms + k, -t)) : [],
        ];
        foreach ((int i, double a) in row)
        {
            right[i] += weight * a * value;
            foreach ((int j, double b) in row)
            {
                normal[i][j] += weight * a * b;
            }
        }
    }

    private static Vector<ClothSpace> LeftOf(MosaicTie tie, IReadOnlyList<PlaneShift>? shifts) =>
        shifts is null ? tie.Apart : tie.Apart - shifts[tie.First].At(tie.At) + shifts[tie.Second].At(tie.At);

    private static double MedianApart(MosaicTie[] ties, IReadOnlyList<PlaneShift>? shifts) =>
        ties.Select(t => LeftOf(t, shifts).Norm).Order().ElementAt(ties.Length / 2);

    // Places that a photo surely reaches, a sixth in from the corners of the box round what it shows. A photo that shows nothing
    // is held all the same; it would be free otherwise.
    private static IEnumerable<Anchor> AnchorsOf(CardsPlane plane, Box<ClothSpace>? shown, int photo)
    {
        Box<ClothSpace> box = shown ?? new(0, 0, plane.Width.Inches, plane.Height.Inches);
        foreach ((double x, double y) in new[] { (1, 1), (5, 1), (5, 5), (1, 5) })
        {
            Point<ClothSpace> at = new(box.Left + box.Width * x / 6, box.Top + box.Height * y / 6);
            double sigma = plane.CovarianceAt(photo, at).Sigma.Inches;
            yield return new(photo, at, Math.Max(LeastSigma, double.IsFinite(sigma) ? sigma : 1));
        }
    }

    /// <summary>A place of a photo, and how well the cards know it.</summary>
    private readonly record struct Anchor(int Photo, Point<ClothSpace> At, double Sigma);
}
