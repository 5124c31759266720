using OpenCvSharp;
using OverlayPlanner.Benchmarks.Scenes;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.AcceptanceTests.Cli;

/// <summary>Marker cards painted into a made photograph, flat on the cloth.</summary>
internal static class CardsLaidOn
{
    private const int Samples = 4;
    private const double Rim = 0.15;

    /// <summary>The photograph as a PNG with 3 in cards of numbers 1, 2, … whose middles lie at these places.</summary>
    public static byte[] Photograph(MadeScene scene, params Point<ClothSpace>[] middles)
    {
        Picture picture = PhotoReader.Read(scene.Jpeg, scene.Wishes.Name).Picture;
        byte[] rgb = [.. picture.Rgb];
        for (int n = 0; n < middles.Length; n++)
        {
            Lay(scene, picture, rgb, new(CardKind.ThreeInch, n + 1), middles[n]);
        }

        using Mat made = Mat.FromPixelData(picture.Height, picture.Width, MatType.CV_8UC3, rgb);
        using Mat bgr = new();
        Cv2.CvtColor(made, bgr, ColorConversionCodes.RGB2BGR);
        Cv2.ImEncode(".png", bgr, out byte[] png);
        return png;
    }

    private static void Lay(MadeScene scene, Picture picture, byte[] rgb, TargetCard card, Point<ClothSpace> middle)
    {
        double reach = card.Side.Inches / 2 + Rim;

        // Over a card's width the lens bends nothing that a plane map does not follow.
        (Point<PhotoSpace> Seen, Point<ClothSpace> On)[] pairs =
        [
            .. new (double X, double Y)[] { (-1, -1), (1, -1), (1, 1), (-1, 1), (0, 0) }
                .Select(c => new Point<ClothSpace>(middle.X + c.X * reach, middle.Y + c.Y * reach))
                .Select(p => (scene.PhotoFromCloth.Apply(p), p)),
        ];
        Homography<ClothSpace, PhotoSpace> back = HomographyFit.Fit<ClothSpace, PhotoSpace>(pairs)!;
        int top = (int)pairs.Min(p => p.Seen.Y) - 1;
        int bottom = (int)pairs.Max(p => p.Seen.Y) + 1;
        int left = (int)pairs.Min(p => p.Seen.X) - 1;
        int right = (int)pairs.Max(p => p.Seen.X) + 1;
        for (int y = top; y <= bottom; y++)
        {
            for (int x = left; x <= right; x++)
            {
                (int on, int black) = (0, 0);
                for (int s = 0; s < Samples * Samples; s++)
                {
                    Point<PhotoSpace> at = new(
                        x + (s % Samples + 0.5) / Samples - 0.5,
                        y + (s / Samples + 0.5) / Samples - 0.5
                    );
                    Vector<ClothSpace> v = back.Apply(at) - middle;
                    if (Math.Abs(v.X) < reach && Math.Abs(v.Y) < reach)
                    {
                        on++;
                        black += card.Ink.Any(b =>
                            v.X > b.Left && v.X < b.Left + b.Width && v.Y > b.Top && v.Y < b.Top + b.Height
                        )
                            ? 1
                            : 0;
                    }
                }

                const double paper = 235;
                const double ink = 25;
                for (int c = 0; c < 3; c++)
                {
                    int k = picture.IndexOf(x, y) + c;
                    double value = paper * (on - black) + ink * black + rgb[k] * (double)(Samples * Samples - on);
                    rgb[k] = (byte)Math.Round(value / (Samples * Samples));
                }
            }
        }
    }
}
