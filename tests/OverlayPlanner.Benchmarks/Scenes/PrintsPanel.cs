namespace OverlayPlanner.Benchmarks.Scenes;

/// <summary>Pictures printed on a piece of their own.</summary>
internal sealed partial class Prints
{
    /// <summary>A house under a tree in a printed frame, width × height inches from the tile's first corner.</summary>
    public static FabricTile MakePanel(
        Rgb ground,
        IReadOnlyList<Rgb> others,
        ulong seed,
        int side,
        double ppi,
        double width,
        double height
    )
    {
        Prints p = new(side, ppi, new Dice(seed));
        p.Fill(ground);
        Rgb frame = Contrast(ground, others);
        double inset = 0.07 * Math.Min(width, height);
        (double l, double t, double r, double b) = (inset, inset, width - inset, height - inset);
        p.Block(l, t, r, b, new Rgb(166, 196, 214).Near(p.dice, 18));
        double horizon = t + (b - t) * p.dice.Between(0.55, 0.7);
        p.Block(l, horizon, r, b, new Rgb(122, 148, 92).Near(p.dice, 18));
        double s = Math.Min(r - l, b - t);
        double hx = l + (r - l) * p.dice.Between(0.3, 0.55);
        p.Block(hx - 0.16 * s, horizon - 0.2 * s, hx + 0.16 * s, horizon + 0.08 * s, p.dice.Pick(others).Lit(0.2));
        for (int k = 0; k < 60; k++)
        {
            double f = k / 59.0;
            double y = horizon - 0.2 * s - 0.16 * s * (1 - f);
            p.Line(hx - 0.2 * s * f, y, hx + 0.2 * s * f, y, 0.16 * s / 40, frame);
        }

        p.Block(hx - 0.04 * s, horizon - 0.06 * s, hx + 0.04 * s, horizon + 0.08 * s, frame);
        double tx = l + (r - l) * p.dice.Between(0.72, 0.85);
        p.Line(tx, horizon + 0.12 * s, tx, horizon - 0.15 * s, 0.04 * s, new(96, 70, 50));
        for (int k = 0; k < 22; k++)
        {
            double a = p.dice.Between(0, 6.28);
            double d = 0.13 * s * Math.Sqrt(p.dice.Unit());
            p.Disc(
                tx + d * Math.Cos(a),
                horizon - 0.24 * s + d * Math.Sin(a),
                0.05 * s,
                new Rgb(74, 112, 66).Near(p.dice, 24)
            );
        }

        p.Disc(l + 0.15 * (r - l), t + 0.16 * (b - t), 0.06 * s, new(246, 214, 120));
        foreach (double off in new[] { 0.0, 0.35 * inset })
        {
            double line = off == 0 ? 0.05 : 0.03;
            (double fl, double ft, double fr, double fb) = (l - off, t - off, r + off, b + off);
            p.Line(fl, ft, fr, ft, line, frame);
            p.Line(fr, ft, fr, fb, line, frame);
            p.Line(fr, fb, fl, fb, line, frame);
            p.Line(fl, fb, fl, ft, line, frame);
        }

        return p.Woven();
    }

    private void Block(double left, double top, double right, double bottom, Rgb c)
    {
        double hx = (right - left) / 2;
        double hy = (bottom - top) / 2;
        Shape(
            (left + right) / 2,
            (top + bottom) / 2,
            Math.Max(hx, hy),
            c,
            (dx, dy) => Math.Max(Math.Abs(dx) - hx, Math.Abs(dy) - hy)
        );
    }
}
