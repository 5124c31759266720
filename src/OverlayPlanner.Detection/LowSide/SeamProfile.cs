using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.LowSide;

/// <summary>
/// Light across one piece of a seam, averaged along stretches of it: linear light of the three channels at places across, left
/// of the way positive, inches.
/// </summary>
internal sealed class SeamProfile
{
    /// <summary>Places across, from the right to the left.</summary>
    public const int Places = 33;

    /// <summary>Distance between two places, in.</summary>
    public const double Step = 1 / 64.0;

    // Points are bulky, and other seams' ditches lie there.
    private const double TrimInches = 0.2;
    private const double TrimShare = 0.15;
    private const double StretchInches = 0.3;
    private const double AlongInches = 0.03;

    private static readonly double[] LinearOf = MakeLinear();

    private SeamProfile(double[][][] stretches, double[] from, double[] to, Vector<ClothSpace> left)
    {
        Stretches = stretches;
        From = from;
        To = to;
        Left = left;
    }

    /// <summary>For each stretch, for each channel, linear light 0 to 1 at each place.</summary>
    public double[][][] Stretches { get; }

    /// <summary>Where each stretch begins, as a share of the way.</summary>
    public double[] From { get; }

    /// <summary>Where each stretch ends, as a share of the way.</summary>
    public double[] To { get; }

    /// <summary>Unit normal to the left of the way in the middle.</summary>
    public Vector<ClothSpace> Left { get; }

    /// <summary>The place's distance from the seam, in, positive left of the way.</summary>
    public static double Across(int place) => (place - Places / 2) * Step;

    /// <summary>Measures a seam; null where it is too short to have a clear middle or the picture does not show it.</summary>
    public static SeamProfile? Of(Edge<ClothSpace> path, Picture picture, double marginInches)
    {
        double density = picture.PixelsPerInch!.Value;
        double length = path.Length;
        double trim = Math.Min(TrimInches, TrimShare * length);
        double clear = length - 2 * trim;
        if (clear < StretchInches)
        {
            return null;
        }

        int count = Math.Max(2, (int)(clear / StretchInches));
        int samples = Math.Max(2, (int)Math.Ceiling(clear / count / AlongInches));
        double[][][] stretches = new double[count][][];
        double[] from = new double[count];
        double[] to = new double[count];
        for (int k = 0; k < count; k++)
        {
            from[k] = (trim + k * clear / count) / length;
            to[k] = (trim + (k + 1) * clear / count) / length;
            double[][] sum = [new double[Places], new double[Places], new double[Places]];
            for (int i = 0; i < samples; i++)
            {
                double t = from[k] + (to[k] - from[k]) * (i + 0.5) / samples;
                Point<ClothSpace> at = path.PointAt(t);
                Vector<ClothSpace> left = path.DirectionAt(t).TurnedLeft;
                for (int j = 0; j < Places; j++)
                {
                    Point<ClothSpace> p = at + left * Across(j);
                    double x = (p.X + marginInches) * density - 0.5;
                    double y = (p.Y + marginInches) * density - 0.5;
                    if (x < 0 || y < 0 || x > picture.Width - 1 || y > picture.Height - 1)
                    {
                        return null;
                    }

                    Add(picture, x, y, sum, j);
                }
            }

            foreach (double[] channel in sum)
            {
                for (int j = 0; j < Places; j++)
                {
                    channel[j] /= samples;
                }
            }

            stretches[k] = sum;
        }

        return new(stretches, from, to, path.DirectionAt(0.5).TurnedLeft);
    }

    /// <summary>The mean of stretches <paramref name="first"/> to <paramref name="end"/> (not included).</summary>
    public double[][] Mean(int first, int end)
    {
        double[][] mean = [new double[Places], new double[Places], new double[Places]];
        for (int k = first; k < end; k++)
        {
            for (int c = 0; c < 3; c++)
            {
                for (int j = 0; j < Places; j++)
                {
                    mean[c][j] += Stretches[k][c][j] / (end - first);
                }
            }
        }

        return mean;
    }

    private static void Add(Picture picture, double x, double y, double[][] sum, int place)
    {
        int x0 = Math.Min((int)x, Math.Max(picture.Width - 2, 0));
        int y0 = Math.Min((int)y, Math.Max(picture.Height - 2, 0));
        int x1 = Math.Min(x0 + 1, picture.Width - 1);
        int y1 = Math.Min(y0 + 1, picture.Height - 1);
        double fx = x - x0;
        double fy = y - y0;
        byte[] rgb = picture.Rgb;
        for (int c = 0; c < 3; c++)
        {
            double above =
                LinearOf[rgb[picture.IndexOf(x0, y0) + c]] * (1 - fx) + LinearOf[rgb[picture.IndexOf(x1, y0) + c]] * fx;
            double below =
                LinearOf[rgb[picture.IndexOf(x0, y1) + c]] * (1 - fx) + LinearOf[rgb[picture.IndexOf(x1, y1) + c]] * fx;
            sum[c][place] += above * (1 - fy) + below * fy;
        }
    }

    // sRGB (IEC 61966-2-1) to linear light.
    private static double[] MakeLinear()
    {
        double[] table = new double[256];
        for (int i = 0; i < table.Length; i++)
        {
            double v = i / 255.0;
            table[i] = v <= 0.04045 ? v / 12.92 : Math.Pow((v + 0.055) / 1.055, 2.4);
        }

        return table;
    }
}
