using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Frames in which the numbers are near one: cloth about the marks' middle with a mean distance of √2 (R. Hartley, 1997),
/// projector pixels about the picture's middle in half widths, where the bend is also written.
/// </summary>
internal sealed record ThrowFrame(
    double ClothX,
    double ClothY,
    double ClothScale,
    double CenterX,
    double CenterY,
    double PixelScale
)
{
    /// <summary>Frames for these marks and a picture of this size.</summary>
    public static ThrowFrame Over(IReadOnlyList<ThrownMark> marks, int width, int height)
    {
        double cx = marks.Average(m => m.Cloth.X);
        double cy = marks.Average(m => m.Cloth.Y);
        double mean = marks.Average(m => m.Cloth.DistanceTo(new(cx, cy)));
        return new(cx, cy, Math.Sqrt(2) / mean, (width - 1) / 2.0, (height - 1) / 2.0, Math.Max(width, height) / 2.0);
    }

    /// <summary>Parameters of a model.</summary>
    public static int SizeOf(BendOrder order) =>
        8
        + order switch
        {
            BendOrder.None => 0,
            BendOrder.Radial => 1,
            _ => 2 * ProjectorBend.Terms - 2,
        };

    /// <summary>A pixel in the picture's frame.</summary>
    public (double U, double V) Normal(Point<ProjectorSpace> p) =>
        ((p.X - CenterX) / PixelScale, (p.Y - CenterY) / PixelScale);

    /// <summary>Distance of a mark from where the map puts it, projector px.</summary>
    public double Off(double[] x, BendOrder order, ThrownMark mark)
    {
        (double du, double dv) = Miss(x, order, mark);
        return Math.Sqrt(du * du + dv * dv);
    }

    /// <summary>The same in the mark's own standard deviations.</summary>
    public double SigmasOff(double[] x, BendOrder order, ThrownMark mark)
    {
        (double du, double dv) = Miss(x, order, mark);
        (double a, double b) = mark.Spread.Whiten(du, dv);
        return Math.Sqrt(a * a + b * b);
    }

    /// <summary>A linear start: the homography alone. Null where the marks do not fix one.</summary>
    public double[]? Start(ThrownMark[] marks, BendOrder order)
    {
        if (
            HomographyFit.Fit<ProjectorSpace, ClothSpace>([.. marks.Select(m => (m.Cloth, m.Projector))]) is not { } map
        )
        {
            return null;
        }

        Homography<ClothSpace, ClothSpace> fromFrame = new([
            1 / ClothScale,
            0,
            ClothX,
            0,
            1 / ClothScale,
            ClothY,
            0,
            0,
            1,
        ]);
        Homography<ProjectorSpace, ProjectorSpace> toFrame = new([
            1 / PixelScale,
            0,
            -CenterX / PixelScale,
            0,
            1 / PixelScale,
            -CenterY / PixelScale,
            0,
            0,
            1,
        ]);
        IReadOnlyList<double> m = toFrame.After(map.After(fromFrame)).RowByRow;
        double[] x = new double[SizeOf(order)];
        for (int k = 0; k < 8; k++)
        {
            x[k] = m[k] / m[8];
        }

        return x;
    }

    /// <summary>The homography of the parameters, inches to pixels.</summary>
    public Homography<ProjectorSpace, ClothSpace> MapOf(double[] x)
    {
        Homography<ClothSpace, ClothSpace> toFrame = new([
            ClothScale,
            0,
            -ClothScale * ClothX,
            0,
            ClothScale,
            -ClothScale * ClothY,
            0,
            0,
            1,
        ]);
        Homography<ProjectorSpace, ProjectorSpace> fromFrame = new([
            PixelScale,
            0,
            CenterX,
            0,
            PixelScale,
            CenterY,
            0,
            0,
            1,
        ]);
        Homography<ProjectorSpace, ClothSpace> framed = new([.. x.Take(8), 1]);
        IReadOnlyList<double> m = fromFrame.After(framed.After(toFrame)).RowByRow;
        double scale = m[8] != 0 ? m[8] : 1;
        return new([.. m.Select(v => v / scale)]);
    }

    /// <summary>The bend of the parameters.</summary>
    public ProjectorBend BendOf(double[] x, BendOrder order)
    {
        double[] a = new double[ProjectorBend.Terms];
        double[] b = new double[ProjectorBend.Terms];
        Coefficients(x, order, a, b);
        return new(new(CenterX, CenterY), PixelScale, a, b);
    }

    /// <summary>A cloth point in the picture's frame, and its derivatives by all parameters where room is given for them.</summary>
    public (double U, double V) Project(
        double[] x,
        BendOrder order,
        Point<ClothSpace> cloth,
        Span<double> gx,
        Span<double> gy
    )
    {
        double s = (cloth.X - ClothX) * ClothScale;
        double t = (cloth.Y - ClothY) * ClothScale;
        double w = 1 / (x[6] * s + x[7] * t + 1);
        double u = (x[0] * s + x[1] * t + x[2]) * w;
        double v = (x[3] * s + x[4] * t + x[5]) * w;
        if (order == BendOrder.None)
        {
            ByMap(1, 0, 0, 1, gx, gy);
            return (u, v);
        }

        Span<double> a = stackalloc double[ProjectorBend.Terms];
        Span<double> b = stackalloc double[ProjectorBend.Terms];
        Span<double> phi = stackalloc double[ProjectorBend.Terms];
        Span<double> byU = stackalloc double[ProjectorBend.Terms];
        Span<double> byV = stackalloc double[ProjectorBend.Terms];
        Coefficients(x, order, a, b);
        ProjectorBend.Basis(u, v, phi);
        ProjectorBend.BasisBy(u, v, byU, byV);
        double du = Dot(a, phi);
        double dv = Dot(b, phi);
        ByMap(1 + Dot(a, byU), Dot(a, byV), Dot(b, byU), 1 + Dot(b, byV), gx, gy);
        if (!gx.IsEmpty && order == BendOrder.Radial)
        {
            gx[8] = phi[3] + phi[5];
            gy[8] = phi[4] + phi[6];
        }
        else if (!gx.IsEmpty)
        {
            for (int k = 1; k < ProjectorBend.Terms; k++)
            {
                gx[7 + k] = phi[k];
            }

            int place = 7 + ProjectorBend.Terms;
            for (int k = 0; k < ProjectorBend.Terms; k++)
            {
                if (k != 2)
                {
                    gy[place++] = phi[k];
                }
            }
        }

        return (u + du, v + dv);

        void ByMap(double xx, double xy, double yx, double yy, Span<double> ofU, Span<double> ofV)
        {
            if (ofU.IsEmpty)
            {
                return;
            }

            ofU.Clear();
            ofV.Clear();
            ReadOnlySpan<double> hu = [s * w, t * w, w, 0, 0, 0, -u * s * w, -u * t * w];
            ReadOnlySpan<double> hv = [0, 0, 0, s * w, t * w, w, -v * s * w, -v * t * w];
            for (int k = 0; k < 8; k++)
            {
                ofU[k] = xx * hu[k] + xy * hv[k];
                ofV[k] = yx * hu[k] + yy * hv[k];
            }
        }
    }

    private static void Coefficients(double[] x, BendOrder order, Span<double> a, Span<double> b)
    {
        a.Clear();
        b.Clear();
        if (order == BendOrder.Radial)
        {
            a[3] = a[5] = b[4] = b[6] = x[8];
            return;
        }

        // x² in x and y² in y are left to the homography's last row.
        for (int k = 1; k < ProjectorBend.Terms; k++)
        {
            a[k] = x[7 + k];
        }

        int place = 7 + ProjectorBend.Terms;
        for (int k = 0; k < ProjectorBend.Terms; k++)
        {
            if (k != 2)
            {
                b[k] = x[place++];
            }
        }
    }

    private static double Dot(ReadOnlySpan<double> a, ReadOnlySpan<double> b)
    {
        double sum = 0;
        for (int k = 0; k < a.Length; k++)
        {
            sum += a[k] * b[k];
        }

        return sum;
    }

    private (double X, double Y) Miss(double[] x, BendOrder order, ThrownMark mark)
    {
        (double u, double v) = Project(x, order, mark.Cloth, [], []);
        (double tu, double tv) = Normal(mark.Projector);
        return (PixelScale * (u - tu), PixelScale * (v - tv));
    }
}
