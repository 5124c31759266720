using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>
/// The colour of the cloth, and of what lies round it, at any place: prints by patch, seams exactly where the map says, ditches
/// with a low and a high side, puckers and waves in the light. Linear light, 1 is paper white.
/// </summary>
internal sealed class ClothSurface
{
    // Seams closer than this to a cell are looked at one by one, in.
    private const double Reach = 0.14;
    private const double Cell = 0.125;
    private const double BakedPerInch = 24;
    private const double ThreadsPerInch = 72;

    private static readonly float[] LinearOf = MakeLinear();

    private readonly double width;
    private readonly double height;
    private readonly SceneWishes wishes;
    private readonly Cut[] cuts;
    private readonly FabricTile[] fabrics;
    private readonly double[] turnCos;
    private readonly double[] turnSin;
    private readonly FabricTile borderFabric;
    private readonly FabricTile backing;
    private readonly double border;
    private readonly double batting;
    private readonly Segment[] segments;
    private readonly double[][] rings;
    private readonly int columns;
    private readonly int rows;
    private readonly int[] cellPatch;
    private readonly int[] cellStart;
    private readonly int[] cellSegments;
    private readonly int[][] patchesOfSegment;
    private readonly double lightX;
    private readonly double lightY;
    private readonly double bakedMargin;
    private readonly int bakedWidth;
    private readonly int bakedHeight;
    private readonly float[] baked;
    private readonly float[]? threads;
    private readonly int threadsWidth;
    private readonly uint noise;
    private readonly LaidOn laidOn;
    private readonly FrontThings front;

    public ClothSurface(
        QuiltMap truth,
        Cut[] cuts,
        FabricTile[] fabrics,
        int borderFabric,
        SceneWishes wishes,
        Dice dice,
        LaidOn laidOn
    )
    {
        this.wishes = wishes;
        this.laidOn = laidOn;
        front = new(truth, wishes, dice.Branch(3));
        this.cuts = cuts;
        this.fabrics = fabrics;
        this.borderFabric = fabrics[borderFabric];
        turnCos = [.. cuts.Select(c => Math.Cos(c.Turn))];
        turnSin = [.. cuts.Select(c => Math.Sin(c.Turn))];
        width = truth.Width.Inches;
        height = truth.Height.Inches;
        bool bordered = wishes.Surround is Surround.Border or Surround.Frame;
        border = bordered ? Math.Clamp(0.08 * Math.Max(width, height), 1.5, 4) : 0;
        batting = wishes.Surround switch
        {
            Surround.Batting => 3.5,
            Surround.Border => 2.5,
            Surround.Frame => 1.6,
            _ => 0,
        };
        noise = (uint)dice.Below(1 << 24);
        double lightFrom = dice.Between(0, 2 * Math.PI);
        lightX = Math.Cos(lightFrom);
        lightY = Math.Sin(lightFrom);
        backing = Prints.Make(
            PrintFamily.Solid,
            new Rgb(176, 170, 158).Near(dice, 20),
            [],
            dice.Next(),
            fabrics[0].Side,
            fabrics[0].PixelsPerInch
        );

        (segments, patchesOfSegment) = MakeSegments(truth, bordered, dice.Branch(1));
        rings = [.. truth.Patches.Select(p => RingOf(truth, p))];
        columns = (int)Math.Ceiling(width / Cell);
        rows = (int)Math.Ceiling(height / Cell);
        (cellPatch, cellStart, cellSegments) = MakeCells();
        bakedMargin = border + 1;
        bakedWidth = (int)Math.Ceiling((width + 2 * bakedMargin) * BakedPerInch) + 2;
        bakedHeight = (int)Math.Ceiling((height + 2 * bakedMargin) * BakedPerInch) + 2;
        baked = Bake();
        if (wishes.Quilted != EarlierQuilting.None)
        {
            threadsWidth = (int)(width * ThreadsPerInch) + 2;
            threads =
                wishes.Quilted == EarlierQuilting.Dense
                    ? DenseLines(dice.Branch(2))
                    : StitchLines(dice.Branch(2));
        }
    }

