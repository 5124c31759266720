using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>
/// What is in front of the cloth: hands, clamps and a roller at its edge, and a shadow across it. None covers a point of the map.
/// </summary>
internal sealed class FrontThings
{
    private static readonly (float R, float G, float B)[] Skins =
    [
        (0.70f, 0.46f, 0.36f),
        (0.56f, 0.34f, 0.24f),
        (0.36f, 0.20f, 0.13f),
        (0.16f, 0.085f, 0.055f),
        (0.76f, 0.54f, 0.45f),
    ];

    // A right hand laid flat, fingers up to the origin, the arm away from it: centre lines and half widths, in.
    private static readonly (double Ax, double Ay, double Bx, double By, double Half)[] Hand =
    [
        (0, 60, 0, 7.4, 1.3),
        (0, 7.6, 0, 6, 1.15),
        (-0.75, 5.4, -0.7, 3.7, 0.85),
        (0.75, 5.4, 0.65, 3.8, 0.8),
        (0, 5.2, 0, 3.8, 0.95),
        (-1.15, 3.6, -1.45, 1.1, 0.36),
        (-0.4, 3.4, -0.42, 0.4, 0.37),
        (0.36, 3.4, 0.5, 0.75, 0.35),
        (1.05, 3.7, 1.4, 1.75, 0.3),
        (-1.2, 5.2, -2.5, 3.6, 0.42),
    ];

    private const int Sleeve = 0;
    private const int FirstFinger = 5;

    private readonly List<Placed> hands = [];
    private readonly List<Placed> clamps = [];
    private readonly SceneWishes wishes;
    private readonly (float R, float G, float B) skin;
    private readonly (float R, float G, float B) sleeve;
    private readonly (float R, float G, float B) plastic;
    private readonly double width;
    private readonly double shadowX;
    private readonly double shadowY;
    private readonly double shadowAt;
    private readonly double shadowSoft;
    private readonly double shadowWidth;

    public FrontThings(QuiltMap truth, SceneWishes wishes, Dice dice)
    {
        this.wishes = wishes;
        width = truth.Width.Inches;
        double height = truth.Height.Inches;
        skin = dice.Pick(Skins);
        sleeve = dice.Pick(new[] { (0.05f, 0.07f, 0.14f), (0.35f, 0.34f, 0.33f), (0.25f, 0.05f, 0.06f) });
        plastic = dice.Pick(new[] { (0.75f, 0.32f, 0.03f), (0.08f, 0.09f, 0.1f), (0.62f, 0.62f, 0.6f) });
        for (int i = 0; i < wishes.Hands; i++)
        {
            hands.Add(Place(truth, dice, dice.Between(0.5, 1.7), 2.1, hands));
        }

        for (int i = 0; i < wishes.Clamps; i++)
        {
            clamps.Add(Place(truth, dice, dice.Between(0.2, 0.45), 1, [.. hands, .. clamps]));
        }

        double angle = dice.Between(0, 2 * Math.PI);
        (shadowY, shadowX) = Math.SinCos(angle);
        shadowAt =
            shadowX * width / 2 + shadowY * height / 2 + dice.Between(-0.25, 0.25) * Math.Min(width, height);
        shadowSoft = dice.Between(0.15, 1.4);
        shadowWidth = dice.Chance(0.5) ? 1e3 : dice.Between(2, 8);
        IsEmpty = hands.Count + clamps.Count == 0 && !wishes.Roller && wishes.CastShadow == 0;
    }

    /// <summary>True where there is nothing.</summary>
    public bool IsEmpty { get; }

    // Where a thing's tip lies, and the way out of the cloth.
    private readonly record struct Placed(double X, double Y, double OutX, double OutY, bool Mirrored);

    /// <summary>Adds the light of what covers this place; false where nothing does.</summary>
    public bool Add(double x, double y, ref float r, ref float g, ref float b)
    {
        if (wishes.Roller && y < -0.06)
        {
            // Cloth wound on a tube: light runs along it.
            double n = Math.Clamp((-y - 0.06) / 1.6 - 1, -1, 1);
            float k = (float)(0.25 + 0.75 * Math.Sqrt(1 - n * n) + 0.25 * Math.Exp(-Math.Pow((n + 0.3) / 0.2, 2)));
            float weave = 0.95f + 0.08f * Noise.Value(x * 3, y * 2, 77);
            if (y > -3.3)
            {
                (r, g, b) = (r + 0.5f * k * weave, g + 0.47f * k * weave, b + 0.42f * k * weave);
                return true;
            }
        }

        foreach (Placed c in clamps)
        {
            (double u, double v) = In(c, x, y);
            if (Math.Abs(u) < 0.8 && v is > 0 and < 2.6)
            {
                bool jaw = v < 0.9;
                float k = jaw ? 0.8f + 0.35f * (float)(0.8 - Math.Abs(u)) : 1.05f - 0.12f * (float)Math.Abs(v - 1.7);
                k *= Math.Abs(u) > 0.72 || Math.Abs(v - 0.9) < 0.05 ? 0.6f : 1;
                (r, g, b) = (r + plastic.R * k, g + plastic.G * k, b + plastic.B * k);
                return true;
            }
        }

        foreach (Placed h in hands)
        {
            (double u, double v) = In(h, x, y);
            if (Math.Abs(u) > 3.4 || v < -0.1)
            {
                continue;
            }

            (double into, int part, double along) = IntoHand(u, v);
            if (into > 0)
            {
                bool cloth = part == Sleeve && v > 9;
                (float sr, float sg, float sb) = cloth ? sleeve : skin;
                double round = Math.Min(1, into / 0.32);
                float k = (float)(0.62 + 0.42 * Math.Sqrt(round * (2 - round)));
                if (part >= FirstFinger && along > 0.86 && into > 0.13)
                {
                    // A nail, paler and shinier.
                    k *= 1.18f;
                }

                // Knuckles show as fine creases.
                k *= part >= FirstFinger && Math.Abs(along - 0.5) < 0.025 ? 0.88f : 1;
                k *= 0.97f + 0.06f * Noise.Fractal(u * 6, v * 6, 31, 2);
                (r, g, b) = (r + sr * k, g + sg * k, b + sb * k);
                return true;
            }
        }

        return false;
    }

