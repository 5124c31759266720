namespace OverlayPlanner.Calibration;

/// <summary>
/// The camera as the solver sees it: pinhole, Brown–Conrady distortion, skew; with derivatives in closed form.
/// </summary>
/// <remarks>
/// A camera is ten numbers: f, aspect, cx, cy, k1, k2, p1, p2, k3, skew, with fx = f and fy = f × aspect. For a point
/// (x, y, z) seen from the camera: x' = x ÷ z, y' = y ÷ z, r² = x'² + y'²;
/// x'' = x' (1 + k1 r² + k2 r⁴ + k3 r⁶) + 2 p1 x' y' + p2 (r² + 2 x'²), y'' likewise with p1 and p2 exchanged;
/// u = fx x'' + skew y'' + cx, v = fy y'' + cy (D. C. Brown, 1971; OpenCV's order; skew as in Z. Zhang, 2000).
/// A pose is six numbers, a rotation vector and a shift: seen = R(w) X + t.
/// </remarks>
internal static class CameraModel
{
    /// <summary>Numbers of a camera.</summary>
    public const int Size = 10;

    /// <summary>Numbers of a pose.</summary>
    public const int PoseSize = 6;

    public const int F = 0;
    public const int Aspect = 1;
    public const int Cx = 2;
    public const int Cy = 3;
    public const int K1 = 4;
    public const int K2 = 5;
    public const int P1 = 6;
    public const int P2 = 7;
    public const int K3 = 8;
    public const int Skew = 9;

    /// <summary>The ten numbers of a profile.</summary>
    public static double[] FromProfile(LensProfile lens) =>
        [
            lens.Fx,
            lens.Fy / lens.Fx,
            lens.Cx,
            lens.Cy,
            lens.Distortion[0],
            lens.Distortion[1],
            lens.Distortion[2],
            lens.Distortion[3],
            lens.Distortion[4],
            0,
        ];

    /// <summary>The profile of ten numbers; the skew is left out.</summary>
    public static LensProfile ToProfile(ReadOnlySpan<double> c, int width, int height) =>
        new(width, height, c[F], c[F] * c[Aspect], c[Cx], c[Cy], [c[K1], c[K2], c[P1], c[P2], c[K3]]);

    /// <summary>
    /// Where the camera shows a point given in its own frame, with derivatives by the camera's numbers (2 × 10, row by row) and
    /// by the point (2 × 3); empty spans where they are not wanted.
    /// </summary>
    /// <returns>False for a point that is not in front of the camera.</returns>
    public static bool Project(
        ReadOnlySpan<double> camera,
        double px,
        double py,
        double pz,
        out double u,
        out double v,
        Span<double> byCamera,
        Span<double> byPoint
    )
    {
        if (!(pz > 1e-9))
        {
            u = double.NaN;
            v = double.NaN;
            return false;
        }

        double f = camera[F];
        double fy = f * camera[Aspect];
        double x = px / pz;
        double y = py / pz;
        double k1 = camera[K1];
        double k2 = camera[K2];
        double k3 = camera[K3];
        double p1 = camera[P1];
        double p2 = camera[P2];
        double skew = camera[Skew];
        double r2 = x * x + y * y;
        double radial = 1 + r2 * (k1 + r2 * (k2 + r2 * k3));
        double xd = x * radial + 2 * p1 * x * y + p2 * (r2 + 2 * x * x);
        double yd = y * radial + p1 * (r2 + 2 * y * y) + 2 * p2 * x * y;
        u = f * xd + skew * yd + camera[Cx];
        v = fy * yd + camera[Cy];
        if (!byCamera.IsEmpty)
        {
            double r4 = r2 * r2;
            double r6 = r4 * r2;
            Span<double> du = byCamera[..Size];
            Span<double> dv = byCamera.Slice(Size, Size);
            du[F] = xd;
            du[Aspect] = 0;
            du[Cx] = 1;
            du[Cy] = 0;
            du[K1] = f * x * r2 + skew * y * r2;
            du[K2] = f * x * r4 + skew * y * r4;
            du[P1] = f * 2 * x * y + skew * (r2 + 2 * y * y);
            du[P2] = f * (r2 + 2 * x * x) + skew * 2 * x * y;
            du[K3] = f * x * r6 + skew * y * r6;
            du[Skew] = yd;
            dv[F] = camera[Aspect] * yd;
            dv[Aspect] = f * yd;
            dv[Cx] = 0;
            dv[Cy] = 1;
            dv[K1] = fy * y * r2;
            dv[K2] = fy * y * r4;
            dv[P1] = fy * (r2 + 2 * y * y);
            dv[P2] = fy * 2 * x * y;
            dv[K3] = fy * y * r6;
            dv[Skew] = 0;
        }

        if (!byPoint.IsEmpty)
        {
            double slope = k1 + r2 * (2 * k2 + r2 * 3 * k3);
            double xx = radial + 2 * x * x * slope + 2 * p1 * y + 6 * p2 * x;
            double xy = 2 * x * y * slope + 2 * p1 * x + 2 * p2 * y;
            double yy = radial + 2 * y * y * slope + 6 * p1 * y + 2 * p2 * x;
            double ux = f * xx + skew * xy;
            double uy = f * xy + skew * yy;
            double vx = fy * xy;
            double vy = fy * yy;
            byPoint[0] = ux / pz;
            byPoint[1] = uy / pz;
            byPoint[2] = -(ux * x + uy * y) / pz;
            byPoint[3] = vx / pz;
            byPoint[4] = vy / pz;
            byPoint[5] = -(vx * x + vy * y) / pz;
        }

        return true;
    }

