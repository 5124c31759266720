using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>A pinhole camera with a lens over the cloth, placed so that the rectangle and what is wanted round it are in view.</summary>
internal sealed class SceneCamera
{
    // 36 × 24 mm film has a diagonal of 43.27 mm.
    private const double FilmDiagonal = 43.27;

    public SceneCamera(SceneWishes wishes, double width, double height)
    {
        double w = wishes.PhotoWidth;
        double h = wishes.PhotoHeight;
        double focal = wishes.FocalLength35Millimeters / FilmDiagonal * Math.Sqrt(w * w + h * h);
        double cx = (w - 1) / 2;
        double cy = (h - 1) / 2;
        double tilt = wishes.TiltDegrees * Math.PI / 180;
        double stand = wishes.StandDegrees * Math.PI / 180;
        double roll = wishes.RollDegrees * Math.PI / 180;

        // Cloth axes in camera axes (x right, y down, z away): turn the stand to the bottom, tilt about the camera's x, turn back
        // so that the quilt stays upright, then roll.
        double[,] r = Product(About('z', roll - stand), Product(About('x', -tilt), About('z', stand)));
        double margin = wishes.Around * Math.Max(width, height);
        (double X, double Y)[] shown =
        [
            (-margin - width / 2, -margin - height / 2),
            (margin + width / 2, -margin - height / 2),
            (margin + width / 2, margin + height / 2),
            (-margin - width / 2, margin + height / 2),
        ];
        double tx = 0;
        double ty = 0;
        double tz = 2 * Math.Max(width, height);
        for (int round = 0; round < 60; round++)
        {
            (double left, double right, double top, double bottom) = (1e9, -1e9, 1e9, -1e9);
            foreach ((double x, double y) in shown)
            {
                double z = r[2, 0] * x + r[2, 1] * y + tz;
                double u = focal * (r[0, 0] * x + r[0, 1] * y + tx) / z;
                double v = focal * (r[1, 0] * x + r[1, 1] * y + ty) / z;
                left = Math.Min(left, u);
                right = Math.Max(right, u);
                top = Math.Min(top, v);
                bottom = Math.Max(bottom, v);
            }

            tx -= 0.7 * (left + right) / 2 * tz / focal;
            ty -= 0.7 * (top + bottom) / 2 * tz / focal;
            double fill = Math.Max((right - left) / w, (bottom - top) / h);
            tz *= Math.Pow(fill, 0.7);
        }

        // Cloth origin is the rectangle's top left, not its middle.
        double ox = -width / 2;
        double oy = -height / 2;
        double[] k = new double[9];
        for (int i = 0; i < 3; i++)
        {
            k[3 * i] = r[i, 0];
            k[3 * i + 1] = r[i, 1];
            k[3 * i + 2] =
                r[i, 0] * ox
                + r[i, 1] * oy
                + (
                    i == 0 ? tx
                    : i == 1 ? ty
                    : tz
                );
        }

        double[] m = new double[9];
        for (int j = 0; j < 3; j++)
        {
            m[j] = focal * k[j] + cx * k[6 + j];
            m[3 + j] = focal * k[3 + j] + cy * k[6 + j];
            m[6 + j] = k[6 + j];
        }

        FlatFromCloth = new Homography<FlatSpace, ClothSpace>(m);
        Lens = wishes.Distortion is null
            ? null
            : new LensProfile(wishes.PhotoWidth, wishes.PhotoHeight, focal, focal, cx, cy, wishes.Distortion);
        PhotoFromCloth = Lens is null
            ? new Homography<PhotoSpace, ClothSpace>(m)
            : new Through(Lens.PhotoFromFlat, FlatFromCloth);
    }

    public Homography<FlatSpace, ClothSpace> FlatFromCloth { get; }

    public LensProfile? Lens { get; }

    public IMap<PhotoSpace, ClothSpace> PhotoFromCloth { get; }

    private static double[,] About(char axis, double angle)
    {
        (double s, double c) = Math.SinCos(angle);
        return axis == 'z'
            ? new[,]
            {
                { c, -s, 0 },
                { s, c, 0 },
                { 0, 0, 1 },
            }
            : new[,]
            {
                { 1, 0, 0 },
                { 0, c, -s },
                { 0, s, c },
            };
    }

    private static double[,] Product(double[,] a, double[,] b)
    {
        double[,] p = new double[3, 3];
        for (int i = 0; i < 3; i++)
        {
            for (int j = 0; j < 3; j++)
            {
                p[i, j] = a[i, 0] * b[0, j] + a[i, 1] * b[1, j] + a[i, 2] * b[2, j];
            }
        }

        return p;
    }

    private sealed class Through(IMap<PhotoSpace, FlatSpace> lens, IMap<FlatSpace, ClothSpace> plane)
        : IMap<PhotoSpace, ClothSpace>
    {
        public Point<PhotoSpace> Apply(Point<ClothSpace> point) => lens.Apply(plane.Apply(point));
    }
}
