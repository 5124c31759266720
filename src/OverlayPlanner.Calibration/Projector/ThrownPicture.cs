using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Pictures for a projector: the pattern that it is calibrated with, the one that is checked with, and crosses.</summary>
/// <remarks>Black where nothing is thrown; edges that fall between pixels are grey by the share that is light.</remarks>
public static class ThrownPicture
{
    /// <summary>Least and most pixels of a projector's side.</summary>
    public const int LeastSide = 320;

    /// <summary>Most pixels of a projector's side.</summary>
    public const int MostSide = 8192;

    private const int Samples = 4;

    // Corners wanted across and down together in a check picture.
    private const double CheckSquares = 150;

    /// <summary>The pattern for a projector of so many pixels.</summary>
    /// <exception cref="InputException">The size can't be.</exception>
    public static Picture Pattern(int width, int height)
    {
        (MarkField field, double side, double left, double top) = PatternOf(width, height);
        byte[] grey = new byte[width * height];
        Parallel.For(
            0,
            height,
            y =>
            {
                for (int x = 0; x < width; x++)
                {
                    grey[y * width + x] = Share(
                        x,
                        y,
                        (px, py) => field.IsLight((px + 0.5 - left) / side, (py + 0.5 - top) / side)
                    );
                }
            }
        );
        return Grey(width, height, grey);
    }

    /// <summary>Marks laid out in whole and simple inches on the cloth, as the profile says they must be thrown.</summary>
    /// <exception cref="InputException">The profile's picture has no use: too small, or thrown to infinity.</exception>
    public static Picture Check(ProjectorProfile profile, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(profile);
        (MarkField field, double side, Point<ClothSpace> origin) = CheckOf(profile);
        byte[] grey = new byte[profile.Width * profile.Height];
        Homography<ClothSpace, ProjectorSpace> back = profile.ProjectorFromCloth.Inverse();
        Parallel.For(
            0,
            profile.Height,
            new ParallelOptions { CancellationToken = ct },
            y =>
            {
                for (int x = 0; x < profile.Width; x++)
                {
                    // The bend hardly changes within a pixel.
                    Point<ProjectorSpace> middle = new(x, y);
                    Vector<ProjectorSpace> bend = (profile.Bend?.Straighten(middle) ?? middle) - middle;
                    grey[y * profile.Width + x] = Share(
                        x,
                        y,
                        (px, py) =>
                        {
                            Point<ClothSpace> cloth = back.Apply(new Point<ProjectorSpace>(px, py) + bend);
                            return field.IsLight((cloth.X - origin.X) / side, (cloth.Y - origin.Y) / side);
                        }
                    );
                }
            }
        );
        return Grey(profile.Width, profile.Height, grey);
    }

    /// <summary>Thick crosses at given pixels; beside each as many short bars as its number in the list says.</summary>
    /// <exception cref="InputException">The size can't be, or a cross lies outside the picture.</exception>
    public static Picture Crosses(IReadOnlyList<Point<ProjectorSpace>> at, int width, int height)
    {
        ArgumentNullException.ThrowIfNull(at);
        RequireSize(width, height);
        byte[] grey = new byte[width * height];
        double arm = Math.Max(12, Math.Min(width, height) / 24.0);
        double thick = Math.Max(1.5, Math.Min(width, height) / 500.0);
        for (int k = 0; k < at.Count; k++)
        {
            Point<ProjectorSpace> p = at[k];
            if (!(p.X >= 0 && p.Y >= 0 && p.X <= width - 1 && p.Y <= height - 1))
            {
                throw new InputException(
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"A cross lies outside the projector's picture of {width} × {height}"
                    ),
                    string.Create(CultureInfo.InvariantCulture, $"point {k + 1} = {p.X:0.#},{p.Y:0.#}"),
                    "Give cloth inches first, then projector pixels."
                );
            }

            Fill(p.X - arm, p.Y - thick, p.X + arm, p.Y + thick);
            Fill(p.X - thick, p.Y - arm, p.X + thick, p.Y + arm);
            for (int bar = 0; bar <= k % 10; bar++)
            {
                double x = p.X + 4 * thick + bar * 4 * thick;
                Fill(x, p.Y + 4 * thick, x + 2 * thick, p.Y + 4 * thick + arm / 3);
            }
        }

        return Grey(width, height, grey);

