using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Makes photographs of quilts whose every point is known.</summary>
/// <remarks>
/// Each photo pixel is led back through the lens and the plane to the cloth, four times, and the cloth's colour asked for there,
/// so that the geometry is exact; then come light, blur, noise, sharpening and JPEG, none of which moves anything.
/// </remarks>
public static class SceneMaker
{
    // Places of the four samples in a pixel: all different in x and in y, so that an edge along an axis has five levels.
    private static readonly (double X, double Y)[] Samples =
    [
        (-0.125, -0.375),
        (0.375, -0.125),
        (0.125, 0.375),
        (-0.375, 0.125),
    ];

    /// <summary>Makes a scene. About 2 s for 12 megapixels on two processors.</summary>
    public static MadeScene Make(SceneWishes wishes)
    {
        ArgumentNullException.ThrowIfNull(wishes);
        Dice dice = new((ulong)wishes.Seed);
        QuiltMap draft =
            wishes.Draft
            ?? BlockDrafting.Draft(
                BlockLibrary.Find(wishes.Pattern),
                Length.FromInches(wishes.BlockInches),
                wishes.Columns,
                wishes.Rows,
                Length.FromInches(wishes.SashInches)
            );
        double width = draft.Width.Inches;
        double height = draft.Height.Inches;
        SceneCamera camera = new(wishes, width, height);
        double density =
            camera.PhotoFromCloth.Apply(new(0, 0)).DistanceTo(camera.PhotoFromCloth.Apply(new(width, 0))) / width;
        (int side, double ppi) =
            density > 80 ? (1024, 150.0)
            : density > 45 ? (1024, 110.0)
            : (512, 72.0);
        QuiltMap truth = Piecing.Sew(draft, wishes, dice.Branch(11));
        (Cut[] cuts, FabricTile[] fabrics, int border) = Piecing.CutPatches(draft, wishes, dice.Branch(12), side, ppi);
        LaidOn laidOn = LaidOn.Choose(truth, wishes, cuts, ref fabrics, side, ppi, dice.Branch(16));
        ClothSurface cloth = new(truth, cuts, fabrics, border, wishes, dice.Branch(13), laidOn);
        truth = truth.With(
            patches:
            [
                .. truth.Patches.Select((p, i) => p with
                {
                    Color = Piecing.Hex(cloth.MeanOf(i)),
                    Leave = laidOn.Leaves(i),
                }),
            ]
        );
        ushort[] light = Expose(cloth, camera, wishes, dice.Branch(14));
        byte[] jpeg = Develop(light, wishes, dice.Branch(15));
        Point<ClothSpace>[] corners = [new(0, 0), new(width, 0), new(width, height), new(0, height)];
        return new(
            wishes,
            truth,
            jpeg,
            wishes.PhotoWidth,
            wishes.PhotoHeight,
            [.. corners.Select(camera.PhotoFromCloth.Apply)],
            camera.PhotoFromCloth,
            camera.Lens
        );
    }

    // Linear light, 16 bits, blue first as OpenCV has it.
    private static ushort[] Expose(ClothSurface cloth, SceneCamera camera, SceneWishes wishes, Dice dice)
    {
        int w = wishes.PhotoWidth;
        int h = wishes.PhotoHeight;
        IReadOnlyList<double> m = camera.FlatFromCloth.Inverse().RowByRow;
        IMap<FlatSpace, PhotoSpace>? flatFromPhoto = camera.Lens?.FlatFromPhoto;
        double diagonal = Math.Sqrt((double)w * w + (double)h * h) / 2;
        double from = dice.Between(0, 2 * Math.PI);
        double ramp = 0.35 * wishes.UnevenLight * dice.Between(0.5, 1);
        double rampX = ramp * Math.Cos(from) / diagonal;
        double rampY = ramp * Math.Sin(from) / diagonal;
        double poolX = dice.Between(0.15, 0.85) * w;
        double poolY = dice.Between(0.15, 0.85) * h;
        double pool = 0.22 * wishes.UnevenLight * dice.Unit();
        double exposure = dice.Between(0.9, 1.05);
        double warm = dice.Between(-0.05, 0.08);
        double vignetting = wishes.Vignetting;
        ushort[] bgr = new ushort[w * h * 3];
        Parallel.For(
            0,
            h,
            y =>
            {
                // The lens bends so little over eight pixels that straight interpolation is exact to 0.002 px.
                const int Step = 8;
                (double X, double Y)[] row = new (double, double)[w / Step + 2];
                (double X, double Y)[] slope = new (double, double)[w / Step + 2];
                if (flatFromPhoto is not null)
                {
                    for (int i = 0; i < row.Length; i++)
                    {
                        Point<FlatSpace> a = flatFromPhoto.Apply(new(i * Step, y - 0.5));
                        Point<FlatSpace> b = flatFromPhoto.Apply(new(i * Step, y + 0.5));
                        row[i] = ((a.X + b.X) / 2, (a.Y + b.Y) / 2);
                        slope[i] = (b.X - a.X, b.Y - a.Y);
                    }
                }

                int to = y * w * 3;
                for (int x = 0; x < w; x++)
                {
                    (float r, float g, float b) = (0, 0, 0);
                    foreach ((double sx, double sy) in Samples)
                    {
                        double px = x + sx;
                        double py = y + sy;
                        if (flatFromPhoto is not null)
                        {
                            double at = Math.Max(px / Step, 0);
                            int i = Math.Min((int)at, row.Length - 2);
                            double f = at - i;
                            px = row[i].X + (row[i + 1].X - row[i].X) * f + slope[i].X * sy;
                            py = row[i].Y + (row[i + 1].Y - row[i].Y) * f + slope[i].Y * sy;
                        }

                        double z = 1 / (m[6] * px + m[7] * py + m[8]);
                        cloth.Add(
                            (m[0] * px + m[1] * py + m[2]) * z,
                            (m[3] * px + m[4] * py + m[5]) * z,
                            ref r,
                            ref g,
                            ref b
                        );
                    }

                    double dx = (x - w / 2.0) / diagonal;
                    double dy = (y - h / 2.0) / diagonal;
                    double r2 = dx * dx + dy * dy;
                    double lx = (x - poolX) / diagonal;
                    double ly = (y - poolY) / diagonal;
                    double k =
                        exposure
                        * (1 + rampX * (x - w / 2.0) + rampY * (y - h / 2.0))
                        * (1 + pool * Math.Exp(-4 * (lx * lx + ly * ly)) - pool / 2)
                        * (1 - vignetting * 0.6 * r2 * (0.6 + 0.4 * r2));
                    float scale = (float)(k * 52000 / Samples.Length);
                    bgr[to++] = (ushort)Math.Clamp(b * scale * (1 - warm), 0, 65535);
                    bgr[to++] = (ushort)Math.Clamp(g * scale, 0, 65535);
                    bgr[to++] = (ushort)Math.Clamp(r * scale * (1 + warm), 0, 65535);
                }
            }
        );
        return bgr;
    }

