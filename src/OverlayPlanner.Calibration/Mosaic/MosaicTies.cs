using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A place that two photos show.</summary>
/// <param name="First">Index of one photo.</param>
/// <param name="Second">Index of the other.</param>
/// <param name="At">The place by the first one, inches.</param>
/// <param name="Apart">From there to where the second one has the same cloth, inches.</param>
internal readonly record struct MosaicTie(int First, int Second, Point<ClothSpace> At, Vector<ClothSpace> Apart);

/// <summary>Compares what photos show in their overlaps.</summary>
internal static class MosaicTies
{
    private const int Window = 96;
    private const double LeastResponse = 0.35;
    private const int MostWindows = 120;

    // Grey levels, one standard deviation; plain cloth says nothing.
    private const double LeastTexture = 6;

    /// <summary>
    /// Phase correlation of windows with texture (C. Kuglin and D. Hines, 1975), whose peak must stand out; evenly over each
    /// overlap, no more than tell its error.
    /// </summary>
    public static IReadOnlyList<MosaicTie> Find(PhotoView[] views, MosaicFrame frame, CancellationToken ct = default)
    {
        List<MosaicTie> ties = [];
        Mat?[] greys = [.. views.Select(v => v.Picture is { } p ? GreyPicture.From(p) : null)];
        try
        {
            using Mat hann = new();
            Cv2.CreateHanningWindow(hann, new Size(Window, Window), MatType.CV_32FC1);
            for (int i = 0; i < views.Length; i++)
            {
                for (int j = i + 1; j < views.Length; j++)
                {
                    ct.ThrowIfCancellationRequested();
                    (int X, int Y)[] places = [.. PlacesIn(views[i], views[j], frame)];
                    double step = Math.Max(1, places.Length / (double)MostWindows);
                    for (double k = 0; k < places.Length; k += step)
                    {
                        (int x, int y) = places[(int)k];
                        using Mat a = new(greys[i]!, new Rect(x - views[i].Left, y - views[i].Top, Window, Window));
                        using Mat b = new(greys[j]!, new Rect(x - views[j].Left, y - views[j].Top, Window, Window));
                        if (ShiftOf(a, b, hann) is { } shift)
                        {
                            Point<ClothSpace> at = frame.ClothFromPicture.Apply(
                                new Point<PictureSpace>(x + (Window - 1) / 2.0, y + (Window - 1) / 2.0)
                            );
                            ties.Add(new(i, j, at, shift * (1 / frame.PixelsPerInch)));
                        }
                    }
                }
            }
        }
        finally
        {
            foreach (Mat? grey in greys)
            {
                grey?.Dispose();
            }
        }

        return ties;
    }

    // Half a window apart, wherever both photos show all of it.
    private static IEnumerable<(int X, int Y)> PlacesIn(PhotoView a, PhotoView b, MosaicFrame frame)
    {
        for (int y = 0; y + Window <= frame.Height; y += Window / 2)
        {
            for (int x = 0; x + Window <= frame.Width; x += Window / 2)
            {
                if (Covers(a, x, y) && Covers(b, x, y))
                {
                    yield return (x, y);
                }
            }
        }
    }

    private static bool Covers(PhotoView view, int x, int y)
    {
        const int Last = Window - 1;
        return view.WeightAt(x, y) > 0
            && view.WeightAt(x + Last, y) > 0
            && view.WeightAt(x, y + Last) > 0
            && view.WeightAt(x + Last, y + Last) > 0;
    }

    private static Vector<ClothSpace>? ShiftOf(Mat a, Mat b, Mat hann)
    {
        using Mat floatA = new();
        using Mat floatB = new();
        a.ConvertTo(floatA, MatType.CV_32FC1);
        b.ConvertTo(floatB, MatType.CV_32FC1);
        Cv2.MeanStdDev(floatA, out _, out Scalar spread);
        if (spread.Val0 < LeastTexture)
        {
            return null;
        }

        Point2d shift = Cv2.PhaseCorrelate(floatA, floatB, hann, out double response);
        return response > LeastResponse ? new(shift.X, shift.Y) : null;
    }
}
