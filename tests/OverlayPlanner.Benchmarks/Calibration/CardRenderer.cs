using OverlayPlanner.Calibration;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>
/// Photographs of cards on a patchwork, ray by ray: lens, a camera that moves between rows and while a row is open, cloth that
/// waves, cards lifted, aslant and bent as the scene says, light averaged before it is encoded, then blur, noise and JPEG.
/// </summary>
internal static class CardRenderer
{
    private const int SamplesAcross = 5;
    private const double PaperWhite = 0.86;
    private const double InkBlack = 0.035;
    private const double Rim = 0.125;

    // Beyond it there is no cloth but the floor, in.
    private const double ClothEnds = 400;
    private const double Floor = 0.3;

    /// <summary>Renders one photo of the truth.</summary>
    /// <param name="thrown">What a projector throws on it, or null for daylight.</param>
    /// <param name="relief">Where the cloth does not lie flat.</param>
    public static Photo Render(
        CardTruth truth,
        int photo,
        PhotoSpoil spoil,
        int seed,
        ThrownLight? thrown = null,
        ClothRelief? relief = null
    ) => Render(new CardScene(truth) { Thrown = thrown, Cloth = relief }, photo, spoil, seed);

    /// <summary>Renders one photo of a scene.</summary>
    public static Photo Render(CardScene scene, int photo, PhotoSpoil spoil, int seed)
    {
        int w = scene.Truth.Width;
        int h = scene.Truth.Height;
        float[] light = new float[w * h];
        IMadeLens lens = scene.Lens;
        Moments moments = new(scene, photo);
        const int Step = 16;
        Parallel.For(
            0,
            (h + Step - 1) / Step,
            band =>
            {
                // Rays on a grid, bilinear between: lenses are smooth.
                for (int y0 = band * Step; y0 < Math.Min(h, (band + 1) * Step); y0 += Step)
                {
                    for (int x0 = 0; x0 < w; x0 += Step)
                    {
                        (double X, double Y)[] ray = Corners(lens, x0, y0, Step);
                        for (int y = y0; y < Math.Min(h, y0 + Step); y++)
                        {
                            for (int x = x0; x < Math.Min(w, x0 + Step); x++)
                            {
                                light[y * w + x] = (float)Cloth(scene, moments, ray, y, x - x0, y - y0, Step, seed);
                            }
                        }
                    }
                }
            }
        );
        for (int card = 0; card < scene.Truth.Cards.Count; card++)
        {
            RenderCard(scene, photo, card, lens, moments, light);
        }

        return new MadeNegative(w, h, light).Develop(spoil, seed, photo, scene.FilmMillimeters);
    }

    // One ray a pixel and moment in daylight, whose patches are no measure of anything; where marks are thrown, as many as for a
    // card.
    private static double Cloth(
        CardScene scene,
        Moments moments,
        (double X, double Y)[] ray,
        int row,
        int x,
        int y,
        int step,
        int seed
    )
    {
        double sum = 0;
        if (scene.Thrown is null)
        {
            (double X, double Y) through = Between(ray, x / (double)step, y / (double)step);
            for (int k = 0; k < moments.Each; k++)
            {
                SightLines sight = moments.Of(row, k);
                (double cx, double cy, _) = Met(scene.Cloth, sight, sight.Ground(through));
                sum += Patchwork(cx, cy, seed);
            }

            return sum / moments.Each;
        }

        const int Across = 3;
        for (int k = 0; k < Across * Across; k++)
        {
            double fx = (x - 0.5 + (k % Across + 0.5) / Across) / step;
            double fy = (y - 0.5 + (k / Across + 0.5) / Across) / step;
            SightLines sight = moments.Of(row, k % moments.Each);
            (double cx, double cy, double height) = Met(scene.Cloth, sight, sight.Ground(Between(ray, fx, fy)));
            sum += Patchwork(cx, cy, seed) * scene.Thrown.At(cx, cy, height);
        }

        return sum / (Across * Across);
    }

    private static (double X, double Y, double Z) Met(
        ClothShape? cloth,
        SightLines sight,
        (double X, double Y) ground
    ) => cloth?.Meet(ground.X, ground.Y, sight.Eye) ?? (ground.X, ground.Y, 0);

