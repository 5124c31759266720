namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>The families that were added to the first thirteen.</summary>
internal sealed partial class Prints
{
    private void PrintFurther(PrintFamily family, Rgb main, IReadOnlyList<Rgb> others)
    {
        switch (family)
        {
            case PrintFamily.WornDenim:
                WornDenim(main);
                break;
            case PrintFamily.Rings:
                OverlappingRings(main);
                break;
            case PrintFamily.Hexagons:
                Honeycomb(main, others);
                break;
            case PrintFamily.PinDot:
                PinDots(main);
                break;
            case PrintFamily.Crosshatch:
                Crosshatch(main);
                break;
            case PrintFamily.Scallop:
                Scallops(main);
                break;
            case PrintFamily.StarScatter:
                Stars(main, others);
                break;
            case PrintFamily.Crackle:
                Crackle(main);
                break;
            case PrintFamily.Chambray:
                Chambray(main);
                break;
            case PrintFamily.Lettering:
                Lettering(main);
                break;
            case PrintFamily.Ditsy:
                Ditsy(main, others);
                break;
            case PrintFamily.Paisley:
                Paisley(main, others);
                break;
            case PrintFamily.Toile:
                Toile(main, others);
                break;
            case PrintFamily.Houndstooth:
                Houndstooth(main);
                break;
            case PrintFamily.Herringbone:
                Herringbone(main, others);
                break;
            case PrintFamily.Argyle:
                Argyle(main, others);
                break;
            case PrintFamily.Damask:
                Damask(main);
                break;
            case PrintFamily.Ikat:
                Ikat(main, others);
                break;
            case PrintFamily.WavyStripe:
                WavyStripes(main, others);
                break;
            case PrintFamily.BuffaloCheck:
                BuffaloCheck(main);
                break;
            case PrintFamily.BorderPrint:
                Garlands(main, others);
                break;
            case PrintFamily.Novelty:
                Novelty(main, others);
                break;
            case PrintFamily.FramedMotifs:
                FramedMotifs(main, others);
                break;
            default:
                throw new ArgumentOutOfRangeException(nameof(family));
        }
    }

    // Lighter or darker than the ground, whichever shows.
    private static Rgb Ink(Rgb main, double by) => main.Lit(main.Luma > 140 ? -by : by);

    // A whole number of repeats in the tile, so that it has no joint; even where the pattern alternates.
    private double Pitch(double low, double high, bool even = false)
    {
        double n = Inches / dice.Between(low, high);
        int whole = even ? 2 * Math.Max(1, (int)Math.Round(n / 2)) : Math.Max(1, (int)Math.Round(n));
        return Inches / whole;
    }

    private void WornDenim(Rgb main)
    {
        Rgb indigo = new Rgb(48, 62, 92).Toward(main, 0.25).Near(dice, 14);
        Fill(indigo);
        Rgb pale = new(176, 186, 200);
        int twill = (int)Math.Round(Inches * 22);
        int period = (int)Math.Round(Inches / 1.4);
        double scale = Inches / period;
        uint seed = (uint)dice.Below(1 << 20);
        double worn = dice.Between(0.15, 0.55);
        Each(
            (x, y) =>
            {
                double t = (x + y) / Inches * twill % 1;
                float wear = Math.Clamp(
                    (Noise.Fractal(x / scale, y / scale, seed, 4, period) - 0.42f) * 2.4f * (float)worn,
                    0,
                    0.75f
                );
                return (pale, wear + (t < 0.4 ? 0.14f : 0));
            }
        );
    }