    private readonly record struct Segment(
        double Ax,
        double Ay,
        double Ux,
        double Uy,
        double Length,
        int HighSign,
        double Depth,
        double Gap,
        double Phase,
        double Waves
    );

    /// <summary>Adds the light from a place on the cloth, inches.</summary>
    public void Add(double x, double y, ref float r, ref float g, ref float b)
    {
        if (front.IsEmpty)
        {
            AddCloth(x, y, ref r, ref g, ref b);
            return;
        }

        if (front.Add(x, y, ref r, ref g, ref b))
        {
            return;
        }

        // The shadow of what lies in front takes its part of this place's own light.
        (float r0, float g0, float b0) = (r, g, b);
        AddCloth(x, y, ref r, ref g, ref b);
        float lit = front.LightAt(x, y);
        r = r0 + (r - r0) * lit;
        g = g0 + (g - g0) * lit;
        b = b0 + (b - b0) * lit;
    }

    private void AddCloth(double x, double y, ref float r, ref float g, ref float b)
    {
        if (x >= 0 && y >= 0 && x < width && y < height)
        {
            AddInside(x, y, ref r, ref g, ref b);
        }
        else
        {
            AddOutside(x, y, ref r, ref g, ref b);
        }
    }

    /// <summary>Mean colour of a patch's cloth.</summary>
    public Rgb MeanOf(int patch) => fabrics[cuts[patch].Fabric].Mean;

    private void AddInside(double x, double y, ref float r, ref float g, ref float b)
    {
        int cell = Math.Min((int)(y / Cell), rows - 1) * columns + Math.Min((int)(x / Cell), columns - 1);
        int patch = cellPatch[cell];
        double shade = BakedAt(x, y);
        if (patch < 0)
        {
            patch = PatchAt(cell, x, y);
            shade *= DitchAt(cell, x, y);
        }

        ref Cut cut = ref cuts[patch];
        double c = turnCos[patch];
        double s = turnSin[patch];
        float k = (float)shade;
        if (laidOn.MotifOf(patch) is { } motif)
        {
            double into = motif.Into(x, y);
            if (into > 0)
            {
                // A satin stitch holds the edge down.
                double thread = Math.Exp(-Math.Pow((into - 0.05) / 0.028, 2));
                double fold = 0.18 * Math.Exp(-into / 0.03);
                k *= (float)(1 - fold - 0.3 * thread * (0.7 + 0.3 * Math.Sin(90 * (x + y))));
                AddFabric(fabrics[motif.Fabric], x + 7, y + 3, k, ref r, ref g, ref b);
                return;
            }

            k *= (float)(1 - 0.3 * Math.Exp(into / 0.06));
        }

        AddFabric(fabrics[cut.Fabric], c * x - s * y + cut.ShiftX, s * x + c * y + cut.ShiftY, k, ref r, ref g, ref b);
        if (threads is not null)
        {
            // Thread lies on top and is lighter or darker than any print.
            int i = (int)(y * ThreadsPerInch) * threadsWidth + (int)(x * ThreadsPerInch);
            float a = threads[i];
            if (a > 0)
            {
                r += (0.62f * k - r) * a * 0.25f;
                g += (0.58f * k - g) * a * 0.25f;
                b += (0.5f * k - b) * a * 0.25f;
            }
        }
    }

    private int PatchAt(int cell, double x, double y)
    {
        int first = -1;
        for (int i = cellStart[cell]; i < cellStart[cell + 1]; i++)
        {
            foreach (int p in patchesOfSegment[cellSegments[i]])
            {
                first = first < 0 ? p : first;
                if (Inside(rings[p], x, y))
                {
                    return p;
                }
            }
        }

        return first;
    }

