using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>A seam of a loose map with a way along it.</summary>
/// <param name="Seam">The seam.</param>
/// <param name="Forward">True for its own way.</param>
internal readonly record struct LooseStep(LooseSeam Seam, bool Forward)
{
    public LoosePoint Start => Forward ? Seam.From : Seam.To;

    public LoosePoint End => Forward ? Seam.To : Seam.From;

    public LooseStep Back => new(Seam, !Forward);

    public Edge<ClothSpace> Path => Forward ? Seam.Path : Seam.Path.Reversed;

    /// <summary>The patch that lay to the left of travel.</summary>
    public int Label => Forward ? Seam.Left : Seam.Right;
}

/// <summary>A closed walk with one face to its left, as seen.</summary>
internal sealed class SeamRing
{
    public SeamRing(IReadOnlyList<LooseStep> steps)
    {
        Steps = steps;
        Box = Box<ClothSpace>.Around(steps.Select(s => s.Start.Place));
        double twice = 0;
        foreach (LooseStep s in steps)
        {
            Box = Box.With(s.Seam.Bounds);
            Edge<ClothSpace> e = s.Path;

            // From the ring's own start, so that little is lost far from the origin. Anticlockwise as seen is negative, y down.
            Point<ClothSpace> o = steps[0].Start.Place;
            twice -= (e.From - o).Cross(e.To - o);
            twice -= 2 * e.SegmentArea;
        }

        Area = twice / 2;
    }

    public IReadOnlyList<LooseStep> Steps { get; }

    public Box<ClothSpace> Box { get; }

    /// <summary>Square inches, positive where the ring runs round a face inside it.</summary>
    public double Area { get; }

    /// <summary>True where the place lies inside the ring; it must not lie on it.</summary>
    public bool Holds(Point<ClothSpace> p)
    {
        bool inside = false;
        if (!Box.Holds(p))
        {
            return false;
        }

        foreach (LooseStep step in Steps)
        {
            Box<ClothSpace> box = step.Seam.Bounds;
            if (box.Top > p.Y || box.Bottom < p.Y || box.Right < p.X)
            {
                continue;
            }

            IReadOnlyList<Point<ClothSpace>> line = step.Path.Flatten(1e-4);
            for (int i = 1; i < line.Count; i++)
            {
                (Point<ClothSpace> a, Point<ClothSpace> b) = (line[i - 1], line[i]);
                if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
                {
                    inside = !inside;
                }
            }
        }

        return inside;
    }
}