    private void OverlappingRings(Rgb main)
    {
        Rgb ink = Ink(main, dice.Between(0.25, 0.5));
        double pitch = Pitch(0.6, 1.1);
        int n = (int)Math.Round(Inches / pitch);
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                Ring((i + 0.5) * pitch, (j + 0.5) * pitch, 0.7 * pitch, 0.03, ink);
            }
        }
    }

    private void Honeycomb(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb ink = dice.Chance(0.5) ? Ink(main, 0.5) : Contrast(main, others);
        double pitch = Pitch(0.35, 0.6);
        double rise = Inches / (2 * Math.Round(Inches / (pitch * 1.732) / 1));
        double line = dice.Between(0.018, 0.04);
        Each(
            (x, y) =>
            {
                // The two nearest of the staggered centres: a border lies where they are equally far.
                (double a, double b) = (9, 9);
                int row = (int)Math.Floor(y / rise);
                for (int r = row - 1; r <= row + 2; r++)
                {
                    double shift = (r & 1) * pitch / 2;
                    double near = Math.Round((x - shift) / pitch) * pitch + shift;
                    foreach (double cx in new[] { near, near - pitch, near + pitch })
                    {
                        double d = Math.Sqrt((x - cx) * (x - cx) + (y - r * rise) * (y - r * rise));
                        (a, b) = d < a ? (d, a) : (a, Math.Min(b, d));
                    }
                }

                return (ink, (float)Math.Clamp((line - (b - a) / 2) * ppi + 0.5, 0, 1));
            }
        );
    }

    private void PinDots(Rgb main)
    {
        Rgb dot = main.Lit(main.Luma > 150 ? -0.55 : 0.8);
        double pitch = Pitch(0.1, 0.17);
        int n = (int)Math.Round(Inches / pitch);
        double radius = dice.Between(0.016, 0.026);
        for (int i = 0; i < n; i++)
        {
            for (int j = 0; j < n; j++)
            {
                Disc((i + 0.5 * (j & 1)) * pitch, j * pitch, radius, dot);
            }
        }
    }

    private void Crosshatch(Rgb main)
    {
        Rgb ink = Ink(main, dice.Between(0.1, 0.2));
        int lines = (int)(Inches / dice.Between(0.07, 0.12));
        foreach (bool across in new[] { true, false })
        {
            for (int i = 0; i < lines; i++)
            {
                // Drawn by hand: each line has gaps, and no two lie equally far apart.
                double at = dice.Between(0, Inches);
                double from = dice.Between(0, Inches);
                double length = dice.Between(0.4, 0.9) * Inches;
                double lean = dice.Between(-0.03, 0.03) * length;
                double width = dice.Between(0.012, 0.022);
                if (across)
                {
                    Line(from, at, from + length, at + lean, width, ink);
                }
                else
                {
                    Line(at, from, at + lean, from + length, width, ink);
                }
            }
        }
    }

    private void Scallops(Rgb main)
    {
        Rgb ink = Ink(main, dice.Between(0.3, 0.6));
        double pitch = Pitch(0.35, 0.6);
        double rise = Inches / (2 * Math.Round(Inches / pitch));
        double radius = pitch / 2;
        double line = dice.Between(0.014, 0.028);
        Each(
            (x, y) =>
            {
                // Each row of shells lies over the next; the first shell that holds the place from below is the one seen.
                int row = (int)Math.Floor(y / rise);
                for (int r = row + 2; r >= row - 3; r--)
                {
                    double shift = (r & 1) * radius;
                    double cx = Math.Round((x - shift) / pitch) * pitch + shift;
                    double cy = r * rise + radius;
                    double d = Math.Sqrt((x - cx) * (x - cx) + (y - cy) * (y - cy));
                    if (d <= radius && y <= cy)
                    {
                        double inner = Math.Abs(d - 0.62 * radius);
                        double edge = Math.Min(radius - d, inner * 1.4);
                        return (ink, (float)Math.Clamp((line - edge) * ppi + 0.5, 0, 1));
                    }
                }

                return (ink, 0);
            }
        );
    }

    private void Stars(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb star = dice.Chance(0.6) ? main.Lit(main.Luma > 150 ? -0.55 : 0.75) : Contrast(main, others);
        foreach ((double x, double y) in Scatter(dice.Between(0.2, 0.34)))
        {
            Star(x, y, dice.Between(0.04, 0.075), dice.Between(0, 6.28), star);
        }
    }

    private void Star(double x, double y, double radius, double turn, Rgb c) =>
        Shape(
            x,
            y,
            radius,
            c,
            (dx, dy) =>
            {
                double a = (Math.Atan2(dy, dx) + turn + 20 * Math.PI) * 5 / (2 * Math.PI) % 1;
                double edge = radius * (1 - 0.62 * (1 - Math.Abs(2 * a - 1)));
                return Math.Sqrt(dx * dx + dy * dy) - edge;
            }
        );

    private void Crackle(Rgb main)
    {
        Rgb ink = Ink(main, dice.Between(0.15, 0.35));
        double cell = Pitch(0.3, 0.55);
        int n = (int)Math.Round(Inches / cell);
        uint seed = (uint)dice.Below(1 << 20);
        double line = dice.Between(0.01, 0.02);
        Each(
            (x, y) =>
            {
                (double a, double b) = (9, 9);
                int ix = (int)Math.Floor(x / cell);
                int iy = (int)Math.Floor(y / cell);
                for (int j = iy - 1; j <= iy + 1; j++)
                {
                    for (int i = ix - 1; i <= ix + 1; i++)
                    {
                        (int wi, int wj) = ((i % n + n) % n, (j % n + n) % n);
                        double cx = (i + 0.15 + 0.7 * Dice.Lattice(wi, wj, seed)) * cell;
                        double cy = (j + 0.15 + 0.7 * Dice.Lattice(wi, wj, seed + 9)) * cell;
                        double d = Math.Sqrt((x - cx) * (x - cx) + (y - cy) * (y - cy));
                        (a, b) = d < a ? (d, a) : (a, Math.Min(b, d));
                    }
                }

                return (ink, (float)Math.Clamp((line - (b - a) / 2) * ppi + 0.5, 0, 1));
            }
        );
    }

    private void Chambray(Rgb main)
    {
        Rgb weft = Ink(main, dice.Between(0.1, 0.3));
        uint seed = (uint)dice.Below(1 << 20);
        int threads = (int)Math.Round(Inches * 36);
        int period = (int)Math.Round(Inches * 3);
        Each(
            (x, y) =>
            {
                int i = (int)(x / Inches * threads);
                int j = (int)(y / Inches * threads);
                float over = ((i + j) & 1) == 0 ? 0.55f : 0.25f;
                float slub = Noise.Value(x / Inches * period, y / Inches * threads, seed, 0) > 0.9f ? 0.25f : 0;
                return (weft, over * (0.6f + 0.8f * Dice.Lattice(0, j % threads, seed + 3)) + slub);
            }
        );
    }

    private void Lettering(Rgb main)
    {
        Rgb ink = Ink(main, dice.Between(0.45, 0.7));
        double rise = Pitch(0.22, 0.34);
        int lines = (int)Math.Round(Inches / rise);
        double height = 0.3 * rise;
        for (int l = 0; l < lines; l++)
        {
            double y = (l + 0.5) * rise;
            double x = dice.Between(0, 0.2);
            while (x < Inches - 0.12)
            {
                int letters = 2 + dice.Below(6);
                for (int k = 0; k < letters && x < Inches - 0.1; k++)
                {
                    double w = height * dice.Between(0.5, 0.9);
                    double thick = 0.018;
                    switch (dice.Below(5))
                    {
                        case 0:
                            Ring(x + w / 2, y, height * 0.42, thick, ink);
                            break;
                        case 1:
                            Line(x, y - height, x, y + height * 0.5, thick, ink);
                            Ring(x + w / 2, y, height * 0.38, thick, ink);
                            break;
                        case 2:
                            Line(x, y - height * 0.5, x, y + height * 0.5, thick, ink);
                            Line(x, y - height * 0.2, x + w, y - height * 0.45, thick, ink);
                            break;
                        case 3:
                            Line(x, y - height * 0.5, x + w / 2, y + height * 0.5, thick, ink);
                            Line(x + w / 2, y + height * 0.5, x + w, y - height * 0.5, thick, ink);
                            break;
                        default:
                            Line(x, y, x + w, y, thick, ink);
                            Line(x, y - height * 0.5, x + w, y + height * 0.5, thick, ink);
                            break;
                    }

                    x += w + 0.03;
                }

                x += height;
            }
        }
    }

    private void Ditsy(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb leaf = new Rgb(84, 110, 66).Toward(main, 0.2);
        foreach ((double x, double y) in Scatter(dice.Between(0.16, 0.24)))
        {
            double turn = dice.Between(0, 6.28);
            double s = dice.Between(0.03, 0.05);
            (double sin, double cos) = Math.SinCos(turn);
            Line(x, y, x + 2.2 * s * cos, y + 2.2 * s * sin, 0.013, leaf);
            Leaf(x + 1.2 * s * cos, y + 1.2 * s * sin, s, s * 0.45, turn + 0.9, leaf);
            Disc(x, y, s * 0.8, dice.Pick(others));
            Disc(x + 1.3 * s * sin, y - 1.3 * s * cos, s * 0.7, dice.Pick(others));
        }
    }

    private void Paisley(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb rim = Contrast(main, others);
        foreach ((double x, double y) in Scatter(dice.Between(0.8, 1.2)))
        {
            double size = dice.Between(0.32, 0.55);
            double turn = dice.Between(0, 6.28);
            Drop(x, y, size, turn, rim);
            Drop(x, y, size * 0.86, turn, dice.Pick(others).Near(dice, 12));
            Drop(x, y, size * 0.55, turn, main.Lit(main.Luma > 140 ? -0.2 : 0.3));
            Flower(x, y, size * 0.25, 6, rim, new Rgb(230, 190, 90));
            for (int k = 0; k < 12; k++)
            {
                double a = turn + k * 0.52;
                Disc(x + 1.25 * size * Math.Cos(a), y + 1.25 * size * Math.Sin(a), 0.025, rim);
            }
        }

        foreach ((double x, double y) in Scatter(0.3))
        {
            Disc(x, y, 0.022, dice.Pick(others));
        }
    }

    // A drop whose tip bends sideways.
    private void Drop(double x, double y, double size, double turn, Rgb c)
    {
        (double s, double k) = Math.SinCos(turn);
        Shape(
            x,
            y,
            size * 1.7,
            c,
            (dx, dy) =>
            {
                double u = (dx * k + dy * s) / size;
                double v = (-dx * s + dy * k) / size;
                v -= u > 0 ? 0.22 * u * u : 0;
                double half = u < 0 ? Math.Sqrt(Math.Max(0, 0.36 - u * u)) : 0.6 * (1 - u / 1.5);
                return u is < -0.6 or > 1.5 ? 1 : (Math.Abs(v) - half) * size;
            }
        );
    }

    private void Toile(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb paper = main.Luma > 140 ? main : new(240, 232, 216);
        Rgb ink = main.Luma > 140 ? Contrast(main, others) : main;
        Fill(paper);
        foreach ((double x, double y) in Scatter(1.55))
        {
            // A hill, hatched; on it a tree of bare boughs with tufts; birds above.
            double w = dice.Between(0.5, 0.8);
            for (int k = 0; k < 14; k++)
            {
                double t = (k / 13.0 - 0.5) * 2;
                double top = 0.3 * (1 - t * t);
                Line(x + t * w, y - top, x + t * w - 0.12, y + 0.22 - 0.4 * top, 0.017, ink);
            }

            for (int k = 0; k < 12; k++)
            {
                double t0 = (k / 12.0 - 0.5) * 2;
                double t1 = ((k + 1) / 12.0 - 0.5) * 2;
                Line(x + t0 * w, y - 0.3 * (1 - t0 * t0), x + t1 * w, y - 0.3 * (1 - t1 * t1), 0.026, ink);
            }

            Bough(x, y - 0.28, -Math.PI / 2 + dice.Between(-0.2, 0.2), 0.42, 0.05, 4, ink);
            for (int k = 0; k < 3; k++)
            {
                double bx = x + dice.Between(-0.9, 0.9);
                double by = y - dice.Between(0.8, 1.2);
                Line(bx - 0.09, by - 0.04, bx, by, 0.018, ink);
                Line(bx, by, bx + 0.09, by - 0.05, 0.018, ink);
            }
        }
    }

    private void Bough(double x, double y, double turn, double length, double width, int depth, Rgb ink)
    {
        double x1 = x + length * Math.Cos(turn);
        double y1 = y + length * Math.Sin(turn);
        Line(x, y, x1, y1, width, ink);
        if (depth == 0)
        {
            Ring(x1, y1, 0.05, 0.014, ink);
            return;
        }

        Bough(x1, y1, turn - dice.Between(0.25, 0.7), length * 0.68, width * 0.65, depth - 1, ink);
        Bough(x1, y1, turn + dice.Between(0.25, 0.7), length * 0.68, width * 0.65, depth - 1, ink);
    }

    private void Houndstooth(Rgb main)
    {
        Rgb ink = main.Lit(main.Luma > 130 ? -0.75 : 0.85);
        double pitch = Pitch(0.25, 0.5);
        Each(
            (x, y) =>
            {
                // The weave itself: four dark and four light threads each way in 2/2 twill.
                int i = (int)Math.Floor(x / pitch * 8);
                int j = (int)Math.Floor(y / pitch * 8);
                bool warpOver = ((i + j) & 3) < 2;
                bool dark = ((warpOver ? i : j) & 7) < 4;
                return (ink, dark ? 0.92f : 0);
            }
        );
    }

    private void Herringbone(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb ink = dice.Chance(0.6) ? Ink(main, dice.Between(0.3, 0.6)) : Contrast(main, others);
        double column = Pitch(0.5, 1, even: true);
        double rise = Pitch(0.12, 0.22);
        Each(
            (x, y) =>
            {
                double u = x / column;
                int c = (int)Math.Floor(u);
                double f = u - c;
                double lean = (c & 1) == 0 ? f : 1 - f;
                double v = (y + lean * column * 0.8) / rise;
                double d = Math.Abs(v - Math.Floor(v) - 0.5) - 0.25;
                return (ink, (float)Math.Clamp(0.5 - d * rise * ppi, 0, 1));
            }
        );
    }

    private void Argyle(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb diamond = dice.Pick(others);
        Rgb rule = Contrast(main, others);
        double wide = Pitch(1, 1.8);
        double tall = Pitch(1.4, 2.4);
        Each(
            (x, y) =>
            {
                double u = Math.Abs(x / wide - Math.Round(x / wide)) * 2;
                double v = Math.Abs(y / tall - Math.Round(y / tall)) * 2;
                return (diamond, (float)Math.Clamp((1 - u - v) * wide / 2 * ppi + 0.5, 0, 1));
            }
        );
        Each(
            (x, y) =>
            {
                double u = x / wide + 0.5;
                double v = y / tall + 0.5;
                double d = Math.Min(Fold(u + v), Fold(u - v)) * wide * 0.75;
                return (rule, (float)Math.Clamp((0.022 - d) * ppi + 0.5, 0, 1));
            }
        );

        static double Fold(double t) => Math.Abs(t - Math.Round(t));
    }

    private void Damask(Rgb main)
    {
        Rgb tone = Ink(main, dice.Between(0.14, 0.3));
        double wide = Pitch(2, 3.2);
        double tall = wide * Math.Max(1, Math.Round(Inches / wide)) / Math.Max(1, Math.Round(Inches / (wide * 1.3)));
        uint seed = (uint)dice.Below(1 << 20);
        Each(
            (x, y) =>
            {
                // Mirrored about its middle, each second row shifted by half.
                double row = Math.Floor(y / tall * 2);
                double u = x / wide + (((int)row & 1) == 0 ? 0 : 0.5);
                double du = Math.Abs(u - Math.Round(u)) * 2;
                double dv = (y / tall * 2 - row - 0.5) * 2;
                double body = du * 1.6 + dv * dv * 0.9;
                double curl = Noise.Fractal(du * 3.4, dv * 3.4, seed, 3) - 0.5;
                double inside = 0.85 - body + 1.1 * curl;
                double vein = Math.Abs(Math.Sin(9 * (du + curl)));
                bool on = inside > 0 && (vein > 0.28 || inside < 0.12);
                return (tone, on ? 1 : 0);
            }
        );
    }

    private void Ikat(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb a = dice.Pick(others);
        Rgb b = main.Lit(main.Luma > 140 ? -0.35 : 0.5);
        double wide = Pitch(0.8, 1.5);
        double tall = Pitch(1, 2);
        uint seed = (uint)dice.Below(1 << 20);
        int columns = (int)Math.Round(Inches * 40);
        foreach ((double reach, Rgb colour) in new[] { (1.0, a), (0.6, b), (0.28, a) })
        {
            Each(
                (x, y) =>
                {
                    // Each few warp threads slipped by a distance of their own before weaving.
                    double slip = 0.14 * (Dice.Lattice((int)(x / Inches * columns) % columns, 1, seed) - 0.5);
                    double u = Math.Abs(x / wide - Math.Round(x / wide)) * 2;
                    double yy = y / tall + slip / tall;
                    double v = Math.Abs(yy - Math.Round(yy)) * 2;
                    return (colour, (float)Math.Clamp((reach - u - v) * wide * 6, 0, 1));
                }
            );
        }
    }

    private void WavyStripes(Rgb main, IReadOnlyList<Rgb> others)
    {
        double pitch = Pitch(0.3, 0.8);
        double swing = pitch * dice.Between(0.3, 0.9);
        int waves = Math.Max(1, (int)Math.Round(Inches / dice.Between(1, 3)));
        Rgb first = Ink(main, 0.45);
        Rgb second = dice.Pick(others);
        double share = dice.Between(0.2, 0.5);
        Each(
            (x, y) =>
            {
                double u = (x + swing * Math.Sin(2 * Math.PI * waves * y / Inches)) / pitch;
                double f = u - Math.Floor(u);
                double inside = Math.Min(f, share - f) * pitch * ppi + 0.5;
                double thin = (0.03 - Math.Abs(f - 0.5 - share / 2) * pitch) * ppi + 0.5;
                return inside > 0 ? (first, (float)Math.Min(inside, 1)) : (second, (float)Math.Clamp(thin, 0, 1));
            }
        );
    }

    private void BuffaloCheck(Rgb main)
    {
        Rgb strong = main.Luma > 190 ? main.Lit(-0.5) : main;
        Rgb light = strong.Lit(strong.Luma < 70 ? 0.55 : 0.75);
        Fill(light);
        double pitch = Pitch(0.9, 1.6, even: true);
        Each(
            (x, y) =>
            {
                float a = Band(x);
                float c = Band(y);
                return (strong, 0.5f * (a + c));
            }
        );

        float Band(double u)
        {
            double v = u % (2 * pitch);
            return (float)Math.Clamp(Math.Min(v, pitch - v) * ppi + 0.5, 0, 1);
        }
    }

    private void Garlands(Rgb main, IReadOnlyList<Rgb> others)
    {
        double pitch = Pitch(1.6, 2.6);
        int n = (int)Math.Round(Inches / pitch);
        Rgb rule = Ink(main, 0.5);
        Rgb leaf = new Rgb(72, 104, 64).Toward(main, 0.2);
        Rgb bloom = dice.Pick(others);
        Rgb second = dice.Pick(others);
        for (int i = 0; i < n; i++)
        {
            foreach (double f in new[] { 0.0, 0.05, 0.55, 0.6 })
            {
                Line(i * pitch + f * pitch, 0, i * pitch + f * pitch, Inches, f is 0.05 or 0.55 ? 0.022 : 0.05, rule);
            }

            double mid = (i + 0.3) * pitch;
            int knots = Math.Max(1, (int)Math.Round(Inches / 0.6));
            for (int k = 0; k < knots; k++)
            {
                double y = k * Inches / knots;
                double sway = 0.14 * pitch * ((k & 1) == 0 ? 1 : -1);
                Leaf(mid + sway, y + 0.14, 0.16, 0.055, 0.9, leaf);
                Leaf(mid - sway, y + 0.3, 0.16, 0.055, -0.9, leaf);
                Flower(mid + sway, y, 0.13, 6, (k & 1) == 0 ? bloom : second, new Rgb(236, 200, 110));
                Disc((i + 0.8) * pitch, y, 0.05, bloom);
            }
        }
    }

    private void Novelty(Rgb main, IReadOnlyList<Rgb> others)
    {
        int kind = dice.Below(3);
        foreach ((double x, double y) in Scatter(dice.Between(0.85, 1.3)))
        {
            Rgb body = dice.Pick(others).Near(dice, 10);
            if (Math.Abs(body.Luma - main.Luma) < 40)
            {
                body = main.Lit(main.Luma > 140 ? -0.6 : 0.7);
            }

            double s = dice.Between(0.3, 0.42);
            switch (kind)
            {
                case 0:
                    Cat(x, y, s, body);
                    break;
                case 1:
                    Leaf(x, y, s, s * 0.42, 0, body);
                    Leaf(x - 1.1 * s, y, s * 0.35, s * 0.3, 1.57, body.Lit(-0.2));
                    Disc(x + 0.55 * s, y - 0.08 * s, s * 0.09, new(250, 250, 245));
                    Disc(x + 0.57 * s, y - 0.08 * s, s * 0.045, new(20, 20, 24));
                    break;
                default:
                    Leaf(x, y + 0.4 * s, s, s * 0.22, 0, body);
                    Line(x, y + 0.4 * s, x, y - s, 0.03, body.Lit(-0.4));
                    Sail(x + 0.06, y - s, y + 0.2 * s, 0.7 * s, new Rgb(246, 240, 226));
                    break;
            }
        }

        foreach ((double x, double y) in Scatter(0.4))
        {
            Disc(x, y, 0.03, dice.Pick(others).Lit(0.3));
        }
    }

    private void Cat(double x, double y, double s, Rgb body)
    {
        Disc(x, y + 0.35 * s, 0.55 * s, body);
        Disc(x, y - 0.35 * s, 0.36 * s, body);
        Leaf(x - 0.22 * s, y - 0.66 * s, 0.24 * s, 0.12 * s, 1.35, body);
        Leaf(x + 0.22 * s, y - 0.66 * s, 0.24 * s, 0.12 * s, 1.8, body);
        Line(x + 0.5 * s, y + 0.7 * s, x + 0.95 * s, y + 0.1 * s, 0.1 * s, body);
        Disc(x - 0.13 * s, y - 0.38 * s, 0.06 * s, new(240, 220, 120));
        Disc(x + 0.13 * s, y - 0.38 * s, 0.06 * s, new(240, 220, 120));
    }

    private void Sail(double x, double top, double bottom, double wide, Rgb c) =>
        Shape(
            x,
            (top + bottom) / 2,
            bottom - top,
            c,
            (dx, dy) =>
            {
                double t = (dy + (bottom - top) / 2) / (bottom - top);
                return t is < 0 or > 1 ? 1 : Math.Max(-dx, dx - wide * t);
            }
        );

    private void FramedMotifs(Rgb main, IReadOnlyList<Rgb> others)
    {
        Rgb frame = Contrast(main, others);
        double wide = Pitch(1.6, 2.6);
        double tall = Pitch(1.6, 2.6);
        double line = dice.Between(0.03, 0.06);
        double inset = dice.Between(0.08, 0.14);
        Each(
            (x, y) =>
            {
                double u = Math.Abs(x / wide - Math.Round(x / wide)) * wide;
                double v = Math.Abs(y / tall - Math.Round(y / tall)) * tall;
                double d = Math.Min(u, v) - inset;
                return (frame, (float)Math.Clamp((line / 2 - Math.Abs(d)) * ppi + 0.5, 0, 1));
            }
        );
        int across = (int)Math.Round(Inches / wide);
        int down = (int)Math.Round(Inches / tall);
        for (int j = 0; j < down; j++)
        {
            for (int i = 0; i < across; i++)
            {
                (double x, double y) = ((i + 0.5) * wide, (j + 0.5) * tall);
                double s = 0.28 * Math.Min(wide, tall);
                Rgb c = dice.Pick(others);
                if (((i + j) & 1) == 0)
                {
                    Flower(x, y, s, 7, c, new Rgb(235, 195, 90));
                }
                else
                {
                    Cat(x, y, s * 0.9, Math.Abs(c.Luma - main.Luma) < 40 ? frame : c);
                }
            }
        }
    }
}