    private double DitchAt(int cell, double x, double y)
    {
        double shade = 1;
        for (int i = cellStart[cell]; i < cellStart[cell + 1]; i++)
        {
            ref readonly Segment m = ref segments[cellSegments[i]];
            double dx = x - m.Ax;
            double dy = y - m.Ay;
            double t = dx * m.Ux + dy * m.Uy;
            double left = dx * m.Uy - dy * m.Ux;
            double over = Math.Max(Math.Max(-t, t - m.Length), 0);
            double d2 = left * left + over * over;
            if (d2 > Reach * Reach)
            {
                continue;
            }

            double depth =
                m.Depth * (1 + 0.35 * Math.Sin(t * m.Waves + m.Phase) + 0.2 * Math.Sin(t * 3.1 * m.Waves - m.Phase));
            if (m.HighSign == 0)
            {
                // Pressed open: both sides dip into one narrow valley.
                shade *= 1 - 0.42 * depth * Math.Exp(-d2 / (m.Gap * m.Gap));
                continue;
            }

            // Inches to the high side of the seam; the high side's fold stands over it, its shadow falls on the low side.
            double high = m.HighSign * left;
            double toward = m.HighSign * (m.Uy * lightX - m.Ux * lightY);
            double e = high + 0.45 * m.Gap;
            double valley = 0.5 * depth * Math.Exp(-(e * e + over * over) / (m.Gap * m.Gap));
            double fade = Math.Exp(-over / 0.03);
            double side =
                high >= 0
                    ? 0.2 * toward * Math.Exp(-high / 0.045)
                    : -(0.1 + 0.22 * Math.Max(0, toward)) * Math.Exp(high / 0.055);
            shade *= (1 - Math.Min(valley, 0.8)) * (1 + side * depth * fade);
        }

        return shade;
    }

    private void AddFabric(FabricTile tile, double u, double v, float k, ref float r, ref float g, ref float b)
    {
        int mask = tile.Side - 1;
        double px = u * tile.PixelsPerInch;
        double py = v * tile.PixelsPerInch;
        double fx0 = Math.Floor(px);
        double fy0 = Math.Floor(py);
        float fx = (float)(px - fx0);
        float fy = (float)(py - fy0);
        int x0 = (int)fx0 & mask;
        int y0 = (int)fy0 & mask;
        int x1 = (x0 + 1) & mask;
        int y1 = (y0 + 1) & mask;
        byte[] rgb = tile.Rgb;
        int a = (y0 * tile.Side + x0) * 3;
        int c = (y0 * tile.Side + x1) * 3;
        int d = (y1 * tile.Side + x0) * 3;
        int e = (y1 * tile.Side + x1) * 3;
        float wa = (1 - fx) * (1 - fy);
        float wc = fx * (1 - fy);
        float wd = (1 - fx) * fy;
        float we = fx * fy;
        r += k * LinearOf[(int)(8 * (wa * rgb[a] + wc * rgb[c] + wd * rgb[d] + we * rgb[e]))];
        g += k * LinearOf[(int)(8 * (wa * rgb[a + 1] + wc * rgb[c + 1] + wd * rgb[d + 1] + we * rgb[e + 1]))];
        b += k * LinearOf[(int)(8 * (wa * rgb[a + 2] + wc * rgb[c + 2] + wd * rgb[d + 2] + we * rgb[e + 2]))];
    }