    private static byte[] Develop(ushort[] light, SceneWishes wishes, Dice dice)
    {
        int w = wishes.PhotoWidth;
        int h = wishes.PhotoHeight;
        using Mat raw = Mat.FromPixelData(h, w, MatType.CV_16UC3, light);
        if (wishes.BlurPixels > 0.05)
        {
            Cv2.GaussianBlur(raw, raw, new Size(0, 0), wishes.BlurPixels, wishes.BlurPixels, BorderTypes.Replicate);
        }

        byte[] tone = MakeTone();
        float[] normal = new float[1 << 16];
        for (int i = 0; i < normal.Length; i++)
        {
            normal[i] = (float)(dice.Normal() * wishes.NoiseSigma);
        }

        ulong grain = dice.Next();
        byte[] eight = new byte[light.Length];
        Parallel.For(
            0,
            h,
            y =>
            {
                int start = y * w * 3;
                for (int x = 0; x < w; x++)
                {
                    // Grain is mostly in lightness, a little in colour; it is stronger in the shadows once the tone is lifted.
                    ulong hash = Dice.Mix(grain + (ulong)(y * w + x) * 0x9E3779B97F4A7C15UL);
                    float shared = normal[hash & 0xFFFF];
                    int i = start + 3 * x;
                    for (int c = 0; c < 3; c++)
                    {
                        float v = tone[light[i + c] >> 4];
                        float own = normal[(hash >> (16 + 16 * c)) & 0xFFFF];
                        float strength = 1.25f - v / 500f;
                        eight[i + c] = (byte)Math.Clamp(v + strength * (0.85f * shared + 0.5f * own) + 0.5f, 0, 255);
                    }
                }
            }
        );
        using Mat picture = Mat.FromPixelData(h, w, MatType.CV_8UC3, eight);
        if (wishes.Sharpening > 0.01)
        {
            using Mat soft = new();
            Cv2.GaussianBlur(picture, soft, new Size(0, 0), 1.2, 1.2, BorderTypes.Replicate);
            Cv2.AddWeighted(picture, 1 + wishes.Sharpening, soft, -wishes.Sharpening, 0, picture);
        }

        Cv2.ImEncode(
            ".jpg",
            picture,
            out byte[] jpeg,
            new ImageEncodingParam(ImwriteFlags.JpegQuality, wishes.JpegQuality)
        );
        return jpeg;
    }

    // sRGB with a phone's slight contrast curve, from the upper 12 of 16 bits.
    private static byte[] MakeTone()
    {
        byte[] table = new byte[4096];
        for (int i = 0; i < table.Length; i++)
        {
            double v = i / 4095.0 * 65535 / 58000;
            double s = v <= 0.0031308 ? 12.92 * v : 1.055 * Math.Pow(v, 1 / 2.4) - 0.055;
            s = Math.Clamp(s, 0, 1.15);
            double curve = s - 0.035 * Math.Sin(2 * Math.PI * Math.Min(s, 1));

            // Highlights roll off instead of clipping hard.
            curve = curve > 0.9 ? 0.9 + 0.1 * Math.Tanh((curve - 0.9) / 0.1) : curve;
            table[i] = (byte)Math.Clamp(curve * 255 + 0.5, 0, 255);
        }

        return table;
    }
}