    /// <summary>
    /// The rotation of a rotation vector, row by row, and the left Jacobian J with ∂(R X) ÷ ∂w = −[R X]× J
    /// (O. Rodrigues, 1840; T. Barfoot, 2017, 7.1.5).
    /// </summary>
    public static void Rotation(ReadOnlySpan<double> w, Span<double> r, Span<double> leftJacobian)
    {
        double t2 = w[0] * w[0] + w[1] * w[1] + w[2] * w[2];
        double t = Math.Sqrt(t2);

        // sin t ÷ t, (1 − cos t) ÷ t², (t − sin t) ÷ t³; by their series where the quotients lose digits.
        double a = t < 1e-4 ? 1 - t2 / 6 : Math.Sin(t) / t;
        double b = t < 1e-4 ? 0.5 - t2 / 24 : (1 - Math.Cos(t)) / t2;
        double c = t < 1e-3 ? 1.0 / 6 - t2 / 120 : (t - Math.Sin(t)) / (t2 * t);
        double cos = 1 - b * t2;
        for (int i = 0; i < 3; i++)
        {
            for (int j = 0; j < 3; j++)
            {
                double outer = w[i] * w[j];
                double cross = i == j ? 0 : ((j - i + 3) % 3 == 1 ? -1 : 1) * w[3 - i - j];
                r[3 * i + j] = (i == j ? cos : 0) + a * cross + b * outer;
                if (!leftJacobian.IsEmpty)
                {
                    leftJacobian[3 * i + j] = (i == j ? a : 0) + b * cross + c * outer;
                }
            }
        }
    }

    /// <summary>The rotation vector of a rotation matrix, length in [0, π].</summary>
    public static double[] RotationVector(ReadOnlySpan<double> r)
    {
        // By way of the quaternion, largest component first, which is exact at every angle (S. W. Shepperd, 1978).
        double[] q = new double[4];
        double trace = r[0] + r[4] + r[8];
        if (trace > 0)
        {
            double s = 2 * Math.Sqrt(1 + trace);
            q = [s / 4, (r[7] - r[5]) / s, (r[2] - r[6]) / s, (r[3] - r[1]) / s];
        }
        else if (r[0] >= r[4] && r[0] >= r[8])
        {
            double s = 2 * Math.Sqrt(1 + r[0] - r[4] - r[8]);
            q = [(r[7] - r[5]) / s, s / 4, (r[1] + r[3]) / s, (r[2] + r[6]) / s];
        }
        else if (r[4] >= r[8])
        {
            double s = 2 * Math.Sqrt(1 + r[4] - r[0] - r[8]);
            q = [(r[2] - r[6]) / s, (r[1] + r[3]) / s, s / 4, (r[5] + r[7]) / s];
        }
        else
        {
            double s = 2 * Math.Sqrt(1 + r[8] - r[0] - r[4]);
            q = [(r[3] - r[1]) / s, (r[2] + r[6]) / s, (r[5] + r[7]) / s, s / 4];
        }

        double sign = q[0] < 0 ? -1 : 1;
        double sin = Math.Sqrt(q[1] * q[1] + q[2] * q[2] + q[3] * q[3]);
        double angle = 2 * Math.Atan2(sin, sign * q[0]);
        double f = sin < 1e-12 ? 2 * sign : sign * angle / sin;
        return [f * q[1], f * q[2], f * q[3]];
    }

