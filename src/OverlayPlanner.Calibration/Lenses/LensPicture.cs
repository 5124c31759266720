using System.Runtime.InteropServices;
using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// A picture of a calibration: where in the frame corners were seen (dots), how far they lie from where the lens puts them
/// (lines, enlarged), and the frame's nine parts, those without corners hatched.
/// </summary>
internal static class LensPicture
{
    private const int LongerSide = 1200;
    private const int Margin = 24;

    // Pixels of this picture for a pixel of residual.
    private const double Enlarged = 40;

    // Colours of the house's look: ground, ink, route, next step; OpenCV wants blue first.
    private static readonly Scalar Ground = new(0xE8, 0xF2, 0xF7);
    private static readonly Scalar Ink = new(0x3A, 0x26, 0x23);
    private static readonly Scalar Chalk = new(0xB2, 0x72, 0x00);
    private static readonly Scalar Madder = new(0x0A, 0x42, 0xB8);

    public static Picture Draw(int width, int height, IReadOnlyList<BoardView> views, LensSolution solution)
    {
        double scale = (double)LongerSide / Math.Max(width, height);
        int w = (int)Math.Round(width * scale);
        int h = (int)Math.Round(height * scale);
        using Mat canvas = new(h + 2 * Margin, w + 2 * Margin, MatType.CV_8UC3, Ground);
        HashSet<int> covered = [];
        foreach ((_, Point<PhotoSpace> seen) in views.SelectMany(v => v.Points))
        {
            int column =
                seen.X < 0.2 * width ? 0
                : seen.X < 0.8 * width ? 1
                : 2;
            int row =
                seen.Y < 0.2 * height ? 0
                : seen.Y < 0.8 * height ? 1
                : 2;
            covered.Add(3 * row + column);
        }

        double[] parts = [0, 0.2, 0.8, 1];
        for (int part = 0; part < 9; part++)
        {
            if (!covered.Contains(part))
            {
                Hatch(
                    canvas,
                    new Rect(
                        Margin + (int)(parts[part % 3] * w),
                        Margin + (int)(parts[part / 3] * h),
                        (int)((parts[part % 3 + 1] - parts[part % 3]) * w),
                        (int)((parts[part / 3 + 1] - parts[part / 3]) * h)
                    )
                );
            }
        }

        Cv2.Rectangle(canvas, new Rect(Margin, Margin, w, h), Ink, 1, LineTypes.AntiAlias);
        for (int i = 0; i < views.Count; i++)
        {
            foreach ((Point<ClothSpace> board, Point<PhotoSpace> seen) in views[i].Points)
            {
                CameraModel.ProjectPosed(
                    solution.Camera,
                    solution.Poses[i],
                    [board.X, board.Y, 0],
                    out double u,
                    out double v,
                    [],
                    [],
                    []
                );
                OpenCvSharp.Point at = At(seen.X, seen.Y);
                Cv2.Line(
                    canvas,
                    at,
                    At(seen.X + Enlarged * (seen.X - u) / scale, seen.Y + Enlarged * (seen.Y - v) / scale),
                    Madder,
                    1,
                    LineTypes.AntiAlias
                );
                Cv2.Circle(canvas, at, 2, Chalk, -1, LineTypes.AntiAlias);
            }
        }

        byte[] bgr = new byte[canvas.Width * canvas.Height * 3];
        Marshal.Copy(canvas.Data, bgr, 0, bgr.Length);
        for (int i = 0; i < bgr.Length; i += 3)
        {
            (bgr[i], bgr[i + 2]) = (bgr[i + 2], bgr[i]);
        }

        return new(canvas.Width, canvas.Height, bgr);

        OpenCvSharp.Point At(double x, double y) =>
            new((int)Math.Round(Margin + x * scale), (int)Math.Round(Margin + y * scale));
    }

    private static void Hatch(Mat canvas, Rect box)
    {
        using Mat part = new(canvas, box);
        for (int d = 0; d < box.Width + box.Height; d += 12)
        {
            Cv2.Line(
                part,
                new OpenCvSharp.Point(d, 0),
                new OpenCvSharp.Point(d - box.Height, box.Height),
                new Scalar(0xC8, 0xCC, 0xCC),
                1,
                LineTypes.AntiAlias
            );
        }
    }
}
