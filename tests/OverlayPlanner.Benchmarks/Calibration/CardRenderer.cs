using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>How a made photo is spoilt.</summary>
/// <param name="BlurPixels">Gaussian blur, px.</param>
/// <param name="NoiseLevels">Gaussian noise, grey levels of 255.</param>
/// <param name="JpegQuality">Quality of the JPEG, or 0 for none.</param>
internal sealed record PhotoSpoil(double BlurPixels, double NoiseLevels, int JpegQuality);

/// <summary>
/// Photographs of cards on a patchwork, ray by ray: pinhole and distortion, cards lifted and aslant as the truth says, light
/// averaged before it is encoded, then blur, noise and JPEG.
/// </summary>
internal static class CardRenderer
{
    private const int SamplesAcross = 5;
    private const double PaperWhite = 0.86;
    private const double InkBlack = 0.035;
    private const double Rim = 0.125;

    /// <summary>Renders one photo of the truth.</summary>
    /// <param name="thrown">What a projector throws on it, or null for daylight.</param>
    /// <param name="relief">Where the cloth does not lie flat; only seen where something is thrown on it.</param>
    public static Photo Render(
        CardTruth truth,
        int photo,
        PhotoSpoil spoil,
        int seed,
        ThrownLight? thrown = null,
        ClothRelief? relief = null
    )
    {
        int w = truth.Width;
        int h = truth.Height;
        float[] light = new float[w * h];
        LensProfile lens = CameraModel.ToProfile(truth.Camera, w, h);
        IMap<FlatSpace, PhotoSpace> flatFromPhoto = lens.FlatFromPhoto;
        double[] pose = truth.Poses[photo];
        double[] inverse = PlaneInverse(pose, 0, 0, 0, 0, 0, 0);
        (double X, double Y, double Z) eye = CameraOver(pose);
        const int Step = 16;
        Parallel.For(
            0,
            (h + Step - 1) / Step,
            band =>
            {
                // Undistorted rays on a grid, bilinear between: the distortion is smooth.
                for (int y0 = band * Step; y0 < Math.Min(h, (band + 1) * Step); y0 += Step)
                {
                    for (int x0 = 0; x0 < w; x0 += Step)
                    {
                        (double X, double Y)[] ray = Corners(flatFromPhoto, lens, x0, y0, Step);
                        for (int y = y0; y < Math.Min(h, y0 + Step); y++)
                        {
                            for (int x = x0; x < Math.Min(w, x0 + Step); x++)
                            {
                                light[y * w + x] = (float)Cloth(
                                    ray,
                                    inverse,
                                    x - x0,
                                    y - y0,
                                    Step,
                                    seed,
                                    thrown,
                                    relief,
                                    eye
                                );
                            }
                        }
                    }
                }
            }
        );
        foreach ((TargetCard card, double[] place) in truth.Cards)
        {
            RenderCard(truth, photo, card, place, lens, flatFromPhoto, light, thrown);
        }

        return Spoil(light, w, h, spoil, seed, photo);
    }

    // One ray a pixel in daylight, whose patches are no measure of anything; where marks are thrown, as many as for a card.
    private static double Cloth(
        (double X, double Y)[] ray,
        double[] inverse,
        int x,
        int y,
        int step,
        int seed,
        ThrownLight? thrown,
        ClothRelief? relief,
        (double X, double Y, double Z) eye
    )
    {
        if (thrown is null)
        {
            (double rx, double ry) = Between(ray, x / (double)step, y / (double)step);
            (double cx, double cy) = Through(inverse, rx, ry);
            return Patchwork(cx, cy, seed);
        }

        const int Across = 3;
        double sum = 0;
        for (int k = 0; k < Across * Across; k++)
        {
            double fx = (x - 0.5 + (k % Across + 0.5) / Across) / step;
            double fy = (y - 0.5 + (k / Across + 0.5) / Across) / step;
            (double rx, double ry) = Between(ray, fx, fy);
            (double cx, double cy) = Through(inverse, rx, ry);
            double height = 0;
            if (relief is not null)
            {
                (cx, cy, height) = relief.Meet(cx, cy, eye);
            }

            sum += Patchwork(cx, cy, seed) * thrown.At(cx, cy, height);
        }

        return sum / (Across * Across);
    }