    private static void RenderCard(
        CardScene scene,
        int photo,
        int index,
        IMadeLens lens,
        Moments moments,
        float[] light
    )
    {
        (TargetCard card, double[] place) = scene.Truth.Cards[index];
        CardBend? bend = scene.Bends.GetValueOrDefault(index);
        double half = card.Side.Inches / 2;
        double reachX = card.Patterns.Max(p => Math.Abs(p.X)) + half + Rim;
        double reachY = half + Rim;
        if (Box(scene, photo, index, reachX, reachY) is not var (x0, x1, y0, y1))
        {
            return;
        }

        CardInk ink = new(card);
        bool turned = card.Kind == CardKind.Strip;
        double sa = scene.Truth.Print[turned ? 1 : 0];
        double sb = scene.Truth.Print[turned ? 0 : 1];
        (double sin, double cos) = Math.SinCos(place[CardModel.Turn]);
        Parallel.For(
            y0,
            y1 + 1,
            y =>
            {
                double[][] flat =
                [
                    .. Enumerable.Range(0, bend is null ? moments.Each : 0).Select(k => moments.Of(y, k).OnFlat(place)),
                ];
                for (int x = x0; x <= x1; x++)
                {
                    (double X, double Y)[] ray = Corners(lens, x - 0.5, y - 0.5, 1);
                    double sum = 0;
                    int on = 0;
                    for (int j = 0; j < SamplesAcross; j++)
                    {
                        for (int i = 0; i < SamplesAcross; i++)
                        {
                            // Each moment has a ray in every row and column of the pixel.
                            int moment = (i + 2 * j) % moments.Each;
                            (double X, double Y) r = Between(ray, (i + 0.5) / SamplesAcross, (j + 0.5) / SamplesAcross);
                            (double u, double v) = bend is null
                                ? SightLines.Through(flat[moment], r)
                                : moments.Of(y, moment).OnBent(place, bend, r);
                            double lit =
                                scene.Thrown?.At(
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
                    int k = y * scene.Truth.Width + x;
                    light[k] = (float)((sum + (All - on) * light[k]) / All);
                }
            }
        );
    }

    // The pixels that may show a card; null where the photo does not show all of it.
    private static (int X0, int X1, int Y0, int Y1)? Box(
        CardScene scene,
        int photo,
        int card,
        double reachX,
        double reachY
    )
    {
        // A bent card, or one seen through a lens that bows its sides, reaches farther than its corners.
        const int Across = 4;
        double left = double.PositiveInfinity;
        double right = double.NegativeInfinity;
        double top = double.PositiveInfinity;
        double bottom = double.NegativeInfinity;
        for (int k = 0; k < (Across + 1) * (Across + 1); k++)
        {
            double u = (k % (Across + 1) * 2.0 / Across - 1) * reachX;
            double v = (k / (Across + 1) * 2.0 / Across - 1) * reachY;
            if (scene.OnCard(photo, card, u, v) is not { } p)
            {
                return null;
            }

            left = Math.Min(left, p.X);
            right = Math.Max(right, p.X);
            top = Math.Min(top, p.Y);
            bottom = Math.Max(bottom, p.Y);
        }

        const int Margin = 4;
        return (
            (int)Math.Max(0, left - Margin),
            (int)Math.Min(scene.Truth.Width - 1, right + Margin),
            (int)Math.Max(0, top - Margin),
            (int)Math.Min(scene.Truth.Height - 1, bottom + Margin)
        );
    }

    // Patches of 4 in in a few greys, with a small print on some.
    private static double Patchwork(double x, double y, int seed)
    {
        if (!(Math.Abs(x) < ClothEnds && Math.Abs(y) < ClothEnds))
        {
            return Floor;
        }

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

    private static (double X, double Y)[] Corners(IMadeLens lens, double x, double y, double step)
    {
        (double, double)[] ray = new (double, double)[4];
        for (int k = 0; k < 4; k++)
        {
            ray[k] = lens.RayAt(x + k % 2 * step, y + k / 2 * step);
        }

        return ray;
    }

    private static (double X, double Y) Between((double X, double Y)[] c, double fx, double fy) =>
        (
            (1 - fy) * ((1 - fx) * c[0].X + fx * c[1].X) + fy * ((1 - fx) * c[2].X + fx * c[3].X),
            (1 - fy) * ((1 - fx) * c[0].Y + fx * c[1].Y) + fy * ((1 - fx) * c[2].Y + fx * c[3].Y)
        );
}
