using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>The project's own marks: arrowhead, threaded needle, knot, ring, cross. Sizes in points.</summary>
internal static class Marks
{
    /// <summary>Length of needle and thread together at scale 1.</summary>
    public const double NeedleLength = 46;

    /// <summary>Half the room across that the needle and its thread take at scale 1.</summary>
    public const double NeedleHalfWidth = 4.2;

    /// <summary>Length of the knot with both ends of its thread at scale 1.</summary>
    public const double KnotLength = 24;

    /// <summary>Half the room across that the knot takes at scale 1.</summary>
    public const double KnotHalfWidth = 5.6;

    /// <summary>An arrowhead whose middle lies at a point.</summary>
    public static Fill Arrowhead(Layer layer, Point<PageSpace> at, Vector<PageSpace> along, double length, Ink ink)
    {
        Vector<PageSpace> u = along.Unit;
        Vector<PageSpace> v = u.TurnedLeft;
        Point<PageSpace> tip = at + u * (length / 2);
        Point<PageSpace> left = at - u * (length / 2) + v * (length * 0.42);
        Point<PageSpace> notch = at - u * (length * 0.28);
        Point<PageSpace> right = at - u * (length / 2) - v * (length * 0.42);
        return new(layer, [new(tip, left), new(left, notch), new(notch, right), new(right, tip)], ink);
    }

    /// <summary>A needle that points at its start, with thread in its eye.</summary>
    /// <param name="tip">Where its point lies.</param>
    /// <param name="away">From the tip toward the eye.</param>
    public static IEnumerable<DrawnItem> Needle(
        Point<PageSpace> tip,
        Vector<PageSpace> away,
        double scale,
        Ink ink,
        Ink ground
    )
    {
        Frame f = new(tip, away.Unit, scale);
        const double Eye = 30;
        yield return new Fill(
            Layer.Numbers,
            [
                new(f.At(0, 0), f.At(8, 1.1)),
                new(f.At(8, 1.1), f.At(23, 1.5)),
                new(f.At(23, 1.5), f.At(Eye + 2, 1.3)),
                new(f.At(Eye + 2, 1.3), f.At(Eye + 2, -1.3), 1),
                new(f.At(Eye + 2, -1.3), f.At(23, -1.5)),
                new(f.At(23, -1.5), f.At(8, -1.1)),
                new(f.At(8, -1.1), f.At(0, 0)),
            ],
            ink
        );
        yield return new Fill(
            Layer.Numbers,
            [new(f.At(24.5, 0), f.At(Eye + 1.6, 0), 0.3), new(f.At(Eye + 1.6, 0), f.At(24.5, 0), 0.3)],
            ground
        );

        // The thread goes through the eye and waves away.
        yield return new Stroke(
            Layer.Numbers,
            [
                new(f.At(26.5, -3.4), f.At(28, 0), 0.25),
                new(f.At(28, 0), f.At(33.5, 3), -0.45),
                new(f.At(33.5, 3), f.At(39.5, -0.4), 0.55),
                new(f.At(39.5, -0.4), f.At(46, 0.6), -0.6),
            ],
            ink,
            0.9 * scale
        );
    }

    /// <summary>A knot near the end of its thread: wraps drawn tight, and two loose ends.</summary>
    /// <param name="end">Where the thread comes from the line.</param>
    /// <param name="away">From there toward the loose ends.</param>
    public static IEnumerable<DrawnItem> Knot(
        Point<PageSpace> end,
        Vector<PageSpace> away,
        double scale,
        Ink ink,
        Ink ground
    )
    {
        Frame f = new(end, away.Unit, scale);
        yield return new Stroke(
            Layer.Numbers,
            [
                new(f.At(0, 0), f.At(7, 0)),
                new(f.At(16, 0.6), f.At(24, 4.6), -0.3),
                new(f.At(16, -0.6), f.At(23, -4.2), 0.35),
            ],
            ink,
            1.1 * scale
        );
        yield return new Fill(
            Layer.Numbers,
            [new(f.At(6, 0), f.At(17, 0), 0.86), new(f.At(17, 0), f.At(6, 0), 0.86)],
            ink
        );
        yield return new Stroke(
            Layer.Numbers,
            [new(f.At(8.6, -2.6), f.At(10.4, 2.9), 0.15), new(f.At(12.2, -3), f.At(14.2, 2.4), 0.15)],
            ground,
            1 * scale
        );
    }

    /// <summary>A ring round a point.</summary>
    public static Stroke Ring(Layer layer, Point<PageSpace> at, double radius, Ink ink, double width)
    {
        Point<PageSpace> west = new(at.X - radius, at.Y);
        Point<PageSpace> east = new(at.X + radius, at.Y);
        return new(layer, [new(west, east, 1), new(east, west, 1)], ink, width);
    }

    /// <summary>A disc.</summary>
    public static Fill Disc(Layer layer, Point<PageSpace> at, double radius, Ink ink) =>
        new(layer, Ring(layer, at, radius, ink, 0).Path, ink);

    /// <summary>A registration cross.</summary>
    public static Stroke Cross(Layer layer, Point<PageSpace> at, double arm, Ink ink, double width) =>
        new(
            layer,
            [new(new(at.X - arm, at.Y), new(at.X + arm, at.Y)), new(new(at.X, at.Y - arm), new(at.X, at.Y + arm))],
            ink,
            width
        )
        {
            RoundEnds = false,
        };

    /// <summary>A rectangle as a closed path.</summary>
    public static IReadOnlyList<Edge<PageSpace>> Rectangle(Box<PageSpace> b) =>
        [
            new(new(b.Left, b.Top), new(b.Right, b.Top)),
            new(new(b.Right, b.Top), new(b.Right, b.Bottom)),
            new(new(b.Right, b.Bottom), new(b.Left, b.Bottom)),
            new(new(b.Left, b.Bottom), new(b.Left, b.Top)),
        ];

    // Local axes: x away from the point, y to the left of it; bulges keep their meaning because left stays left.
    private readonly record struct Frame(Point<PageSpace> Origin, Vector<PageSpace> X, double Scale)
    {
        public Point<PageSpace> At(double x, double y) => Origin + X * (x * Scale) + X.TurnedLeft * (y * Scale);
    }
}