    private static void RenderCard(
        CardTruth truth,
        int photo,
        TargetCard card,
        double[] place,
        LensProfile lens,
        IMap<FlatSpace, PhotoSpace> flatFromPhoto,
        float[] light,
        ThrownLight? thrown
    )
    {
        double half = card.Side.Inches / 2;
        double reachX = card.Patterns.Max(p => Math.Abs(p.X)) + half + Rim;
        double reachY = half + Rim;
        bool turned = card.Kind == CardKind.Strip;
        double left = double.PositiveInfinity;
        double right = double.NegativeInfinity;
        double top = double.PositiveInfinity;
        double bottom = double.NegativeInfinity;
        foreach (
            (double u, double v) in new[] { (-reachX, -reachY), (reachX, -reachY), (reachX, reachY), (-reachX, reachY) }
        )
        {
            double[] world = new double[3];
            CardModel.Place(place, truth.Print, turned, u, v, world, [], new double[6]);
            if (truth.Project(photo, world[0], world[1], -world[2]) is not { } p)
            {
                return;
            }

            left = Math.Min(left, p.X - 2);
            right = Math.Max(right, p.X + 2);
            top = Math.Min(top, p.Y - 2);
            bottom = Math.Max(bottom, p.Y + 2);
        }

        int x0 = Math.Max(0, (int)left);
        int x1 = Math.Min(truth.Width - 1, (int)right);
        int y0 = Math.Max(0, (int)top);
        int y1 = Math.Min(truth.Height - 1, (int)bottom);
        double[] inverse = PlaneInverse(
            truth.Poses[photo],
            place[CardModel.X],
            place[CardModel.Y],
            place[CardModel.Turn],
            place[CardModel.Lift],
            place[CardModel.SlopeRight],
            place[CardModel.SlopeDown]
        );
        CardInk ink = new(card);
        double sa = truth.Print[turned ? 1 : 0];
        double sb = truth.Print[turned ? 0 : 1];
        (double sin, double cos) = Math.SinCos(place[CardModel.Turn]);
        Parallel.For(
            y0,
            y1 + 1,
            y =>
            {
                for (int x = x0; x <= x1; x++)
                {
                    (double X, double Y)[] ray = Corners(flatFromPhoto, lens, x - 0.5, y - 0.5, 1);
                    double sum = 0;
                    int on = 0;
                    for (int j = 0; j < SamplesAcross; j++)
                    {
                        for (int i = 0; i < SamplesAcross; i++)
                        {
                            (double rx, double ry) = Between(ray, (i + 0.5) / SamplesAcross, (j + 0.5) / SamplesAcross);
                            (double u, double v) = Through(inverse, rx, ry);
                            double lit =
                                thrown?.At(
                                    place[CardModel.X] + cos * u - sin * v,
                                    place[CardModel.Y] + sin * u + cos * v
                                ) ?? 1;
                            u /= sa;
                            v /= sb;
                            if (Math.Abs(u) < reachX && Math.Abs(v) < reachY)
                            {
                                on++;
                                sum += lit * (ink.IsBlack(u, v) ? InkBlack : PaperWhite);
                            }
                        }
                    }

                    const int All = SamplesAcross * SamplesAcross;
                    int k = y * truth.Width + x;
                    light[k] = (float)((sum + (All - on) * light[k]) / All);
                }
            }
        );
    }

    private static Photo Spoil(float[] light, int w, int h, PhotoSpoil spoil, int seed, int photo)
    {
        using Mat linear = Mat.FromPixelData(h, w, MatType.CV_32FC1, light);
        using Mat blurred = new();
        Cv2.GaussianBlur(linear, blurred, new Size(0, 0), spoil.BlurPixels);

        // A slow fall of the light across the frame.
        byte[] rgb = new byte[w * h * 3];
        float[] values = new float[w * h];
        System.Runtime.InteropServices.Marshal.Copy(blurred.Data, values, 0, values.Length);
        Parallel.For(
            0,
            h,
            y =>
            {
                Random random = new(seed * 100_003 + photo * 7919 + y);
                for (int x = 0; x < w; x++)
                {
                    double fall = 1 - 0.25 * ((double)x / w) - 0.1 * ((double)y / h);
                    double v = 255 * Math.Pow(Math.Clamp(values[y * w + x] * fall, 0, 1), 1 / 2.2);
                    v += spoil.NoiseLevels * CardLayouts.Normal(random);
                    byte b = (byte)Math.Clamp(Math.Round(v), 0, 255);
                    int k = 3 * (y * w + x);
                    (rgb[k], rgb[k + 1], rgb[k + 2]) = (b, b, b);
                }
            }
        );
        string name = "made photo " + (photo + 1).ToString(System.Globalization.CultureInfo.InvariantCulture);
        PhotoFacts facts = new(FocalLength35Millimeters: 26);
        if (spoil.JpegQuality == 0)
        {
            return new(new Picture(w, h, rgb), name, facts);
        }

        using Mat whole = Mat.FromPixelData(h, w, MatType.CV_8UC3, rgb);
        Cv2.ImEncode(
            ".jpg",
            whole,
            out byte[] jpeg,
            new ImageEncodingParam(ImwriteFlags.JpegQuality, spoil.JpegQuality)
        );
        return PhotoReader.Read(jpeg, name) with { Facts = facts };
    }

