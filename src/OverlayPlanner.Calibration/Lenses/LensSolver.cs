using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Which distortion terms are free.</summary>
internal enum DistortionTerms
{
    /// <summary>A perfect pinhole.</summary>
    None,

    /// <summary>k1.</summary>
    OneRadial,

    /// <summary>k1, k2.</summary>
    TwoRadial,

    /// <summary>k1, k2, k3.</summary>
    ThreeRadial,

    /// <summary>k1, k2, p1, p2.</summary>
    TwoRadialTangential,

    /// <summary>k1, k2, p1, p2, k3.</summary>
    All,
}

/// <summary>What a lens solve may change.</summary>
/// <param name="Terms">Free distortion terms; the others stay 0.</param>
/// <param name="FreeAspect">Whether fx and fy may differ.</param>
/// <param name="FreeSkew">Whether the pixel axes may be out of square (for published results that have it).</param>
/// <param name="Centre">The centre, where it is held.</param>
internal sealed record LensFreedom(
    DistortionTerms Terms,
    bool FreeAspect = true,
    bool FreeSkew = false,
    Point<PhotoSpace>? Centre = null
);

/// <summary>Corners of a board found in one photo.</summary>
/// <param name="Name">The photo.</param>
/// <param name="Points">Board inches (any unit, the poses have the same) and photo pixels.</param>
internal sealed record BoardView(string Name, IReadOnlyList<(Point<ClothSpace> Board, Point<PhotoSpace> Seen)> Points);

/// <summary>A solved lens.</summary>
/// <param name="Camera">The ten numbers of <see cref="CameraModel"/>.</param>
/// <param name="Poses">Pose of each view.</param>
/// <param name="Covariance">Rows in the order fx, fy, cx, cy, k1, k2, p1, p2, k3, skew; zero where held.</param>
/// <param name="PoseSigmas">Standard deviation of each view's six pose numbers.</param>
/// <param name="SigmaPixels">Estimated standard deviation of a corner, one axis: √(Σ r² ÷ (2 points − parameters)).</param>
/// <param name="RmsPixels">Root mean square of the 2-D distances.</param>
/// <param name="ViewRms">The same for each view.</param>
internal sealed record LensSolution(
    double[] Camera,
    IReadOnlyList<double[]> Poses,
    double[,] Covariance,
    IReadOnlyList<double[]> PoseSigmas,
    double SigmaPixels,
    double RmsPixels,
    IReadOnlyList<double> ViewRms
)
{
    /// <summary>Standard deviation of one number, in the order of <see cref="Covariance"/>.</summary>
    public double SigmaOf(int index) => Math.Sqrt(Covariance[index, index]);
}

/// <summary>
/// A lens from views of a flat board: Zhang's closed form for the start (Z. Zhang, 2000, 3.1), then all numbers and poses
/// together by <see cref="LeastSquaresProblem"/>, with their covariance.
/// </summary>
internal static class LensSolver
{
    /// <summary>Solves; null where the views do not fix a lens (too few, all parallel to the sensor).</summary>
    public static LensSolution? Solve(
        IReadOnlyList<BoardView> views,
        int width,
        int height,
        LensFreedom freedom,
        CancellationToken ct = default
    )
    {
        List<Homography<PhotoSpace, ClothSpace>> maps = [];
        foreach (BoardView view in views)
        {
            if (HomographyFit.Fit<PhotoSpace, ClothSpace>([.. view.Points]) is not { } map)
            {
                return null;
            }

            maps.Add(map);
        }

        double[] camera = Start(maps, width, height, freedom.Centre);
        LeastSquaresProblem problem = new();
        int cameraGroup = problem.AddGroup(camera);
        Hold(problem, cameraGroup, freedom);
        List<int> poseGroups = [];
        for (int i = 0; i < views.Count; i++)
        {
            poseGroups.Add(problem.AddGroup(PoseOf(maps[i], camera)));
            foreach ((Point<ClothSpace> board, Point<PhotoSpace> seen) in views[i].Points)
            {
                problem.Add(new BoardPointBlock(cameraGroup, poseGroups[i], [board.X, board.Y, 0], seen.X, seen.Y, 1));
            }
        }

        if (double.IsInfinity(problem.Cost()))
        {
            return null;
        }

        problem.Solve(300, 1e-14, ct);
        if (problem.Covariance() is not { } unit)
        {
            return null;
        }

        return Report(problem, unit, views, cameraGroup, poseGroups);
    }

