using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>What an added line does in its patch.</summary>
internal enum AddedStyle
{
    /// <summary>An arc along one side, bowing into the patch.</summary>
    AlongSide,

    /// <summary>An arc across the patch, between corners that share no side.</summary>
    ArcAcross,

    /// <summary>A straight line across the patch.</summary>
    LineAcross,
}

/// <summary>A line that could be added inside a patch.</summary>
/// <param name="Shape">Index of the patch's shape.</param>
/// <param name="From">Junction where it begins; the smaller index of the two.</param>
/// <param name="To">Junction where it ends.</param>
/// <param name="Path">Line or arc, inches.</param>
/// <param name="Style">What it does.</param>
internal sealed record AddedLine(int Shape, int From, int To, Edge<ClothSpace> Path, AddedStyle Style)
{
    /// <summary>−1, 0 or 1: which way it bows, seen from <see cref="From"/> to <see cref="To"/>.</summary>
    public int Bow => Math.Sign(Path.Bulge);

    /// <summary>Length in inches.</summary>
    public double Inches { get; } = Path.Length;
}

/// <summary>Proposes lines inside patches that rulers can make and that look well.</summary>
/// <remarks>
/// Depth: the common look of a rise of an eighth of the chord (handbook 3.4), at least the stand-off, less where two arcs
/// must share a sharp corner or where the patch is narrow; then the nearest radius that a ruler gives. Like patches get like
/// arcs because the rule sees nothing but the patch's own lengths and angles.
/// </remarks>
internal sealed class AddedLines
{
    // Clear of a seam by this much everywhere but near the corners: less looks like a wobbling ditch.
    private const double LeastClear = 0.03;

    // Two lines that leave a corner within this angle run into one another.
    private const double LeastFan = 3 * Math.PI / 180;

    // A straight line or an arc across a strip longer than this many widths looks like a mistake (common practice, no source).
    private const double LongestStrip = 2.6;

    // Beyond this rise for its chord an arc bulges rather than bows.
    private const double SteepestRise = 0.36;

    private readonly double[] radii;
    private readonly double standOff;

    public AddedLines(RouteWishes wishes)
    {
        IReadOnlyList<Ruler> rulers = wishes.Rulers ?? Ruler.GenericSet;
        standOff = wishes.StandOff.Inches;
        radii =
        [
            .. rulers
                .Select(r => r.StitchedRadius(wishes.FootOffset).Inches)
                .Where(r => r > 0 && double.IsFinite(r))
                .Distinct()
                .Order(),
        ];
    }

    /// <summary>All lines that fit into a patch; none where the patch is to be left alone.</summary>
    public IEnumerable<AddedLine> Propose(PatchShape shape, int index, IReadOnlyList<Point<ClothSpace>> places)
    {
        if (shape.Patch.Leave)
        {
            yield break;
        }

        int n = shape.Corners.Count;
        for (int s = 0; s < n; s++)
        {
            if (AlongSide(shape, s, places) is { } path)
            {
                yield return Make(shape, index, shape.Sides[s].From, shape.Sides[s].To, path, AddedStyle.AlongSide);
            }
        }

        for (int i = 0; i < n; i++)
        {
            for (int k = i + 2; k < n; k++)
            {
                if (i == 0 && k == n - 1)
                {
                    continue;
                }

                foreach (AddedLine line in Across(shape, index, i, k, places))
                {
                    yield return line;
                }
            }
        }
    }

    /// <summary>The arc along one side that bows into the patch, or null where none fits.</summary>
    public Edge<ClothSpace>? AlongSide(PatchShape shape, int side, IReadOnlyList<Point<ClothSpace>> places)
    {
        PatchSide s = shape.Sides[side];
        Point<ClothSpace> a = places[shape.Corners[s.From]];
        Point<ClothSpace> b = places[shape.Corners[s.To]];
        double chord = a.DistanceTo(b);
        if (chord < 1e-6)
        {
            return null;
        }

        // Rise of the side itself into the patch, which lies to the right of a clockwise side.
        double own = s.Edges.Count == 1 ? -s.Edges[0].Sagitta : 0;
        double sharp = Math.Min(shape.Angles[s.From], shape.Angles[s.To]);

        // Two arcs that share a corner of this angle each leave within 0.42 of it: tangent angle = 2 atan(2 × rise ÷ chord).
        double ratio = Math.Min(0.125, Math.Tan(Math.Min(0.21 * sharp, 1)) / 2);
        double wanted = Math.Max(ratio * chord, standOff);

        // In a narrow patch the opposite side has its arc too; half of what the gap leaves is each one's share.
        double share = (shape.RoomInside(s) - standOff) / 2;
        wanted = share >= standOff ? Math.Min(wanted, share) : wanted;
        foreach (
            double depth in new[] { wanted, 0.75 * wanted, 0.5 * wanted, standOff }.Where(d => d >= standOff).Distinct()
        )
        {
            if (Fitted(a, b, own, depth, -1) is { } path && Fits(shape, path))
            {
                return path;
            }
        }

        return null;
    }