    // Patches of 4 in in a few greys, with a small print on some.
    private static double Patchwork(double x, double y, int seed)
    {
        int i = (int)Math.Floor(x / 4);
        int j = (int)Math.Floor(y / 4);
        uint hash = (uint)(i * 73856093 ^ j * 19349663 ^ seed * 83492791);
        hash ^= hash >> 13;
        hash *= 0x5bd1e995;
        hash ^= hash >> 15;
        double tone = 0.12 + 0.6 * (hash % 1000) / 1000.0;
        if (hash % 3 == 0)
        {
            tone *= 1 + 0.25 * Math.Sin(x * 9 + hash % 7) * Math.Sin(y * 11);
        }

        // Seams lie in a ditch.
        double dx = x / 4 - i;
        double dy = y / 4 - j;
        double ditch = Math.Min(Math.Min(dx, 1 - dx), Math.Min(dy, 1 - dy)) * 4;
        return tone * (ditch < 0.04 ? 0.7 : 1);
    }

    private static (double X, double Y)[] Corners(
        IMap<FlatSpace, PhotoSpace> flatFromPhoto,
        LensProfile lens,
        double x,
        double y,
        double step
    )
    {
        (double, double)[] ray = new (double, double)[4];
        for (int k = 0; k < 4; k++)
        {
            Point<FlatSpace> flat = flatFromPhoto.Apply(new(x + k % 2 * step, y + k / 2 * step));
            ray[k] = ((flat.X - lens.Cx) / lens.Fx, (flat.Y - lens.Cy) / lens.Fy);
        }

        return ray;
    }

    private static (double X, double Y) Between((double X, double Y)[] c, double fx, double fy) =>
        (
            (1 - fy) * ((1 - fx) * c[0].X + fx * c[1].X) + fy * ((1 - fx) * c[2].X + fx * c[3].X),
            (1 - fy) * ((1 - fx) * c[0].Y + fx * c[1].Y) + fy * ((1 - fx) * c[2].Y + fx * c[3].Y)
        );

    /// <summary>The map from a ray (x, y, 1) to a card's own inches, as nine numbers.</summary>
    private static double[] PlaneInverse(
        double[] pose,
        double x,
        double y,
        double turn,
        double lift,
        double right,
        double down
    )
    {
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double c = Math.Cos(turn);
        double s = Math.Sin(turn);
        double[][] columns =
        [
            [c, s, right],
            [-s, c, down],
            [x, y, -lift],
        ];
        double[] m = new double[9];
        for (int k = 0; k < 3; k++)
        {
            for (int i = 0; i < 3; i++)
            {
                m[3 * i + k] =
                    r[3 * i] * columns[k][0]
                    + r[3 * i + 1] * columns[k][1]
                    + r[3 * i + 2] * columns[k][2]
                    + (k == 2 ? pose[3 + i] : 0);
            }
        }

        return [.. new Homography<ClothSpace, FlatSpace>(m).Inverse().RowByRow];
    }

    // Where the camera is: cloth inches and height; the pose's third axis points down into the cloth.
    private static (double X, double Y, double Z) CameraOver(double[] pose)
    {
        double[] r = new double[9];
        CameraModel.Rotation(pose.AsSpan(0, 3), r, []);
        double Own(int axis) => -(r[axis] * pose[3] + r[3 + axis] * pose[4] + r[6 + axis] * pose[5]);
        return (Own(0), Own(1), -Own(2));
    }

    private static (double U, double V) Through(double[] m, double x, double y)
    {
        double z = m[6] * x + m[7] * y + m[8];
        return ((m[0] * x + m[1] * y + m[2]) / z, (m[3] * x + m[4] * y + m[5]) / z);
    }

    // Ink on a lattice of sixteenths of the pattern's side, on which all of it lies.
    private sealed class CardInk
    {
        private readonly List<(double X, double Y, bool[,] Cells)> patterns = [];
        private readonly double side;

        public CardInk(TargetCard card)
        {
            side = card.Side.Inches;
            foreach (TargetPattern p in card.Patterns)
            {
                bool[,] cells = new bool[16, 16];
                for (int j = 0; j < 16; j++)
                {
                    for (int i = 0; i < 16; i++)
                    {
                        double x = p.X + ((i + 0.5) / 16 - 0.5) * side;
                        double y = p.Y + ((j + 0.5) / 16 - 0.5) * side;
                        cells[i, j] = card.Ink.Any(b =>
                            x > b.Left && x < b.Left + b.Width && y > b.Top && y < b.Top + b.Height
                        );
                    }
                }

                patterns.Add((p.X, p.Y, cells));
            }
        }

        public bool IsBlack(double u, double v)
        {
            foreach ((double x, double y, bool[,] cells) in patterns)
            {
                int i = (int)Math.Floor(((u - x) / side + 0.5) * 16);
                int j = (int)Math.Floor(((v - y) / side + 0.5) * 16);
                if (i >= 0 && i < 16 && j >= 0 && j < 16)
                {
                    return cells[i, j];
                }
            }

            return false;
        }
    }
}