        void Fill(double left, double top, double right, double bottom)
        {
            for (int y = Math.Max(0, (int)top); y <= Math.Min(height - 1, (int)bottom + 1); y++)
            {
                for (int x = Math.Max(0, (int)left); x <= Math.Min(width - 1, (int)right + 1); x++)
                {
                    double across = Math.Clamp(Math.Min(x + 0.5, right) - Math.Max(x - 0.5, left), 0, 1);
                    double down = Math.Clamp(Math.Min(y + 0.5, bottom) - Math.Max(y - 0.5, top), 0, 1);
                    byte v = Encoded(across * down);
                    grey[y * width + x] = Math.Max(grey[y * width + x], v);
                }
            }
        }
    }

    /// <summary>The calibration pattern's field, a square's side, and the field's top left, projector px from the outer edge.</summary>
    internal static (MarkField Field, double Side, double Left, double Top) PatternOf(int width, int height)
    {
        RequireSize(width, height);
        int side = Math.Min(width, height) / 3;
        while ((width / side - 1) * (height / side - 1) < MarkField.LeastCorners)
        {
            side--;
        }

        int across = width / side;
        int down = height / side;
        int first = MarkField.FirstIdFor(across * down / 2, width, height);
        return (new(across, down, first), side, (width - across * side) / 2, (height - down * side) / 2);
    }

    /// <summary>The projector pixel of a place in the calibration pattern.</summary>
    internal static Point<ProjectorSpace> PixelOf(
        Point<MarkSpace> mark,
        (MarkField Field, double Side, double Left, double Top) pattern
    ) => new(pattern.Left + pattern.Side * mark.X - 0.5, pattern.Top + pattern.Side * mark.Y - 0.5);

    /// <summary>The check picture's field, a square's side in inches, and the field's top left on the cloth.</summary>
    internal static (MarkField Field, double Side, Point<ClothSpace> Origin) CheckOf(ProjectorProfile profile)
    {
        RequireSize(profile.Width, profile.Height);
        Point<ClothSpace>[] outline =
        [
            profile.ClothOf(new(0, 0)),
            profile.ClothOf(new(profile.Width - 1, 0)),
            profile.ClothOf(new(profile.Width - 1, profile.Height - 1)),
            profile.ClothOf(new(0, profile.Height - 1)),
        ];
        double left = outline.Min(p => p.X);
        double right = outline.Max(p => p.X);
        double top = outline.Min(p => p.Y);
        double bottom = outline.Max(p => p.Y);
        double area = (right - left) * (bottom - top);
        if (!(double.IsFinite(area) && area is > 1 and < 1e6))
        {
            throw new InputException(
                "The projector's profile throws its picture to no cloth that could be checked",
                "projector profile, projectorFromCloth",
                "Calibrate the projector again with points all over its picture."
            );
        }

        // Quarter inches, so that a ruler laid on the light can be read.
        double side = Math.Max(0.25, Math.Round(4 * Math.Sqrt(area / CheckSquares)) / 4);
        Point<ClothSpace> origin = new(Math.Ceiling(left / side) * side, Math.Ceiling(top / side) * side);
        int across = Math.Max(3, (int)Math.Floor((right - origin.X) / side));
        int down = Math.Max(3, (int)Math.Floor((bottom - origin.Y) / side));
        int first = MarkField.FirstIdFor(
            across * down / 2,
            [profile.Width, profile.Height, .. profile.ProjectorFromCloth.RowByRow, .. profile.Bend?.X ?? []]
        );
        return (new(across, down, first), side, origin);
    }

    private static void RequireSize(int width, int height)
    {
        if (width is < LeastSide or > MostSide || height is < LeastSide or > MostSide)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"A projector of {width} × {height} pixels can't be"),
                "--pixels",
                "Give its own resolution, for example 1920x1080."
            );
        }
    }

    private static byte Share(int x, int y, Func<double, double, bool> isLight)
    {
        int light = 0;
        for (int j = 0; j < Samples; j++)
        {
            for (int i = 0; i < Samples; i++)
            {
                light += isLight(x - 0.5 + (i + 0.5) / Samples, y - 0.5 + (j + 0.5) / Samples) ? 1 : 0;
            }
        }

        return Encoded(light / (double)(Samples * Samples));
    }

    // A projector shows a value as its 2.2th power of light: half the light is 186, not 128 (IEC 61966-2-1, simplified).
    private static byte Encoded(double light) => (byte)Math.Round(255 * Math.Pow(light, 1 / 2.2));

    private static Picture Grey(int width, int height, byte[] grey)
    {
        byte[] rgb = new byte[grey.Length * Picture.Channels];
        for (int k = 0; k < grey.Length; k++)
        {
            rgb.AsSpan(k * Picture.Channels, Picture.Channels).Fill(grey[k]);
        }

        return new(width, height, rgb);
    }
}
