using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Detection.Outline;

/// <summary>What the picture shows inside, at and beyond one side of the mapped area.</summary>
/// <param name="StepShare">Share of the side where the cloth changes just at it, more than it changes a little inside or beyond.</param>
/// <param name="Line">How much darker the side itself is than just inside and beyond, CIE lightness.</param>
/// <param name="LineError">One standard deviation of that.</param>
/// <param name="Shadow">How much darker it is just beyond than farther beyond, natural logarithm of light.</param>
/// <param name="ShadowError">One standard deviation of that.</param>
/// <param name="Beyond">Middle colour beyond.</param>
/// <param name="Unrest">How much the colour beyond changes along the side, CIE 1976.</param>
/// <param name="UnrestInside">The same inside.</param>
/// <param name="Grain">How much the light beyond changes within a third of an inch, relative.</param>
internal sealed record SideLook(
    double StepShare,
    double Line,
    double LineError,
    double Shadow,
    double ShadowError,
    LabColor Beyond,
    double Unrest,
    double UnrestInside,
    double Grain
)
{
    private const double PieceInches = 0.33;
    private const double Step = 0.03;
    private const double NearFrom = 0.06;
    private const double NearTo = 0.18;
    private const double FarTo = 0.3;
    private const double LeastChange = 7;
    private const double TimesRest = 1.6;

    /// <summary>Looks at the side from <paramref name="from"/> to <paramref name="to"/>; null where the margin is too thin.</summary>
    /// <param name="outward">Unit vector out of the mapped area.</param>
    public static SideLook? Of(
        Picture picture,
        double margin,
        Point<ClothSpace> from,
        Point<ClothSpace> to,
        Vector<ClothSpace> outward
    )
    {
        double length = from.DistanceTo(to);
        double reach = Math.Min(margin, 0.6);
        if (reach < FarTo || length < 2 * PieceInches)
        {
            return null;
        }

        int pieces = (int)(length / PieceInches);
        List<double> lines = [];
        List<double> shadows = [];
        List<double> grains = [];
        List<LabColor> beyond = [];
        List<LabColor> inside = [];
        int steps = 0;
        int seen = 0;
        for (int i = 0; i < pieces; i++)
        {
            Band At(double u0, double u1) => Band.Of(picture, margin, from, to, outward, i, pieces, u0, u1);
            Band nearIn = At(-NearTo, -NearFrom);
            Band nearOut = At(NearFrom, NearTo);
            Band farIn = At(-FarTo, -NearTo);
            Band farOut = At(NearTo, FarTo);
            Band here = At(-0.045, 0.03);
            Band lip = At(0.02, 0.1);
            Band out_ = At(0.25, reach);
            if (nearOut.Empty || farOut.Empty || out_.Empty)
            {
                continue;
            }

            seen++;
            double rest = Math.Max(nearIn.Color.DistanceTo(farIn.Color), nearOut.Color.DistanceTo(farOut.Color));
            steps += nearIn.Color.DistanceTo(nearOut.Color) > Math.Max(LeastChange, TimesRest * rest) ? 1 : 0;
            lines.Add(Math.Min(nearIn.Color.L, nearOut.Color.L) - here.Color.L);
            shadows.Add(Math.Log((out_.Light + 0.01) / (lip.Light + 0.01)));
            beyond.Add(out_.Color);
            inside.Add(nearIn.Color);
            grains.Add(out_.Grain);
        }

        if (seen < 2)
        {
            return null;
        }

        return new(
            (double)steps / seen,
            Middle(lines),
            ErrorOf(lines),
            Middle(shadows),
            ErrorOf(shadows),
            MiddleOf(beyond),
            Spread(beyond),
            Spread(inside),
            Middle(grains)
        );
    }

    private static double Middle(List<double> v)
    {
        double[] sorted = [.. v.Order()];
        return sorted[sorted.Length / 2];
    }

    // 1.2533 σ / √n is the standard error of a median of normal values.
    private static double ErrorOf(List<double> v)
    {
        double m = v.Average();
        return 1.2533 * Math.Sqrt(v.Sum(x => (x - m) * (x - m)) / Math.Max(1, v.Count - 1) / v.Count);
    }

    private static LabColor MiddleOf(List<LabColor> v) =>
        new(Middle([.. v.Select(c => c.L)]), Middle([.. v.Select(c => c.A)]), Middle([.. v.Select(c => c.B)]));

    private static double Spread(List<LabColor> v)
    {
        LabColor middle = MiddleOf(v);
        return Middle([.. v.Select(c => c.DistanceTo(middle))]);
    }

    /// <summary>Mean colour of a strip along a piece of the side.</summary>
    private readonly record struct Band(LabColor Color, double Light, double Grain, bool Empty)
    {
        public static Band Of(
            Picture picture,
            double margin,
            Point<ClothSpace> from,
            Point<ClothSpace> to,
            Vector<ClothSpace> outward,
            int piece,
            int pieces,
            double u0,
            double u1
        )
        {
            double density = picture.PixelsPerInch!.Value;
            Vector<ClothSpace> way = to - from;
            int along = Math.Max(3, (int)(way.Norm / pieces / Step));
            int across = Math.Max(2, (int)((u1 - u0) / Step));
            (double r, double g, double b, double square, int n) = (0, 0, 0, 0, 0);
            for (int i = 0; i < along; i++)
            {
                for (int j = 0; j < across; j++)
                {
                    Point<ClothSpace> p =
                        from
                        + way * ((piece + (i + 0.5) / along) / pieces)
                        + outward * (u0 + (u1 - u0) * (j + 0.5) / across);
                    int x = (int)Math.Round((p.X + margin) * density - 0.5);
                    int y = (int)Math.Round((p.Y + margin) * density - 0.5);
                    if (x < 0 || y < 0 || x >= picture.Width || y >= picture.Height)
                    {
                        continue;
                    }

                    int at = picture.IndexOf(x, y);
                    double light =
                        0.2126 * picture.Rgb[at] + 0.7152 * picture.Rgb[at + 1] + 0.0722 * picture.Rgb[at + 2];
                    r += picture.Rgb[at];
                    g += picture.Rgb[at + 1];
                    b += picture.Rgb[at + 2];
                    square += light * light;
                    n++;
                }
            }

            if (n == 0)
            {
                return new(default, 0, 0, true);
            }

            double mean = (0.2126 * r + 0.7152 * g + 0.0722 * b) / n;
            double grain = Math.Sqrt(Math.Max(0, square / n - mean * mean)) / (mean + 2);

            // Light in the linear sense, by the usual exponent; only ratios of it are used.
            return new(LabColor.FromRgb(r / n, g / n, b / n), Math.Pow(mean / 255, 2.2), grain, false);
        }
    }
}