    private void AddOutside(double x, double y, ref float r, ref float g, ref float b)
    {
        double left = -x;
        double right = x - width;
        double above = -y;
        double below = y - height;
        double sides = Math.Max(left, right);
        double ends = Math.Max(above, below);
        double d = Math.Max(sides, ends);
        if (d < border)
        {
            // Mitred: each strip is cut along its own side.
            bool upright = sides > ends;
            double shade = BakedAt(x, y) * (1 - 0.3 * wishes.DitchDepth * Math.Exp(-d / 0.03));
            double mitre = Math.Abs(sides - ends);
            if (sides > 0 && ends > 0 && mitre < 0.1)
            {
                shade *= 1 - 0.4 * wishes.DitchDepth * Math.Exp(-mitre * mitre / 0.0006);
            }

            shade *= 1 - 0.15 * Math.Exp((d - border) / 0.04);
            AddFabric(borderFabric, upright ? y : x, upright ? x : y, (float)shade, ref r, ref g, ref b);
            return;
        }

        double past = d - border;

        // What lies on something throws a soft shadow on it.
        float cast = (float)(1 - 0.4 * Math.Exp(-past / 0.12));
        if (past < batting + 0.12 * (Noise.Fractal(x * 2.2, y * 2.2, noise + 9, 3) - 0.5))
        {
            float fluff =
                0.78f
                + 0.13f * Noise.Fractal(x * 7, y * 7, noise, 4)
                + 0.05f * (Noise.Value(x * 40, y * 9, noise + 3) - 0.5f);
            Mix(0.86f, 0.81f, 0.71f, fluff * cast, ref r, ref g, ref b);
            return;
        }

        double pastBatting = past - batting;
        switch (wishes.Surround)
        {
            case Surround.Frame:
                AddFrame(x, y, sides - border, ends - border, ref r, ref g, ref b);
                return;
            case Surround.Batting or Surround.Border when pastBatting < 3:
                AddFabric(backing, x, y, (float)(1 - 0.35 * Math.Exp(-pastBatting / 0.15)), ref r, ref g, ref b);
                return;
            case Surround.Table:
                float speck = Noise.Value(x * 30, y * 30, noise + 11) > 0.93f ? 0.8f : 1;
                Mix(
                    0.62f,
                    0.6f,
                    0.57f,
                    speck * cast * (0.94f + 0.1f * Noise.Fractal(x, y, noise, 3)),
                    ref r,
                    ref g,
                    ref b
                );
                return;
            default:
                AddWood(x, y, wishes.Surround == Surround.Floor ? cast : 1, ref r, ref g, ref b);
                return;
        }
    }

    private void AddFrame(double x, double y, double sides, double ends, ref float r, ref float g, ref float b)
    {
        // Backing, then above and below the canvas leader and the rail.
        if (ends > 3.4)
        {
            double across = (ends - 3.4) / 2.6;
            if (across < 1)
            {
                double n = 2 * across - 1;
                float metal = (float)(
                    0.16 + 0.5 * Math.Exp(-Math.Pow((n + 0.25) / 0.22, 2)) + 0.25 * Math.Sqrt(1 - n * n)
                );
                metal *= 0.97f + 0.05f * Noise.Value(x * 0.4, y * 60, noise + 21);
                Mix(0.82f, 0.84f, 0.86f, metal, ref r, ref g, ref b);
                return;
            }

            Mix(0.07f, 0.065f, 0.06f, 0.8f + 0.5f * Noise.Fractal(x * 0.4, y * 0.4, noise + 2, 3), ref r, ref g, ref b);
            return;
        }

        if (ends > 2.3)
        {
            float weave =
                0.92f + 0.1f * Noise.Value(x * 36, y * 5, noise + 4) + 0.08f * Noise.Value(x * 5, y * 36, noise + 5);
            float hem = Math.Abs(ends - 2.36) < 0.06 ? 0.75f : 1;
            Mix(0.58f, 0.52f, 0.41f, weave * hem, ref r, ref g, ref b);
            return;
        }

        if (sides < 5.5 || ends > 2.2)
        {
            double past = Math.Max(sides, ends) - batting;

            // Side clamps: a plastic jaw every nine inches, with its tape running outwards.
            double row = y - 4.5 - 9 * Math.Round((y - 4.5) / 9);
            if (sides > 3.2 && ends < 0)
            {
                bool jaw = Math.Abs(row) < 1.3 && sides < 4.3;
                if (jaw)
                {
                    float edge = (float)(Math.Abs(sides - 3.75) < 0.42 && Math.Abs(row) < 1.17 ? 1 : 0.72);
                    Mix(0.09f, 0.12f, 0.16f, edge * (1.05f - (float)row * 0.12f), ref r, ref g, ref b);
                    return;
                }

                if (Math.Abs(row) < 0.35 && sides >= 4.3)
                {
                    Mix(0.3f, 0.3f, 0.28f, 0.9f + 0.2f * Noise.Value(x * 20, y * 3, noise + 8), ref r, ref g, ref b);
                    return;
                }
            }

            if (sides < 3.75)
            {
                AddFabric(backing, x, y, (float)(1 - 0.35 * Math.Exp(-past / 0.15)), ref r, ref g, ref b);
                return;
            }
        }

        Mix(0.1f, 0.095f, 0.09f, 0.7f + 0.6f * Noise.Fractal(x * 0.25, y * 0.25, noise + 2, 3), ref r, ref g, ref b);
    }