    /// <summary>The part of the light that reaches the cloth past what is in front, 0 to 1.</summary>
    public float LightAt(double x, double y)
    {
        double lit = 1;
        if (wishes.CastShadow > 0)
        {
            double d = shadowX * x + shadowY * y - shadowAt;
            double edge = Smooth((d + shadowSoft) / (2 * shadowSoft));
            double far = Smooth((shadowWidth - d + shadowSoft) / (2 * shadowSoft));
            lit *= 1 - wishes.CastShadow * edge * far;
        }

        if (wishes.Roller)
        {
            lit *= 1 - 0.45 * Math.Exp(-Math.Max(0, y + 0.06) / 0.3);
        }

        foreach (Placed c in clamps)
        {
            (double u, double v) = In(c, x, y);
            double d = Math.Max(Math.Abs(u) - 0.8, -v);
            lit *= d is > 0 and < 1 ? 1 - 0.4 * Math.Exp(-d / 0.1) : 1;
        }

        foreach (Placed h in hands)
        {
            (double u, double v) = In(h, x - 0.08, y - 0.1);
            if (Math.Abs(u) < 4 && v > -0.8)
            {
                double into = IntoHand(u, v).Into;
                lit *= 1 - 0.5 * Math.Exp(Math.Min(0, into) / 0.16);
            }
        }

        return (float)lit;
    }

    private static double Smooth(double t)
    {
        t = Math.Clamp(t, 0, 1);
        return t * t * (3 - 2 * t);
    }

    private static (double U, double V) In(Placed p, double x, double y)
    {
        (double dx, double dy) = (x - p.X, y - p.Y);
        double u = -dx * p.OutY + dy * p.OutX;
        return (p.Mirrored ? -u : u, dx * p.OutX + dy * p.OutY);
    }

    private static (double Into, int Part, double Along) IntoHand(double u, double v)
    {
        (double best, int part, double along) = (double.MinValue, 0, 0);
        for (int i = 0; i < Hand.Length; i++)
        {
            (double ax, double ay, double bx, double by, double half) = Hand[i];
            (double wx, double wy) = (bx - ax, by - ay);
            double t = Math.Clamp(((u - ax) * wx + (v - ay) * wy) / (wx * wx + wy * wy), 0, 1);
            (double dx, double dy) = (u - ax - t * wx, v - ay - t * wy);
            double into = half * (1 - 0.12 * t) - Math.Sqrt(dx * dx + dy * dy);
            if (into > best)
            {
                (best, part, along) = (into, i, t);
            }
        }

        return (best, part, along);
    }

    // The place along the edge that is farthest from points and from what lies there already.
    private static Placed Place(QuiltMap truth, Dice dice, double reach, double halfWide, IReadOnlyList<Placed> others)
    {
        double w = truth.Width.Inches;
        double h = truth.Height.Inches;
        (Placed Best, double Free) best = (default, double.MinValue);
        for (int k = 0; k < 40; k++)
        {
            int side = dice.Below(4);
            double at = dice.Between(0.06, 0.94);
            double bend = dice.Between(-0.25, 0.25);
            (double nx, double ny) = side switch
            {
                0 => (0, -1),
                1 => (1, 0),
                2 => (0, 1),
                _ => (-1.0, 0.0),
            };
            (double s, double c) = Math.SinCos(bend);
            (double ox, double oy) = (c * nx - s * ny, s * nx + c * ny);
            (double ex, double ey) = side switch
            {
                0 => (at * w, 0),
                1 => (w, at * h),
                2 => (at * w, h),
                _ => (0.0, at * h),
            };
            Placed p = new(ex - ox * reach, ey - oy * reach, ox, oy, dice.Chance(0.5));
            double free = truth.Junctions.Min(j =>
            {
                (double u, double v) = In(p, j.Place.X, j.Place.Y);
                return Math.Max(Math.Abs(u) - halfWide, -v);
            });
            foreach (Placed o in others)
            {
                free = Math.Min(free, Math.Sqrt((o.X - p.X) * (o.X - p.X) + (o.Y - p.Y) * (o.Y - p.Y)) - 4);
            }

            if (free > best.Free)
            {
                best = (p, free);
            }
        }

        return best.Best;
    }
}
