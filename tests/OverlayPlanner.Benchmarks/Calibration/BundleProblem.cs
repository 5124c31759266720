using System.Globalization;
using OverlayPlanner.Calibration;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// A problem of the Bundle Adjustment in the Large collection: cameras of nine numbers (rotation vector, shift, f, k1, k2),
/// points of three; p = −P ÷ P.z, x = f (1 + k1 r² + k2 r⁴) p.
/// </summary>
internal static class BundleProblem
{
    /// <summary>Reads a problem in the collection's text format; points are eliminated.</summary>
    public static LeastSquaresProblem Read(Stream text)
    {
        using StreamReader reader = new(text);
        string[] words = reader.ReadToEnd().Split([' ', '\t', '\r', '\n'], StringSplitOptions.RemoveEmptyEntries);
        int at = 0;
        int cameras = (int)Next();
        int points = (int)Next();
        int observations = (int)Next();
        (int Camera, int Point, double U, double V)[] seen = new (int, int, double, double)[observations];
        for (int i = 0; i < observations; i++)
        {
            seen[i] = ((int)Next(), (int)Next(), Next(), Next());
        }

        LeastSquaresProblem problem = new();
        for (int i = 0; i < cameras; i++)
        {
            problem.AddGroup([Next(), Next(), Next(), Next(), Next(), Next(), Next(), Next(), Next()]);
        }

        for (int i = 0; i < points; i++)
        {
            problem.AddGroup([Next(), Next(), Next()], eliminate: true);
        }

        foreach ((int camera, int point, double u, double v) in seen)
        {
            problem.Add(new Observation(camera, cameras + point, u, v));
        }

        return problem;

        double Next() => double.Parse(words[at++], NumberStyles.Float, CultureInfo.InvariantCulture);
    }

    private sealed class Observation(int camera, int point, double u, double v) : ResidualBlock(2, camera, point)
    {
        private const int Width = 12;

        public override bool Evaluate(ReadOnlySpan<double> x, Span<double> r, Span<double> j)
        {
            // Turned half round the x axis the collection's camera (looking along −z, y up) is ours, with v negated.
            ReadOnlySpan<double> w = x[..3];
            Span<double> rotation = stackalloc double[9];
            Span<double> left = stackalloc double[9];
            CameraModel.Rotation(w, rotation, left);
            Span<double> p = stackalloc double[3];
            for (int i = 0; i < 3; i++)
            {
                p[i] = rotation[3 * i] * x[9] + rotation[3 * i + 1] * x[10] + rotation[3 * i + 2] * x[11];
            }

            double turnedX = p[0];
            double turnedY = p[1];
            double turnedZ = p[2];
            double qx = turnedX + x[3];
            double qy = turnedY + x[4];
            double qz = turnedZ + x[5];
            double px = -qx / qz;
            double py = -qy / qz;
            double f = x[6];
            double k1 = x[7];
            double k2 = x[8];
            double r2 = px * px + py * py;
            double radial = 1 + r2 * (k1 + r2 * k2);
            r[0] = f * radial * px - u;
            r[1] = f * radial * py - v;
            if (j.IsEmpty)
            {
                return double.IsFinite(r[0]);
            }

            double slope = 2 * (k1 + 2 * k2 * r2);
            Span<double> g = stackalloc double[3];
            for (int i = 0; i < 2; i++)
            {
                double own = i == 0 ? px : py;
                double dx = f * (own * slope * px + (i == 0 ? radial : 0));
                double dy = f * (own * slope * py + (i == 1 ? radial : 0));
                g[0] = -dx / qz;
                g[1] = -dy / qz;
                g[2] = -(dx * px + dy * py) / qz;
                double mx = turnedY * g[2] - turnedZ * g[1];
                double my = turnedZ * g[0] - turnedX * g[2];
                double mz = turnedX * g[1] - turnedY * g[0];
                for (int k = 0; k < 3; k++)
                {
                    j[i * Width + k] = mx * left[k] + my * left[3 + k] + mz * left[6 + k];
                    j[i * Width + 3 + k] = g[k];
                    j[i * Width + 9 + k] = g[0] * rotation[k] + g[1] * rotation[3 + k] + g[2] * rotation[6 + k];
                }

                j[i * Width + 6] = radial * own;
                j[i * Width + 7] = f * own * r2;
                j[i * Width + 8] = f * own * r2 * r2;
            }

            return double.IsFinite(r[0]);
        }
    }
}