    private void AddWood(double x, double y, float shade, ref float r, ref float g, ref float b)
    {
        const double Plank = 3.25;
        int n = (int)Math.Floor(y / Plank);
        double v = y - n * Plank;
        float tone = Dice.Lattice(n, (int)Math.Floor((x + 17.0 * n) / 31), noise + 6);
        float grain = Noise.Fractal(x * 0.35 + 40 * tone, v * 5.5, noise + 7, 4);
        float fine = Noise.Value(x * 2, y * 30, noise + 8);
        float joint = v < 0.05 || v > Plank - 0.05 ? 0.35f : 1;
        float k = joint * shade * (0.55f + 0.35f * tone + 0.4f * (grain - 0.5f) + 0.12f * (fine - 0.5f));
        Mix(0.42f, 0.235f, 0.115f, k, ref r, ref g, ref b);
    }

    private static void Mix(float cr, float cg, float cb, float k, ref float r, ref float g, ref float b)
    {
        r += cr * k;
        g += cg * k;
        b += cb * k;
    }

    private double BakedAt(double x, double y)
    {
        double px = (x + bakedMargin) * BakedPerInch;
        double py = (y + bakedMargin) * BakedPerInch;
        int x0 = Math.Clamp((int)px, 0, bakedWidth - 2);
        int y0 = Math.Clamp((int)py, 0, bakedHeight - 2);
        double fx = px - x0;
        double fy = py - y0;
        int i = y0 * bakedWidth + x0;
        return (baked[i] * (1 - fx) + baked[i + 1] * fx) * (1 - fy)
            + (baked[i + bakedWidth] * (1 - fx) + baked[i + bakedWidth + 1] * fx) * fy;
    }

    // Waves of the whole cloth, ripples across seams, and the ridge where the seam allowance ends under the high side.
    private float[] Bake()
    {
        float[] field = new float[bakedWidth * bakedHeight];
        double strength = wishes.Pucker;
        Parallel.For(
            0,
            bakedHeight,
            y =>
            {
                for (int x = 0; x < bakedWidth; x++)
                {
                    double cx = x / BakedPerInch;
                    double cy = y / BakedPerInch;
                    const double E = 0.05;
                    double slopeX = Wave(cx + E, cy) - Wave(cx - E, cy);
                    double slopeY = Wave(cx, cy + E) - Wave(cx, cy - E);
                    field[y * bakedWidth + x] = (float)(1 + strength * 1.1 * (slopeX * lightX + slopeY * lightY));
                }
            }
        );
        foreach (Segment m in segments)
        {
            double amplitude = 0.1 * strength * (0.5 + Dice.Lattice((int)(m.Phase * 1000), 5, noise));
            const double Far = 0.7;
            double bx = m.Ax + m.Ux * m.Length;
            double by = m.Ay + m.Uy * m.Length;
            int x0 = Index(Math.Min(m.Ax, bx) - Far, bakedWidth);
            int x1 = Index(Math.Max(m.Ax, bx) + Far, bakedWidth);
            int y0 = Index(Math.Min(m.Ay, by) - Far, bakedHeight);
            int y1 = Index(Math.Max(m.Ay, by) + Far, bakedHeight);
            double toward = m.HighSign * (m.Uy * lightX - m.Ux * lightY);
            for (int y = y0; y <= y1; y++)
            {
                for (int x = x0; x <= x1; x++)
                {
                    double dx = x / BakedPerInch - bakedMargin - m.Ax;
                    double dy = y / BakedPerInch - bakedMargin - m.Ay;
                    double t = dx * m.Ux + dy * m.Uy;
                    double s = dx * m.Uy - dy * m.Ux;
                    if (t < 0 || t > m.Length || Math.Abs(s) > Far)
                    {
                        continue;
                    }

                    double taper = Math.Min(1, Math.Min(t, m.Length - t) / 0.4);
                    double ripple =
                        amplitude
                        * taper
                        * Math.Sin(t * 11 + 2.5 * Math.Sin(t * 1.9 + m.Phase) + m.Phase)
                        * Math.Exp(-Math.Abs(s) / 0.2);
                    double fromRidge = (m.HighSign * s - 0.25) / 0.05;
                    double ridge = -0.05 * wishes.DitchDepth * toward * Math.Exp(-fromRidge * fromRidge) * taper;
                    double hollow = -0.11 * m.Depth * Math.Exp(-s * s / 0.02);
                    field[y * bakedWidth + x] += (float)(ripple + ridge + hollow);
                }
            }
        }

        return field;

        double Wave(double x, double y) =>
            Noise.Value(x / 5, y / 5, noise + 40) * 2.2
            + Noise.Value(x / 1.7, y / 1.7, noise + 41) * 0.8
            + Noise.Value(x * 1.4, y * 1.4, noise + 42) * 0.18;

        int Index(double v, int count) => Math.Clamp((int)((v + bakedMargin) * BakedPerInch), 0, count - 1);
    }