    /// <summary>The pose of one view for a known camera, and the residuals' 2-D root mean square; null where it has none.</summary>
    public static (double[] Pose, double Rms)? SolvePose(BoardView view, double[] camera)
    {
        if (HomographyFit.Fit<PhotoSpace, ClothSpace>([.. view.Points]) is not { } map)
        {
            return null;
        }

        LeastSquaresProblem problem = new();
        int cameraGroup = problem.AddGroup(camera);
        for (int i = 0; i < CameraModel.Size; i++)
        {
            problem.Hold(cameraGroup, i);
        }

        int pose = problem.AddGroup(PoseOf(map, camera));
        foreach ((Point<ClothSpace> board, Point<PhotoSpace> seen) in view.Points)
        {
            problem.Add(new BoardPointBlock(cameraGroup, pose, [board.X, board.Y, 0], seen.X, seen.Y, 1));
        }

        if (double.IsInfinity(problem.Cost()))
        {
            return null;
        }

        SolveReport report = problem.Solve(100);
        return (problem.Values(pose), Math.Sqrt(2 * report.Cost / view.Points.Count));
    }

    private static void Hold(LeastSquaresProblem problem, int camera, LensFreedom freedom)
    {
        problem.Hold(camera, CameraModel.Aspect, !freedom.FreeAspect);
        problem.Hold(camera, CameraModel.Skew, !freedom.FreeSkew);
        problem.Hold(camera, CameraModel.Cx, freedom.Centre is not null);
        problem.Hold(camera, CameraModel.Cy, freedom.Centre is not null);
        int[] free = FreeTerms(freedom.Terms);
        for (int k = CameraModel.K1; k <= CameraModel.K3; k++)
        {
            problem.Hold(camera, k, !free.Contains(k));
        }
    }

    /// <summary>The free terms' places in the camera's numbers.</summary>
    internal static int[] FreeTerms(DistortionTerms terms) =>
        terms switch
        {
            DistortionTerms.None => [],
            DistortionTerms.OneRadial => [CameraModel.K1],
            DistortionTerms.TwoRadial => [CameraModel.K1, CameraModel.K2],
            DistortionTerms.ThreeRadial => [CameraModel.K1, CameraModel.K2, CameraModel.K3],
            DistortionTerms.TwoRadialTangential => [CameraModel.K1, CameraModel.K2, CameraModel.P1, CameraModel.P2],
            _ => [CameraModel.K1, CameraModel.K2, CameraModel.P1, CameraModel.P2, CameraModel.K3],
        };

    private static LensSolution Report(
        LeastSquaresProblem problem,
        ParameterCovariance unit,
        IReadOnlyList<BoardView> views,
        int cameraGroup,
        List<int> poseGroups
    )
    {
        double variance = problem.Inflation();
        double[] c = problem.Values(cameraGroup);
        const int Size = CameraModel.Size;

        // From (f, aspect, …) to (fx, fy, …): fy = f × aspect.
        double[,] by = new double[Size, Size];
        for (int i = 0; i < Size; i++)
        {
            by[i, i] = 1;
        }

        by[1, CameraModel.F] = c[CameraModel.Aspect];
        by[1, CameraModel.Aspect] = c[CameraModel.F];
        double[,] covariance = new double[Size, Size];
        for (int i = 0; i < Size; i++)
        {
            for (int j = 0; j < Size; j++)
            {
                double sum = 0;
                for (int k = 0; k < Size; k++)
                {
                    for (int l = 0; l < Size; l++)
                    {
                        sum += by[i, k] * by[j, l] * unit[(cameraGroup, k), (cameraGroup, l)];
                    }
                }

                covariance[i, j] = sum * variance;
            }
        }

        List<double[]> poses = [];
        List<double[]> sigmas = [];
        List<double> viewRms = [];
        double all = 0;
        int at = 0;
        int count = 0;
        for (int i = 0; i < views.Count; i++)
        {
            int group = poseGroups[i];
            poses.Add(problem.Values(group));
            sigmas.Add([
                .. Enumerable.Range(0, CameraModel.PoseSize).Select(k => Math.Sqrt(variance) * unit.SigmaOf(group, k)),
            ]);
            double sum = 0;
            for (int k = 0; k < views[i].Points.Count; k++)
            {
                sum += problem.ResidualsOf(problem.Blocks[at++]).Sum(r => r * r);
            }

            viewRms.Add(Math.Sqrt(sum / views[i].Points.Count));
            all += sum;
            count += views[i].Points.Count;
        }

        return new(c, poses, covariance, sigmas, Math.Sqrt(variance), Math.Sqrt(all / count), viewRms);
    }

