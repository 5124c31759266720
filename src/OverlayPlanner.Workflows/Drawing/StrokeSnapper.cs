using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>Lays one stroke on a block's lines while it is drawn.</summary>
/// <remarks>
/// Only the stroke's tail is matched again with each new point: once three stretches lie behind, the oldest is kept for good,
/// provided that the rest is read the same without it. What is shown therefore changes near the pen alone, and the time for a
/// point does not grow with the stroke.
/// </remarks>
internal sealed class StrokeSnapper(BlockLines lines)
{
    /// <summary>How many stretches may still be read otherwise.</summary>
    public const int MostOpen = 3;

    // Nearer points are a hand at rest.
    private const double Still = 0.004;
    private const int MostTail = 4_000;
    private readonly List<Point<ClothSpace>> tail = [];
    private readonly List<DrawnStretch> settled = [];
    private List<DrawnStretch> open = [];
    private double settledStray;
    private double openStray;
    private int tried;

    /// <summary>Pen points taken, those that are no place on the cloth included.</summary>
    public int Points { get; private set; }

    /// <summary>Pen points that are matched again with every new one.</summary>
    public int Tail => tail.Count;

    /// <summary>True where a good part of the stroke lies away from every line.</summary>
    public bool IsAstray => settled.Count == 0 && open.Count == 0 && Drawn() > 0.08 * lines.Side;

    /// <summary>Length that follows no line and leads from no point to another, inches.</summary>
    public double Stray => settledStray + openStray;

    /// <summary>The stretches so far in order; the last may end part-way along its seam.</summary>
    public IEnumerable<DrawnStretch> Stretches => settled.Concat(open);

    public void Add(IReadOnlyList<Point<ClothSpace>> points)
    {
        Points += points.Count;
        Box<ClothSpace> sheet = lines.Bounds.Grown(lines.Side);
        int before = tail.Count;
        foreach (Point<ClothSpace> p in points)
        {
            if (
                p.IsFinite
                && sheet.Holds(p)
                && (tail.Count == 0 || tail[^1].DistanceTo(p) >= Still)
                && tail.Count < MostTail
            )
            {
                tail.Add(p);
            }
        }

        if (tail.Count == before)
        {
            return;
        }

        (open, openStray) = Match(tail);
        while (TrySettle()) { }
    }

    private (List<DrawnStretch> Stretches, double Stray) Match(List<Point<ClothSpace>> points)
    {
        if (points.Count < 2)
        {
            return ([], 0);
        }

        DrawnPath read = DrawnRoute.Lay(lines.Ground, [points]);
        return ([.. read.Threads.SelectMany(t => t)], read.Stray.Inches);
    }

    private bool TrySettle()
    {
        // What was read otherwise without its beginning is not tried again with every point, but once a good deal more is drawn.
        if (
            open.Count <= MostOpen
            || open[0].Path.To != open[1].Path.From
            || open[0].To is not (0 or 1)
            || tail.Count < tried
        )
        {
            return false;
        }

        // The pen passed the stretch's end where it came nearest to it, about as far along as the stretch is long.
        double length = open[0].Path.Length;
        double way = 0;
        int cut = -1;
        double least = double.PositiveInfinity;
        for (int i = 1; i < tail.Count && way < 1.7 * length + 0.1 * lines.Side; i++)
        {
            way += tail[i - 1].DistanceTo(tail[i]);
            double off = tail[i].DistanceTo(open[0].Path.To);
            if (way > 0.5 * length && off < least)
            {
                (cut, least) = (i, off);
            }
        }

        if (cut < 1 || cut >= tail.Count - 2)
        {
            return false;
        }

        List<Point<ClothSpace>> rest = tail[cut..];
        tried = tail.Count + tail.Count / 10;
        (List<DrawnStretch> read, double stray) = Match(rest);
        bool same =
            read.Count == open.Count - 1
            && read.Zip(open.Skip(1))
                .All(p =>
                    p.First.Seam == p.Second.Seam
                    && Math.Sign(p.First.To - p.First.From) == Math.Sign(p.Second.To - p.Second.From)
                )
            && read[0].Path.From == open[1].Path.From;
        if (!same)
        {
            return false;
        }

        settled.Add(open[0]);
        settledStray += Math.Max(0, openStray - stray);
        (open, openStray, tried) = (read, stray, 0);
        tail.RemoveRange(0, cut);
        return true;
    }

    private double Drawn()
    {
        double way = 0;
        for (int i = 1; i < tail.Count; i++)
        {
            way += tail[i - 1].DistanceTo(tail[i]);
        }

        return way;
    }
}