    // Long gentle waves of running stitch, about ten to the inch.
    private float[] StitchLines(Dice dice)
    {
        int rowsDown = (int)(height * ThreadsPerInch) + 2;
        float[] field = new float[threadsWidth * rowsDown];
        double spacing = dice.Between(1, 1.8);
        double swing = dice.Between(0.1, 0.5);
        double length = dice.Between(3, 7);
        bool across = dice.Chance(0.5);
        double far = across ? height : width;
        double run = across ? width : height;
        for (double at = spacing / 2; at < far; at += spacing)
        {
            double phase = dice.Between(0, 6.28);
            for (double t = 0; t < run; t += 0.25 / ThreadsPerInch)
            {
                double v = at + swing * Math.Sin(2 * Math.PI * t / length + phase);
                bool up = t * 10 % 1 < 0.82;
                (double x, double y) = across ? (t, v) : (v, t);
                if (up && x > 0 && y > 0 && x < width && y < height)
                {
                    field[(int)(y * ThreadsPerInch) * threadsWidth + (int)(x * ThreadsPerInch)] = 0.85f;
                }
            }
        }

        return field;
    }

    // A hatch, echoes or a wandering line, a quarter to half an inch apart; each line lies in a hollow that it pulls.
    private float[] DenseLines(Dice dice)
    {
        int down = (int)(height * ThreadsPerInch) + 2;
        float[] field = new float[threadsWidth * down];
        double spacing = dice.Between(0.28, 0.6);
        double darkness = dice.Between(0.06, 0.16);
        double tone = dice.Between(0.5, 0.9);
        double far = Math.Sqrt(width * width + height * height);
        switch (dice.Below(3))
        {
            case 0:
                double turn = dice.Pick(new[] { 0, Math.PI / 4, Math.PI / 6 });
                foreach (double angle in new[] { turn, turn + Math.PI / 2 })
                {
                    (double s, double c) = Math.SinCos(angle);
                    for (double at = -far; at < far; at += spacing)
                    {
                        for (double t = -far; t < far; t += 0.4 / ThreadsPerInch)
                        {
                            Stitch(width / 2 + c * t - s * at, height / 2 + s * t + c * at, t);
                        }
                    }
                }

                break;
            case 1:
                double cx = dice.Between(0.2, 0.8) * width;
                double cy = dice.Between(0.2, 0.8) * height;
                int lobes = 3 + dice.Below(4);
                for (double r = spacing; r < far; r += spacing)
                {
                    for (double a = 0; a < 2 * Math.PI; a += 0.4 / ThreadsPerInch / r)
                    {
                        double wave = r * (1 + 0.09 * Math.Sin(lobes * a));
                        Stitch(cx + wave * Math.Cos(a), cy + wave * Math.Sin(a), a * r);
                    }
                }

                break;
            default:
                // One line that loops on its way across, row by row.
                for (double row = 0; row < height + spacing; row += 2.4 * spacing)
                {
                    double phase = dice.Between(0, 6.28);
                    for (double t = 0; t < (width + 2) * 3.2; t += 0.5 / ThreadsPerInch)
                    {
                        double along = t / 3.2 - 1;
                        double a = along / spacing * 2.2 + phase;
                        double wobble = 0.4 * Math.Sin(0.37 * a) + 0.3 * Math.Sin(0.23 * a + 1);
                        Stitch(
                            along + spacing * 0.95 * Math.Cos(a * 1.9),
                            row + spacing * (1.05 * Math.Sin(a * 1.9) + wobble),
                            t
                        );
                    }
                }

                break;
        }

        return field;

        void Stitch(double x, double y, double along)
        {
            if (x <= 0 || y <= 0 || x >= width || y >= height)
            {
                return;
            }

            if (Math.Abs(along * 10 % 1) < 0.82)
            {
                field[(int)(y * ThreadsPerInch) * threadsWidth + (int)(x * ThreadsPerInch)] = (float)tone;
            }

            // The hollow: each step takes a little light from the cells round it.
            int bx = (int)((x + bakedMargin) * BakedPerInch);
            int by = (int)((y + bakedMargin) * BakedPerInch);
            for (int j = Math.Max(0, by - 2); j <= Math.Min(bakedHeight - 1, by + 2); j++)
            {
                for (int i = Math.Max(0, bx - 2); i <= Math.Min(bakedWidth - 1, bx + 2); i++)
                {
                    double dx = (i / BakedPerInch - bakedMargin - x) / 0.045;
                    double dy = (j / BakedPerInch - bakedMargin - y) / 0.045;
                    baked[j * bakedWidth + i] -= (float)(
                        darkness * 0.11 * Math.Exp(-dx * dx - dy * dy) * (1 + 0.8 * (dx * lightX + dy * lightY))
                    );
                }
            }
        }
    }