    /// <summary>True where two lines of one patch would cross, touch, or run into one another.</summary>
    public static bool Conflict(AddedLine a, AddedLine b)
    {
        foreach (Edge<ClothSpace> x in new[] { a.Path, a.Path.Reversed })
        {
            foreach (Edge<ClothSpace> y in new[] { b.Path, b.Path.Reversed })
            {
                if (x.From == y.From && Math.Abs(x.StartDirection.AngleTo(y.StartDirection)) < LeastFan)
                {
                    return true;
                }
            }
        }

        Point<ClothSpace>[] p = Sampled(a.Path);
        Point<ClothSpace>[] q = Sampled(b.Path);
        bool sameEnds = a.From == b.From && a.To == b.To;
        for (int i = 1; i < p.Length; i++)
        {
            for (int j = 1; j < q.Length; j++)
            {
                if (
                    Exact.Relate(new Edge<ClothSpace>(p[i - 1], p[i]), new(q[j - 1], q[j]))
                    is EdgeRelation.Cross
                        or EdgeRelation.Overlap
                        or EdgeRelation.Touch
                )
                {
                    return true;
                }
            }
        }

        return sameEnds && a.Path.PointAt(0.5).DistanceTo(b.Path.PointAt(0.5)) < 0.1;
    }

    private static Point<ClothSpace>[] Sampled(Edge<ClothSpace> path) =>
        path.IsLine ? [path.From, path.To] : [.. Enumerable.Range(0, 11).Select(i => path.PointAt(i / 10.0))];

    private IEnumerable<AddedLine> Across(
        PatchShape shape,
        int index,
        int i,
        int k,
        IReadOnlyList<Point<ClothSpace>> places
    )
    {
        Point<ClothSpace> a = places[shape.Corners[i]];
        Point<ClothSpace> b = places[shape.Corners[k]];
        if (IsLongStrip(shape, places))
        {
            yield break;
        }

        Edge<ClothSpace> straight = new(a, b);
        if (Fits(shape, straight))
        {
            yield return Make(shape, index, i, k, straight, AddedStyle.LineAcross);
        }

        double wanted = Math.Max(straight.Chord / 8, standOff);
        foreach (int way in new[] { 1, -1 })
        {
            if (Fitted(a, b, 0, wanted, way) is { } path && Fits(shape, path))
            {
                yield return Make(shape, index, i, k, path, AddedStyle.ArcAcross);
            }
        }
    }

    private static bool IsLongStrip(PatchShape shape, IReadOnlyList<Point<ClothSpace>> places)
    {
        if (shape.Corners.Count != 4)
        {
            return false;
        }

        double[] side =
        [
            .. Enumerable
                .Range(0, 4)
                .Select(s => places[shape.Corners[s]].DistanceTo(places[shape.Corners[(s + 1) % 4]])),
        ];
        return Math.Max(side[0], side[2]) > LongestStrip * Math.Max(side[1], side[3])
            || Math.Max(side[1], side[3]) > LongestStrip * Math.Max(side[0], side[2]);
    }

    private static AddedLine Make(PatchShape shape, int index, int i, int k, Edge<ClothSpace> path, AddedStyle style)
    {
        int a = shape.Corners[i];
        int b = shape.Corners[k];
        return a < b ? new(index, a, b, path, style) : new(index, b, a, path.Reversed, style);
    }

    /// <summary>
    /// The arc from a to b whose rise is that of the side and a depth, with the nearest radius that a ruler gives.
    /// </summary>
    /// <param name="own">Rise of the side itself, in the arc's direction.</param>
    /// <param name="depth">Wished distance from the side in the middle, inches.</param>
    /// <param name="way">1 to bow to the left of a → b, −1 to the right.</param>
    private Edge<ClothSpace>? Fitted(Point<ClothSpace> a, Point<ClothSpace> b, double own, double depth, int way)
    {
        double chord = a.DistanceTo(b);
        double rise = own + depth;
        double best = double.NaN;
        foreach (double r in radii)
        {
            if (r < 0.51 * chord)
            {
                continue;
            }

            double h = Math.Sign(rise) * ArcShape.RiseOf(Length.FromInches(chord), Length.FromInches(r)).Inches;
            bool enough = h - own >= standOff - 1e-9 && Math.Abs(h) <= SteepestRise * chord;
            if (enough && (double.IsNaN(best) || Math.Abs(h - rise) < Math.Abs(best - rise)))
            {
                best = h;
            }
        }

        return double.IsNaN(best) ? null : new Edge<ClothSpace>(a, b, way * 2 * best / chord);
    }

    /// <summary>Inside the patch, clear of every seam, and off by the stand-off in the middle.</summary>
    private bool Fits(PatchShape shape, Edge<ClothSpace> path)
    {
        for (int i = 1; i <= 9; i++)
        {
            Point<ClothSpace> p = path.PointAt(i / 10.0);
            double need = i == 5 ? standOff - 1e-6 : LeastClear;
            foreach (Edge<ClothSpace> e in shape.Obstacles)
            {
                if (e.Nearest(p).Distance < need)
                {
                    return false;
                }
            }

            if (!shape.Holds(p))
            {
                return false;
            }
        }

        // Near the corners: it must leave between the two sides.
        foreach (Edge<ClothSpace> way in new[] { path, path.Reversed })
        {
            foreach (Edge<ClothSpace> e in shape.Obstacles)
            {
                if (
                    (e.From == way.From && Math.Abs(e.StartDirection.AngleTo(way.StartDirection)) < LeastFan)
                    || (e.To == way.From && Math.Abs(e.Reversed.StartDirection.AngleTo(way.StartDirection)) < LeastFan)
                )
                {
                    return false;
                }
            }
        }

        return true;
    }
}
