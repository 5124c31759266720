using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>Photographs of the printed lens board through a known lens: nine rays a pixel, noise of two levels.</summary>
internal static class BoardRenderer
{
    /// <summary>One photo of the board.</summary>
    /// <param name="lens">The lens and the picture's size.</param>
    /// <param name="pose">Rotation vector and shift, inches.</param>
    /// <param name="seed">Seed of the noise.</param>
    public static Photo Render(LensProfile lens, double[] pose, int seed)
    {
        int w = lens.Width;
        int h = lens.Height;
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        Homography<FlatSpace, ClothSpace> rayFromBoard = new([
            r[0],
            r[1],
            pose[3],
            r[3],
            r[4],
            pose[4],
            r[6],
            r[7],
            pose[5],
        ]);
        Homography<ClothSpace, FlatSpace> boardFromRay = rayFromBoard.Inverse();
        bool[,] cells = Cells();
        IMap<FlatSpace, PhotoSpace> flatFromPhoto = lens.FlatFromPhoto;
        byte[] rgb = new byte[w * h * 3];
        Parallel.For(
            0,
            h,
            y =>
            {
                Random random = new(seed * 9973 + y);
                for (int x = 0; x < w; x++)
                {
                    // The distortion hardly changes within a pixel: one ray and its neighbours' differences.
                    Point<FlatSpace> a = flatFromPhoto.Apply(new(x - 0.5, y - 0.5));
                    Point<FlatSpace> b = flatFromPhoto.Apply(new(x + 0.5, y - 0.5));
                    Point<FlatSpace> c = flatFromPhoto.Apply(new(x - 0.5, y + 0.5));
                    double sum = 0;
                    for (int k = 0; k < 9; k++)
                    {
                        double fx = (k % 3 + 0.5) / 3;
                        double fy = (k / 3 + 0.5) / 3;
                        Point<FlatSpace> flat = a + fx * (b - a) + fy * (c - a);
                        Point<ClothSpace> on = boardFromRay.Apply(
                            new((flat.X - lens.Cx) / lens.Fx, (flat.Y - lens.Cy) / lens.Fy)
                        );
                        sum += Tone(cells, on);
                    }

                    byte v = (byte)Math.Clamp(Math.Round(sum / 9 + 2 * CardLayouts.Normal(random)), 0, 255);
                    rgb.AsSpan(3 * (y * w + x), 3).Fill(v);
                }
            }
        );
        string name = "board photo " + seed.ToString(System.Globalization.CultureInfo.InvariantCulture);
        return new(new(w, h, rgb), name, PhotoFacts.None);
    }

    // Twelfths of an inch: all ink of the board lies on them.
    private static bool[,] Cells()
    {
        const int PerInch = 12;
        bool[,] cells = new bool[LensBoard.Across * PerInch, LensBoard.Down * PerInch];
        foreach (InkedBox box in LensBoard.Ink)
        {
            int left = (int)Math.Round((box.Left + LensBoard.Across / 2.0) * PerInch);
            int top = (int)Math.Round((box.Top + LensBoard.Down / 2.0) * PerInch);
            for (int i = 0; i < (int)Math.Round(box.Width * PerInch); i++)
            {
                for (int j = 0; j < (int)Math.Round(box.Height * PerInch); j++)
                {
                    cells[left + i, top + j] = true;
                }
            }
        }

        return cells;
    }

    private static double Tone(bool[,] cells, Point<ClothSpace> on)
    {
        double x = on.X + LensBoard.Across / 2.0;
        double y = on.Y + LensBoard.Down / 2.0;
        bool paper = x > -0.4 && y > -0.4 && x < LensBoard.Across + 0.4 && y < LensBoard.Down + 0.4;
        bool pattern = x >= 0 && y >= 0 && x < LensBoard.Across && y < LensBoard.Down;
        return !paper ? 120
            : pattern && cells[(int)(x * 12), (int)(y * 12)] ? 30
            : 225;
    }
}