    /// <summary>
    /// Zhang's closed form with zero skew; where its numbers can't be a camera's (few views, strong distortion), the same
    /// equations with the centre in the middle and square pixels, which leave the focal length alone unknown.
    /// </summary>
    internal static double[] Start(
        IReadOnlyList<Homography<PhotoSpace, ClothSpace>> maps,
        int width,
        int height,
        Point<PhotoSpace>? centre
    )
    {
        double longer = Math.Max(width, height);
        double mx = centre?.X ?? (width - 1) / 2.0;
        double my = centre?.Y ?? (height - 1) / 2.0;
        if (maps.Count >= 3 && centre is null && ClosedForm(maps, mx, my, longer) is { } zhang)
        {
            return zhang;
        }

        // h1ᵀ ω h2 = 0 and h1ᵀ ω h1 = h2ᵀ ω h2 with ω = diag(1 ÷ f², 1 ÷ f², 1) about the middle: a x = b for x = 1 ÷ f².
        double top = 0;
        double bottom = 0;
        foreach (Homography<PhotoSpace, ClothSpace> map in maps)
        {
            double[] h = Shifted(map, mx, my, longer);
            double a1 = h[0] * h[1] + h[3] * h[4];
            double b1 = -h[6] * h[7];
            double a2 = h[0] * h[0] + h[3] * h[3] - h[1] * h[1] - h[4] * h[4];
            double b2 = h[7] * h[7] - h[6] * h[6];
            top += a1 * b1 + a2 * b2;
            bottom += a1 * a1 + a2 * a2;
        }

        double f2 = bottom / top;
        double f = f2 > 0.04 && f2 < 400 ? Math.Sqrt(f2) : 1;
        return [f * longer, 1, mx, my, 0, 0, 0, 0, 0, 0];
    }

    private static double[] Shifted(Homography<PhotoSpace, ClothSpace> map, double mx, double my, double scale)
    {
        IReadOnlyList<double> m = map.RowByRow;
        double[] h = new double[9];
        for (int j = 0; j < 3; j++)
        {
            h[j] = (m[j] - mx * m[6 + j]) / scale;
            h[3 + j] = (m[3 + j] - my * m[6 + j]) / scale;
            h[6 + j] = m[6 + j];
        }

        // One scale for all, or large boards would outweigh small ones.
        double norm = Math.Sqrt(h[0] * h[0] + h[3] * h[3] + h[6] * h[6] + h[1] * h[1] + h[4] * h[4] + h[7] * h[7]);
        return [.. h.Select(v => v / norm)];
    }