    private (Segment[] Segments, int[][] Patches) MakeSegments(QuiltMap truth, bool bordered, Dice dice)
    {
        List<int>[] owners = [.. truth.Seams.Select(_ => new List<int>())];
        for (int p = 0; p < truth.Patches.Count; p++)
        {
            foreach (string id in truth.Patches[p].Seams.Concat(truth.Patches[p].Holes.SelectMany(h => h)))
            {
                owners[truth.SeamIndexOf(id)].Add(p);
            }
        }

        List<Segment> list = [];
        List<int[]> patches = [];
        double gap = dice.Between(0.013, 0.024);
        for (int k = 0; k < truth.Seams.Count; k++)
        {
            Seam seam = truth.Seams[k];
            double depth = wishes.DitchDepth * dice.Between(0.45, 1.25);
            int high =
                seam.Ditch == Side.Left ? -1
                : seam.Ditch == Side.Right ? 1
                : 0;
            if (seam.Role == SeamRole.Edge && !bordered)
            {
                depth = 0;
            }

            double phase = dice.Between(0, 6.28);
            double waves = dice.Between(1.5, 4);
            IReadOnlyList<Point<ClothSpace>> path = truth.EdgeOf(seam).Flatten(0.002);
            for (int i = 0; i + 1 < path.Count; i++)
            {
                Vector<ClothSpace> along = path[i + 1] - path[i];
                Vector<ClothSpace> u = along.Unit;
                list.Add(new(path[i].X, path[i].Y, u.X, u.Y, along.Norm, high, depth, gap, phase, waves));
                patches.Add([.. owners[k]]);
            }
        }

        return ([.. list], [.. patches]);
    }

