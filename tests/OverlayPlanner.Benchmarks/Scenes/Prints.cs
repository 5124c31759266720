namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>A square of printed cloth that repeats without a joint: 8-bit sRGB, side a power of two.</summary>
internal sealed class FabricTile
{
    public FabricTile(int side, double pixelsPerInch, byte[] rgb)
    {
        Side = side;
        PixelsPerInch = pixelsPerInch;
        Rgb = rgb;
        (double r, double g, double b) = (0, 0, 0);
        for (int i = 0; i < rgb.Length; i += 3)
        {
            r += rgb[i];
            g += rgb[i + 1];
            b += rgb[i + 2];
        }

        double n = rgb.Length / 3.0;
        Mean = new((float)(r / n), (float)(g / n), (float)(b / n));
    }

    public int Side { get; }

    public double PixelsPerInch { get; }

    public byte[] Rgb { get; }

    public Rgb Mean { get; }
}

/// <summary>Prints cloth.</summary>
internal sealed partial class Prints
{
    private readonly int side;
    private readonly double ppi;
    private readonly float[] r;
    private readonly float[] g;
    private readonly float[] b;
    private readonly Dice dice;

    private Prints(int side, double ppi, Dice dice)
    {
        this.side = side;
        this.ppi = ppi;
        this.dice = dice;
        r = new float[side * side];
        g = new float[side * side];
        b = new float[side * side];
    }

    private double Inches => side / ppi;

    /// <summary>A tile of one print.</summary>
    /// <param name="family">The kind of print.</param>
    /// <param name="main">The colour that it reads as from afar.</param>
    /// <param name="others">Colours that go with it.</param>
    /// <param name="seed">The same seed gives the same print.</param>
    /// <param name="side">Pixels, a power of two.</param>
    /// <param name="ppi">Pixels to the inch.</param>
    public static FabricTile Make(
        PrintFamily family,
        Rgb main,
        IReadOnlyList<Rgb> others,
        ulong seed,
        int side,
        double ppi
    )
    {
        Prints p = new(side, ppi, new Dice(seed));
        p.Fill(main);
        switch (family)
        {
            case PrintFamily.Solid:
                break;
            case PrintFamily.ToneOnTone:
                p.ToneOnTone(main);
                break;
            case PrintFamily.Dots:
                p.Dots(main, others);
                break;
            case PrintFamily.SmallFloral:
                p.SmallFloral(main, others);
                break;
            case PrintFamily.Stripe:
                p.Stripes(main, others);
                break;
            case PrintFamily.Gingham:
                p.Gingham(main);
                break;
            case PrintFamily.Plaid:
                p.Plaid(main, others);
                break;
            case PrintFamily.LargePrint:
                p.LargePrint(main, others);
                break;
            case PrintFamily.Geometric:
                p.Geometric(main, others);
                break;
            case PrintFamily.Speckle:
                p.Speckle(main, others);
                break;
            case PrintFamily.Batik:
                p.Batik(main, others);
                break;
            case PrintFamily.Sprig:
                p.Sprigs(main, others);
                break;
            case PrintFamily.Leaves:
                p.LeafScatter(
                    main.Lit(main.Luma > 140 ? -0.28 : 0.3),
                    main.Lit(main.Luma > 140 ? -0.15 : 0.18),
                    0.16,
                    0.34
                );
                break;
            default:
                p.PrintFurther(family, main, others);
                break;
        }

        return p.Woven();
    }

    private void Fill(Rgb c)
    {
        Array.Fill(r, c.R);
        Array.Fill(g, c.G);
        Array.Fill(b, c.B);
    }

    private void ToneOnTone(Rgb main)
    {
        double by = dice.Between(0.06, 0.16) * (main.Luma > 150 ? -1 : 1);
        Rgb tone = main.Lit(by);
        switch (dice.Below(4))
        {
            case 0:
                LeafScatter(tone, tone.Lit(by / 2), 0.12, 0.26);
                break;
            case 1:
                foreach ((double x, double y) in Scatter(0.2))
                {
                    Ring(x, y, dice.Between(0.05, 0.1), 0.022, tone);
                }

                break;
            case 2:
                // Marbled, as blenders are.
                int period = (int)Math.Round(Inches / dice.Between(0.5, 0.9));
                double scale = Inches / period;
                uint seed = (uint)dice.Below(1 << 20);
                Each(
                    (x, y) =>
                    {
                        double bend = 0.8 * Noise.Fractal(x / scale, y / scale, seed + 3, 2, period);
                        float v = Noise.Fractal(x / scale + bend, y / scale + bend, seed, 4, period);
                        return (tone, Math.Clamp((v - 0.4f) * 4, 0, 1));
                    }
                );
                break;
            default:
                foreach ((double x, double y) in Scatter(0.26))
                {
                    Flower(x, y, dice.Between(0.07, 0.11), 5, tone, tone.Lit(by));
                }

                break;
        }
    }

