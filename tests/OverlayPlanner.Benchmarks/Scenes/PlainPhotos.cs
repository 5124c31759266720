using OpenCvSharp;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Photographs that show no quilt.</summary>
public static class PlainPhotos
{
    /// <summary>A lawn: blades of grass of many greens, in patches of light and shade. JPEG.</summary>
    public static byte[] Lawn(int width, int height, int seed)
    {
        Dice dice = new((ulong)seed);
        using Mat picture = new(height, width, MatType.CV_8UC3, new Scalar(38, 74, 52));
        int blades = width * height / 60;
        for (int i = 0; i < blades; i++)
        {
            double x = dice.Between(0, width);
            double y = dice.Between(0, height);
            double turn = dice.Normal() * 0.5 - Math.PI / 2;
            double length = dice.Between(8, 26);
            double light = 0.6 + 0.8 * Noise.Fractal(x / 90, y / 90, (uint)seed, 4) + 0.3 * (dice.Unit() - 0.5);
            Scalar green = new(
                Math.Min(255, light * dice.Between(30, 70)),
                Math.Min(255, light * dice.Between(90, 150)),
                Math.Min(255, light * dice.Between(60, 110))
            );
            Cv2.Line(
                picture,
                new Point(x, y),
                new Point(x + length * Math.Cos(turn), y + length * Math.Sin(turn)),
                green,
                1 + dice.Below(2),
                LineTypes.AntiAlias
            );
        }

        return Encode(picture);
    }

    /// <summary>Grey noise, each pixel for itself: mean 128, standard deviation 40. JPEG.</summary>
    public static byte[] WhiteNoise(int width, int height, int seed)
    {
        Dice dice = new((ulong)seed);
        byte[] gray = new byte[width * height];
        for (int i = 0; i < gray.Length; i++)
        {
            gray[i] = (byte)Math.Clamp(128 + 40 * dice.Normal(), 0, 255);
        }

        using Mat picture = Mat.FromPixelData(height, width, MatType.CV_8UC1, gray);
        return Encode(picture);
    }

    private static byte[] Encode(Mat picture)
    {
        Cv2.ImEncode(".jpg", picture, out byte[] jpeg, new ImageEncodingParam(ImwriteFlags.JpegQuality, 90));
        return jpeg;
    }
}