    /// <summary>
    /// Takes a point through a pose and the camera, with derivatives by the camera (2 × 10), the pose (2 × 6) and the point
    /// (2 × 3).
    /// </summary>
    /// <returns>False for a point that is not in front of the camera.</returns>
    public static bool ProjectPosed(
        ReadOnlySpan<double> camera,
        ReadOnlySpan<double> pose,
        ReadOnlySpan<double> point,
        out double u,
        out double v,
        Span<double> byCamera,
        Span<double> byPose,
        Span<double> byWorld
    )
    {
        Span<double> r = stackalloc double[9];
        Span<double> left = stackalloc double[9];
        Rotation(pose, r, byPose.IsEmpty ? [] : left);
        Span<double> turned = stackalloc double[3];
        for (int i = 0; i < 3; i++)
        {
            turned[i] = r[3 * i] * point[0] + r[3 * i + 1] * point[1] + r[3 * i + 2] * point[2];
        }

        Span<double> byPoint = stackalloc double[6];
        bool wanted = !byPose.IsEmpty || !byWorld.IsEmpty;
        if (
            !Project(
                camera,
                turned[0] + pose[3],
                turned[1] + pose[4],
                turned[2] + pose[5],
                out u,
                out v,
                byCamera,
                wanted ? byPoint : []
            )
        )
        {
            return false;
        }

        for (int i = 0; wanted && i < 2; i++)
        {
            double a = byPoint[3 * i];
            double b = byPoint[3 * i + 1];
            double c = byPoint[3 * i + 2];
            if (!byPose.IsEmpty)
            {
                // gᵀ (−[p]× J) = (p × g)ᵀ J.
                double mx = turned[1] * c - turned[2] * b;
                double my = turned[2] * a - turned[0] * c;
                double mz = turned[0] * b - turned[1] * a;
                for (int k = 0; k < 3; k++)
                {
                    byPose[PoseSize * i + k] = mx * left[k] + my * left[3 + k] + mz * left[6 + k];
                }

                byPose[PoseSize * i + 3] = a;
                byPose[PoseSize * i + 4] = b;
                byPose[PoseSize * i + 5] = c;
            }

            if (!byWorld.IsEmpty)
            {
                for (int k = 0; k < 3; k++)
                {
                    byWorld[3 * i + k] = a * r[k] + b * r[3 + k] + c * r[6 + k];
                }
            }
        }

        return true;
    }
}

/// <summary>One known point of a board, seen in one photo: residual groups are the camera and the photo's pose.</summary>
internal sealed class BoardPointBlock(int camera, int pose, double[] point, double u, double v, double sigma)
    : ResidualBlock(2, camera, pose)
{
    /// <inheritdoc/>
    public override bool Evaluate(ReadOnlySpan<double> x, Span<double> r, Span<double> j)
    {
        const int Width = CameraModel.Size + CameraModel.PoseSize;
        Span<double> byCamera = stackalloc double[2 * CameraModel.Size];
        Span<double> byPose = stackalloc double[2 * CameraModel.PoseSize];
        bool wanted = !j.IsEmpty;
        bool seen = CameraModel.ProjectPosed(
            x[..CameraModel.Size],
            x.Slice(CameraModel.Size, CameraModel.PoseSize),
            point,
            out double pu,
            out double pv,
            wanted ? byCamera : [],
            wanted ? byPose : [],
            []
        );
        if (!seen)
        {
            return false;
        }

        r[0] = (pu - u) / sigma;
        r[1] = (pv - v) / sigma;
        for (int i = 0; wanted && i < 2; i++)
        {
            for (int k = 0; k < CameraModel.Size; k++)
            {
                j[i * Width + k] = byCamera[i * CameraModel.Size + k] / sigma;
            }

            for (int k = 0; k < CameraModel.PoseSize; k++)
            {
                j[i * Width + CameraModel.Size + k] = byPose[i * CameraModel.PoseSize + k] / sigma;
            }
        }

        return true;
    }
}