    private void Dots(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb dot = dice.Chance(0.5) ? main.Lit(main.Luma > 150 ? -0.6 : 0.75) : Contrast(main, others);
        int n = (int)Math.Round(Inches / dice.Between(0.18, 0.5));
        double pitch = Inches / n;
        double radius = pitch * dice.Between(0.16, 0.3);
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                Disc((i + 0.25) * pitch, (j + 0.25) * pitch, radius, dot);
                Disc((i + 0.75) * pitch, (j + 0.75) * pitch, radius, dot);
            }
        }
    }

    private void SmallFloral(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb leaf = new Rgb(70, 96, 58).Toward(main, 0.25);
        foreach ((double x, double y) in Scatter(dice.Between(0.24, 0.4)))
        {
            double turn = dice.Between(0, 6.28);
            double size = dice.Between(0.06, 0.12);
            Leaf(x + size * Math.Cos(turn), y + size * Math.Sin(turn), size * 1.1, size * 0.4, turn, leaf);
            Leaf(x - size * Math.Cos(turn + 0.7), y - size * Math.Sin(turn + 0.7), size, size * 0.35, turn + 0.7, leaf);
            Rgb petal = dice.Chance(0.3) ? main.Lit(main.Luma > 150 ? -0.4 : 0.6) : dice.Pick(others);
            Flower(x, y, size, 5, petal, new Rgb(232, 190, 80));
        }

        foreach ((double x, double y) in Scatter(0.3))
        {
            Disc(x, y, 0.018, dice.Pick(others));
        }
    }

    private void Stripes(Rgb main, IReadOnlyList<Rgb> others)
    {
        int n = (int)Math.Round(Inches / dice.Between(0.2, 0.7));
        double pitch = Inches / n;
        List<(double From, double To, Rgb Colour)> bands = [];
        double at = 0;
        int count = 1 + dice.Below(4);
        for (int k = 0; k < count; k++)
        {
            double from = at + dice.Between(0.05, 0.25);
            double to = Math.Min(from + dice.Between(0.06, 0.45), 0.98);
            if (from > 0.9)
            {
                break;
            }

            bands.Add(
                (from * pitch, to * pitch, k == 0 ? main.Lit(main.Luma > 150 ? -0.45 : 0.55) : dice.Pick(others))
            );
            at = to;
        }

        Each(
            (x, _) =>
            {
                double u = x % pitch;
                foreach ((double from, double to, Rgb colour) in bands)
                {
                    double inside = Math.Min(u - from, to - u) * ppi + 0.5;
                    if (inside > 0)
                    {
                        return (colour, (float)Math.Min(inside, 1));
                    }
                }

                return (default, 0);
            }
        );
    }

    private void Gingham(Rgb main)
    {
        int n = 2 * (int)Math.Round(Inches / dice.Between(0.2, 0.55) / 2);
        double pitch = Inches / n;
        Rgb white = new(246, 243, 236);
        Rgb strong = main.Luma > 190 ? main.Lit(-0.35) : main;
        Fill(white);
        Each(
            (x, y) =>
            {
                float a = Band(x, pitch);
                float c = Band(y, pitch);
                return (strong, 0.5f * (a + c));
            }
        );

        float Band(double u, double p)
        {
            double v = u % (2 * p);
            return (float)Math.Clamp(Math.Min(v, p - v) * ppi + 0.5, 0, 1);
        }
    }

    private void Plaid(Rgb main, IReadOnlyList<Rgb> others)
    {
        int n = (int)Math.Round(Inches / dice.Between(0.8, 1.8));
        double pitch = Inches / n;
        List<(double From, double To, Rgb Colour, float Alpha, bool Across)> bands = [];
        foreach (bool across in new[] { true, false })
        {
            for (int k = 0; k < 4; k++)
            {
                double from = dice.Between(0, 0.95) * pitch;
                double to = Math.Min(
                    from + pitch * (k < 2 ? dice.Between(0.15, 0.4) : dice.Between(0.02, 0.06)),
                    pitch
                );
                Rgb colour = k == 0 ? main.Lit(main.Luma > 150 ? -0.5 : 0.5) : dice.Pick(others);
                bands.Add((from, to, colour, k < 2 ? 0.45f : 0.7f, across));
            }
        }

        foreach ((double from, double to, Rgb colour, float alpha, bool across) in bands)
        {
            Each(
                (x, y) =>
                {
                    double u = (across ? x : y) % pitch;
                    return (colour, alpha * (float)Math.Clamp(Math.Min(u - from, to - u) * ppi + 0.5, 0, 1));
                }
            );
        }
    }

    private void LargePrint(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb leaf = new Rgb(58, 92, 62).Toward(main, 0.2);
        foreach ((double x, double y) in Scatter(0.75))
        {
            double turn = dice.Between(0, 6.28);
            double size = dice.Between(0.3, 0.6);
            Leaf(x, y, size, size * 0.32, turn, leaf.Near(dice, 14));
            Leaf(x + 0.5 * size, y, size * 0.8, size * 0.26, turn + 1.1, leaf.Lit(0.18));
        }

        foreach ((double x, double y) in Scatter(1.5))
        {
            Rgb petal = dice.Pick(others);
            double size = dice.Between(0.45, 0.75);
            double turn = dice.Between(0, 6.28);
            for (int ring = 0; ring < 4; ring++)
            {
                double s = size * (1 - 0.23 * ring);
                FlowerTurned(x, y, s, 6 + ring % 2, turn + ring * 0.5, petal.Lit(ring % 2 == 0 ? -0.12 : 0.2));
            }

            Disc(x, y, size * 0.16, new Rgb(225, 180, 70));
        }

        foreach ((double x, double y) in Scatter(0.8))
        {
            Flower(x, y, dice.Between(0.1, 0.18), 5, dice.Pick(others).Lit(0.25), new Rgb(240, 220, 150));
        }
    }

    private void Geometric(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb ink = dice.Chance(0.6) ? main.Lit(main.Luma > 150 ? -0.5 : 0.7) : Contrast(main, others);
        int n = (int)Math.Round(Inches / dice.Between(0.35, 0.8));
        double pitch = Inches / n;
        int kind = dice.Below(4);
        double line = dice.Between(0.05, 0.1);
        Each(
            (x, y) =>
            {
                double u = x / pitch;
                double v = y / pitch;
                double du = u - Math.Floor(u) - 0.5;
                double dv = v - Math.Floor(v) - 0.5;
                double d = kind switch
                {
                    // Lattice on the bias.
                    0 => Math.Min(Fold(u + v), Fold(u - v)) / Math.Sqrt(2),
                    // Ogee: rings round two staggered centres.
                    1 => Math.Abs(Math.Min(Math.Sqrt(du * du + dv * dv), Corner(du, dv)) - 0.36),
                    // Chevrons.
                    2 => Math.Abs(Fold(v + Math.Abs(du)) - 0.12),
                    // Open squares.
                    _ => Math.Abs(Math.Max(Math.Abs(du), Math.Abs(dv)) - 0.3),
                };
                return (ink, (float)Math.Clamp((line - d) * pitch * ppi + 0.5, 0, 1));
            }
        );

        static double Fold(double t) => Math.Abs(t - Math.Round(t));
        static double Corner(double a, double c)
        {
            double p = 0.5 - Math.Abs(a);
            double q = 0.5 - Math.Abs(c);
            return Math.Sqrt(p * p + q * q);
        }
    }

    private void Speckle(Rgb main, IReadOnlyList<Rgb> others)
    {
        int count = (int)(Inches * Inches * dice.Between(30, 70));
        for (int i = 0; i < count; i++)
        {
            Rgb c = dice.Chance(0.5) ? main.Lit(main.Luma > 130 ? -0.5 : 0.6) : dice.Pick(others);
            Disc(dice.Between(0, Inches), dice.Between(0, Inches), Math.Abs(dice.Normal()) * 0.014 + 0.007, c);
        }
    }

    private void Batik(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb second = main.Toward(dice.Pick(others), dice.Between(0.3, 0.6));
        Rgb third = main.Lit(main.Luma > 130 ? -0.25 : 0.3);
        int period = (int)Math.Round(Inches / 1.1);
        double scale = Inches / period;
        uint seed = (uint)dice.Below(1 << 20);
        Each(
            (x, y) =>
            {
                double wx = Noise.Fractal(x / scale, y / scale, seed + 7, 3, period) * 1.2;
                double wy = Noise.Fractal(x / scale, y / scale, seed + 19, 3, period) * 1.2;
                float v = Noise.Fractal(x / scale + wx, y / scale + wy, seed, 4, period);
                return (second, Math.Clamp((v - 0.35f) * 3, 0, 1));
            }
        );
        Each(
            (x, y) =>
            {
                float v = Noise.Fractal(x / scale, y / scale, seed + 31, 5, period);
                return (third, 0.7f * Math.Clamp((v - 0.55f) * 5, 0, 1));
            }
        );
    }

    private void Sprigs(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb ink = main.Lit(main.Luma > 150 ? -0.45 : 0.6);
        Rgb bloom = Contrast(main, others);
        int n = (int)Math.Round(Inches / dice.Between(0.35, 0.6));
        double pitch = Inches / n;
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                foreach (double half in new[] { 0.0, 0.5 })
                {
                    double x = (i + half + 0.25) * pitch;
                    double y = (j + half + 0.25) * pitch;
                    double s = pitch * 0.2;
                    double lean = half == 0 ? 0.35 : -0.35;
                    Line(x, y + s, x + lean * s, y - s, 0.016, ink);
                    Leaf(x + 0.45 * s, y, s * 0.5, s * 0.2, -0.6, ink);
                    Leaf(x - 0.45 * s, y + 0.3 * s, s * 0.5, s * 0.2, 0.6, ink);
                    Disc(x + lean * s, y - s, s * 0.32, bloom);
                }
            }
        }
    }

    private void LeafScatter(Rgb ink, Rgb vein, double smallest, double largest)
    {
        foreach ((double x, double y) in Scatter(largest * 1.15))
        {
            double s = dice.Between(smallest, largest);
            double turn = dice.Between(0, 6.28);
            Leaf(x, y, s / 2, s * 0.17, turn, ink);
            Line(
                x - 0.45 * s * Math.Cos(turn),
                y - 0.45 * s * Math.Sin(turn),
                x + 0.4 * s * Math.Cos(turn),
                y + 0.4 * s * Math.Sin(turn),
                0.014,
                vein
            );
        }
    }

    // Adds the weave: warp and weft of slightly uneven thread, and slubs.
    private FabricTile Woven()
    {
        float[] warp = Threads();
        float[] weft = Threads();
        uint seed = (uint)dice.Below(1 << 20);
        int period = (int)Math.Round(Inches * 2);
        byte[] rgb = new byte[side * side * 3];
        Parallel.For(
            0,
            side,
            y =>
            {
                for (int x = 0; x < side; x++)
                {
                    int i = y * side + x;
                    float grain = (Dice.Lattice(x, y, seed) - 0.5f) * 0.05f;
                    float fade =
                        (Noise.Value(x * period / (double)side, y * period / (double)side, seed + 5, period) - 0.5f)
                        * 0.02f;
                    float k = 1 + warp[x] + weft[y] + grain + fade;
                    rgb[3 * i] = (byte)Math.Clamp(r[i] * k + 0.5f, 0, 255);
                    rgb[3 * i + 1] = (byte)Math.Clamp(g[i] * k + 0.5f, 0, 255);
                    rgb[3 * i + 2] = (byte)Math.Clamp(b[i] * k + 0.5f, 0, 255);
                }
            }
        );
        return new(side, ppi, rgb);
    }

    private float[] Threads()
    {
        float[] t = new float[side];
        for (int i = 0; i < side; i++)
        {
            t[i] = (float)(dice.Normal() * 0.007);
        }

        return t;
    }

    private static Rgb Contrast(Rgb main, IReadOnlyList<Rgb> others) =>
        others.OrderByDescending(o => Math.Abs(o.Luma - main.Luma)).First();

    // Random places no closer than the distance, on the torus.
    private List<(double X, double Y)> Scatter(double distance)
    {
        List<(double X, double Y)> places = [];
        int tries = (int)(Inches * Inches / (distance * distance) * 12);
        double dd = distance * distance;
        for (int k = 0; k < tries; k++)
        {
            double x = dice.Between(0, Inches);
            double y = dice.Between(0, Inches);
            bool free = true;
            foreach ((double px, double py) in places)
            {
                double dx = Around(px - x);
                double dy = Around(py - y);
                if (dx * dx + dy * dy < dd)
                {
                    free = false;
                    break;
                }
            }

            if (free)
            {
                places.Add((x, y));
            }
        }

        return places;
    }

    private double Around(double d) => d - Inches * Math.Round(d / Inches);

    private void Each(Func<double, double, (Rgb Colour, float Alpha)> paint) =>
        Parallel.For(
            0,
            side,
            y =>
            {
                for (int x = 0; x < side; x++)
                {
                    (Rgb c, float a) = paint((x + 0.5) / ppi, (y + 0.5) / ppi);
                    if (a > 0)
                    {
                        Blend(y * side + x, c, a);
                    }
                }
            }
        );

    private void Blend(int i, Rgb c, float a)
    {
        r[i] += (c.R - r[i]) * a;
        g[i] += (c.G - g[i]) * a;
        b[i] += (c.B - b[i]) * a;
    }

    // Paints where the distance (inches, negative inside) says so; edges are soft over a pixel.
    private void Shape(double cx, double cy, double reach, Rgb colour, Func<double, double, double> distance)
    {
        int x0 = (int)Math.Floor((cx - reach) * ppi) - 1;
        int x1 = (int)Math.Ceiling((cx + reach) * ppi) + 1;
        int y0 = (int)Math.Floor((cy - reach) * ppi) - 1;
        int y1 = (int)Math.Ceiling((cy + reach) * ppi) + 1;
        int mask = side - 1;
        for (int y = y0; y <= y1; y++)
        {
            for (int x = x0; x <= x1; x++)
            {
                double d = distance((x + 0.5) / ppi - cx, (y + 0.5) / ppi - cy);
                double a = 0.5 - d * ppi;
                if (a > 0)
                {
                    Blend((y & mask) * side + (x & mask), colour, (float)Math.Min(a, 1));
                }
            }
        }
    }

    private void Disc(double x, double y, double radius, Rgb c) =>
        Shape(x, y, radius, c, (dx, dy) => Math.Sqrt(dx * dx + dy * dy) - radius);

    private void Ring(double x, double y, double radius, double width, Rgb c) =>
        Shape(x, y, radius + width, c, (dx, dy) => Math.Abs(Math.Sqrt(dx * dx + dy * dy) - radius) - width / 2);

    private void Leaf(double x, double y, double halfLength, double halfWidth, double turn, Rgb c)
    {
        (double s, double k) = Math.SinCos(turn);
        Shape(
            x,
            y,
            halfLength,
            c,
            (dx, dy) =>
            {
                double u = (dx * k + dy * s) / halfLength;
                double v = Math.Abs(-dx * s + dy * k);
                return Math.Abs(u) >= 1 ? 1 : v - halfWidth * (1 - u * u) * (1 + 0.35 * u);
            }
        );
    }

    private void Flower(double x, double y, double radius, int petals, Rgb petal, Rgb heart)
    {
        FlowerTurned(x, y, radius, petals, dice.Between(0, 6.28), petal);
        Disc(x, y, radius * 0.28, heart);
    }

    private void FlowerTurned(double x, double y, double radius, int petals, double turn, Rgb petal) =>
        Shape(
            x,
            y,
            radius,
            petal,
            (dx, dy) =>
            {
                double a = Math.Atan2(dy, dx) + turn;
                double edge = radius * (0.72 + 0.28 * Math.Abs(Math.Cos(petals * a / 2)));
                return Math.Sqrt(dx * dx + dy * dy) - edge;
            }
        );

    private void Line(double x0, double y0, double x1, double y1, double width, Rgb c)
    {
        double cx = (x0 + x1) / 2;
        double cy = (y0 + y1) / 2;
        double hx = (x1 - x0) / 2;
        double hy = (y1 - y0) / 2;
        double hh = Math.Max(hx * hx + hy * hy, 1e-12);
        Shape(
            cx,
            cy,
            Math.Sqrt(hh) + width,
            c,
            (dx, dy) =>
            {
                double t = Math.Clamp((dx * hx + dy * hy) / hh, -1, 1);
                double ex = dx - t * hx;
                double ey = dy - t * hy;
                return Math.Sqrt(ex * ex + ey * ey) - width / 2;
            }
        );
    }
}