    private (int[] Patch, int[] Start, int[] Segments) MakeCells()
    {
        List<int>[] near = new List<int>[columns * rows];
        double reach = Reach + Cell * 0.7072;
        for (int k = 0; k < segments.Length; k++)
        {
            Segment m = segments[k];
            double bx = m.Ax + m.Ux * m.Length;
            double by = m.Ay + m.Uy * m.Length;
            int x0 = Math.Clamp((int)((Math.Min(m.Ax, bx) - Reach) / Cell), 0, columns - 1);
            int x1 = Math.Clamp((int)((Math.Max(m.Ax, bx) + Reach) / Cell), 0, columns - 1);
            int y0 = Math.Clamp((int)((Math.Min(m.Ay, by) - Reach) / Cell), 0, rows - 1);
            int y1 = Math.Clamp((int)((Math.Max(m.Ay, by) + Reach) / Cell), 0, rows - 1);
            for (int y = y0; y <= y1; y++)
            {
                for (int x = x0; x <= x1; x++)
                {
                    double dx = (x + 0.5) * Cell - m.Ax;
                    double dy = (y + 0.5) * Cell - m.Ay;
                    double t = Math.Clamp(dx * m.Ux + dy * m.Uy, 0, m.Length);
                    double ex = dx - t * m.Ux;
                    double ey = dy - t * m.Uy;
                    if (ex * ex + ey * ey <= reach * reach)
                    {
                        (near[y * columns + x] ??= []).Add(k);
                    }
                }
            }
        }

        int[] patch = new int[near.Length];
        for (int p = 0; p < rings.Length; p++)
        {
            double[] ring = rings[p];
            (double left, double right, double top, double bottom) = (1e9, -1e9, 1e9, -1e9);
            for (int i = 0; i < ring.Length; i += 2)
            {
                left = Math.Min(left, ring[i]);
                right = Math.Max(right, ring[i]);
                top = Math.Min(top, ring[i + 1]);
                bottom = Math.Max(bottom, ring[i + 1]);
            }

            for (int y = Math.Max(0, (int)(top / Cell)); y < rows && y * Cell < bottom; y++)
            {
                for (int x = Math.Max(0, (int)(left / Cell)); x < columns && x * Cell < right; x++)
                {
                    if (near[y * columns + x] is null && Inside(ring, (x + 0.5) * Cell, (y + 0.5) * Cell))
                    {
                        patch[y * columns + x] = p;
                    }
                }
            }
        }

        int[] start = new int[near.Length + 1];
        List<int> all = [];
        for (int c = 0; c < near.Length; c++)
        {
            start[c] = all.Count;
            if (near[c] is { } some)
            {
                patch[c] = -1;
                all.AddRange(some);
            }
        }

        start[^1] = all.Count;
        return (patch, start, [.. all]);
    }

    private static double[] RingOf(QuiltMap truth, Patch patch)
    {
        List<double> ring = [];
        foreach (Edge<ClothSpace> e in PatchFinder.RingOf(truth, patch.Seams))
        {
            IReadOnlyList<Point<ClothSpace>> path = e.Flatten(0.002);
            for (int i = 0; i + 1 < path.Count; i++)
            {
                ring.Add(path[i].X);
                ring.Add(path[i].Y);
            }
        }

        return [.. ring];
    }

    private static bool Inside(double[] ring, double x, double y)
    {
        bool inside = false;
        for (int i = 0, j = ring.Length - 2; i < ring.Length; j = i, i += 2)
        {
            if (
                ring[i + 1] > y != ring[j + 1] > y
                && x < (ring[j] - ring[i]) * (y - ring[i + 1]) / (ring[j + 1] - ring[i + 1]) + ring[i]
            )
            {
                inside = !inside;
            }
        }

        return inside;
    }

    // sRGB (IEC 61966-2-1) in eighths of a step to linear light.
    private static float[] MakeLinear()
    {
        float[] table = new float[256 * 8 + 8];
        for (int i = 0; i < table.Length; i++)
        {
            double v = i / 8.0 / 255;
            table[i] = (float)(v <= 0.04045 ? v / 12.92 : Math.Pow((v + 0.055) / 1.055, 2.4));
        }

        return table;
    }
}