    private static double[]? ClosedForm(
        IReadOnlyList<Homography<PhotoSpace, ClothSpace>> maps,
        double mx,
        double my,
        double longer
    )
    {
        // Unknown B11, B22, B13, B23, B33 of the image of the absolute conic, B12 = 0.
        double[,] normal = new double[5, 5];
        foreach (Homography<PhotoSpace, ClothSpace> map in maps)
        {
            double[] h = Shifted(map, mx, my, longer);
            double[] v12 = Row(h, 0, 1);
            double[] v11 = Row(h, 0, 0);
            double[] v22 = Row(h, 1, 1);
            double[] difference = [.. v11.Zip(v22, (a, b) => a - b)];
            foreach (double[] v in new[] { v12, difference })
            {
                for (int i = 0; i < 5; i++)
                {
                    for (int j = 0; j < 5; j++)
                    {
                        normal[i, j] += v[i] * v[j];
                    }
                }
            }
        }

        (double[] b, _, _) = Matrices.LeastEigenvector(normal);
        double cx = -b[2] / b[0];
        double cy = -b[3] / b[1];
        double lambda = b[4] - b[2] * b[2] / b[0] - b[3] * b[3] / b[1];
        double fx2 = lambda / b[0];
        double fy2 = lambda / b[1];
        if (!(fx2 > 0.04 && fy2 > 0.04 && fx2 < 400 && fy2 < 400))
        {
            return null;
        }

        double fx = Math.Sqrt(fx2);
        double fy = Math.Sqrt(fy2);
        bool likely = fy / fx is > 0.8 and < 1.25 && Math.Abs(cx) < 0.25 && Math.Abs(cy) < 0.25;
        return likely ? [fx * longer, fy / fx, mx + cx * longer, my + cy * longer, 0, 0, 0, 0, 0, 0] : null;

        static double[] Row(double[] h, int i, int j) =>
            [
                h[i] * h[j],
                h[3 + i] * h[3 + j],
                h[6 + i] * h[j] + h[i] * h[6 + j],
                h[6 + i] * h[3 + j] + h[3 + i] * h[6 + j],
                h[6 + i] * h[6 + j],
            ];
    }

    /// <summary>Pose of a plane from its homography and the camera's pinhole numbers (Z. Zhang, 2000, 3.1).</summary>
    internal static double[] PoseOf(Homography<PhotoSpace, ClothSpace> map, ReadOnlySpan<double> camera)
    {
        IReadOnlyList<double> m = map.RowByRow;
        double fx = camera[CameraModel.F];
        double fy = fx * camera[CameraModel.Aspect];
        double cx = camera[CameraModel.Cx];
        double cy = camera[CameraModel.Cy];
        double[][] columns = new double[3][];
        for (int j = 0; j < 3; j++)
        {
            columns[j] = [(m[j] - cx * m[6 + j]) / fx, (m[3 + j] - cy * m[6 + j]) / fy, m[6 + j]];
        }

        double norm = Math.Sqrt(Norm(columns[0]) * Norm(columns[1]));
        double scale = (columns[2][2] < 0 ? -1 : 1) / norm;
        foreach (double[] column in columns)
        {
            for (int i = 0; i < 3; i++)
            {
                column[i] *= scale;
            }
        }

        // The two directions are made orthogonal alike: about their bisector, which has the least error of both.
        double[] a = Unit(columns[0]);
        double[] b = Unit(columns[1]);
        double[] sum = Unit([a[0] + b[0], a[1] + b[1], a[2] + b[2]]);
        double[] difference = [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
        double along = difference[0] * sum[0] + difference[1] * sum[1] + difference[2] * sum[2];
        difference = Unit([.. difference.Select((v, i) => v - along * sum[i])]);
        double root = Math.Sqrt(0.5);
        double[] x = [.. sum.Zip(difference, (s, d) => root * (s + d))];
        double[] y = [.. sum.Zip(difference, (s, d) => root * (s - d))];
        double[] z = [x[1] * y[2] - x[2] * y[1], x[2] * y[0] - x[0] * y[2], x[0] * y[1] - x[1] * y[0]];
        double[] w = CameraModel.RotationVector([x[0], y[0], z[0], x[1], y[1], z[1], x[2], y[2], z[2]]);
        return [w[0], w[1], w[2], columns[2][0], columns[2][1], columns[2][2]];

        static double Norm(double[] v) => Math.Sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]);

        static double[] Unit(double[] v)
        {
            double n = Norm(v);
            return [v[0] / n, v[1] / n, v[2] / n];
        }
    }
}
