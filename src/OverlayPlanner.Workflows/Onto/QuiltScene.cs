using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;

namespace OverlayPlanner.Workflows;

/// <summary>A quilt map as registration compares it, with the junctions that its marks are.</summary>
/// <param name="Scene">Points, colours, and where the quilt ends.</param>
/// <param name="Junctions">The junction of each mark, in the marks' order.</param>
public sealed record QuiltScene<TSpace>(ClothScene<TSpace> Scene, IReadOnlyList<Junction> Junctions)
    where TSpace : ISpace
{
    /// <summary>Takes from a map what registration needs; points that exist only because the map is cut there are left out.</summary>
    public static QuiltScene<TSpace> Of(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        HashSet<string> cut =
        [
            .. map
                .Seams.Where(s => s is { Role: SeamRole.Edge, Edge: EdgeKind.Cut })
                .SelectMany(s => new[] { s.From, s.To }),
        ];
        Dictionary<string, List<double>> directions = map.Junctions.ToDictionary(j => j.Id, _ => new List<double>());
        foreach (Seam s in map.Seams)
        {
            Edge<ClothSpace> edge = map.EdgeOf(s);
            directions[s.From].Add(Angle(edge.StartDirection));
            directions[s.To].Add(Angle(-edge.EndDirection));
        }

        Junction[] kept = [.. map.Junctions.Where(j => !cut.Contains(j.Id) && directions[j.Id].Count > 0)];
        List<ClothColor<TSpace>> colors = [];
        foreach (Patch p in map.Patches)
        {
            if (LabColor.Parse(p.Color) is { } color)
            {
                Point<ClothSpace> at = PatchFinder.InteriorPoint(map, p);
                colors.Add(new(new(at.X, at.Y), color.L, color.A, color.B));
            }
        }

        return new(
            new(
                [.. kept.Select(j => new ClothMark<TSpace>(new(j.Place.X, j.Place.Y), j.At.Sigma, directions[j.Id]))],
                new(0, 0, map.Width.Inches, map.Height.Inches)
            )
            {
                Colors = colors,
                Closed = ClosedOf(map),
            },
            kept
        );
    }

    // A side is the quilt's own where most of it is raw edge; a seam on it may be a border's, with more cloth beyond.
    private static ClosedSides ClosedOf(QuiltMap map)
    {
        const double near = 0.5;
        (double w, double h) = (map.Width.Inches, map.Height.Inches);
        ClosedSides closed = ClosedSides.None;
        foreach (
            (ClosedSides side, Func<Point<ClothSpace>, double> off) in new (
                ClosedSides,
                Func<Point<ClothSpace>, double>
            )[]
            {
                (ClosedSides.Top, p => p.Y),
                (ClosedSides.Right, p => w - p.X),
                (ClosedSides.Bottom, p => h - p.Y),
                (ClosedSides.Left, p => p.X),
            }
        )
        {
            (double raw, double all) = (0, 0);
            foreach (Seam s in map.Seams.Where(s => s.Role == SeamRole.Edge))
            {
                Edge<ClothSpace> edge = map.EdgeOf(s);
                if (Math.Abs(off(edge.From)) < near && Math.Abs(off(edge.To)) < near)
                {
                    all += edge.Length;
                    raw += s.Edge == EdgeKind.Raw ? edge.Length : 0;
                }
            }

            closed |= all > 0 && 2 * raw > all ? side : ClosedSides.None;
        }

        return closed;
    }

    private static double Angle(Vector<ClothSpace> v) => Math.Atan2(v.Y, v.X);
}
