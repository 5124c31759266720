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

    /// <summary>A straight line from a corner of a triangle to a point in the middle of the side across.</summary>
    LineToSide,

    /// <summary>A straight line from a corner of a square to its centre.</summary>
    LineToCenter,
}

/// <summary>A line that could be added inside a patch.</summary>
/// <param name="Shape">Index of the patch's shape.</param>
/// <param name="From">Junction where it begins; the smaller index of the two.</param>
/// <param name="To">Junction where it ends.</param>
/// <param name="Path">Line or arc, inches.</param>
/// <param name="Style">What it does.</param>
/// <param name="Ruler">The ruler that makes it; null for a straight line.</param>
internal sealed record AddedLine(
    int Shape,
    int From,
    int To,
    Edge<ClothSpace> Path,
    AddedStyle Style,
    Ruler? Ruler = null
)
{
    /// <summary>−1, 0 or 1: which way it bows, seen from <see cref="From"/> to <see cref="To"/>.</summary>
    public int Bow => Math.Sign(Path.Bulge);

    /// <summary>Length in inches.</summary>
    public double Inches { get; } = Path.Length;
}

/// <summary>How deep arcs along sides shall be.</summary>
internal enum ArcDepth
{
    /// <summary>A rise of an eighth of the chord.</summary>
    Common,

    /// <summary>As deep as two arcs can be that share a corner: both leave it along its middle (orange peel on squares).</summary>
    Peel,
}

/// <summary>Proposes lines inside patches that rulers can make and that look well.</summary>
/// <remarks>
/// Depth: the common look of a rise of an eighth of the chord (handbook 3.4), at least the stand-off, less where two arcs
/// must share a sharp corner or where the patch is narrow; then the nearest that a ruler gives. Like lines in like patches are
/// made with one ruler, the rise following each measured chord; a ruler already chosen is preferred while it changes the depth
/// by no more than a fifth.
/// </remarks>
internal sealed class AddedLines
{
    // Clear of a seam by this much everywhere but near the corners: less looks like a wobbling ditch.
    private const double LeastClear = 0.03;

    // Two lines that leave a corner within this angle run into one another.
    public const double LeastFan = 3 * Math.PI / 180;

    // A straight line or an arc across a strip longer than this many widths looks like a mistake (common practice, no source).
    private const double LongestStrip = 2.6;

    // Beyond this rise for its chord an arc bulges rather than bows.
    private const double SteepestRise = 0.36;

    // A ruler that is in hand already may miss the wished depth by this share before another is taken up.
    private const double KeepsRuler = 0.2;

    // Radii tried for one line, the nearest first.
    private const int MostTried = 8;

    private readonly Ruler[] rulers;
    private readonly double standOff;
    private readonly double foot;
    private readonly bool isMeasured;
    private readonly HashSet<Ruler> inHand = [];

    /// <param name="wishes">Rulers, foot and stand-off.</param>
    /// <param name="isMeasured">True for cloth: like patches differ a little, and each is looked at by itself.</param>
    public AddedLines(RouteWishes wishes, bool isMeasured)
    {
        this.isMeasured = isMeasured;
        standOff = wishes.StandOff.Inches;
        foot = wishes.FootOffset.Inches;
        rulers =
        [
            .. (wishes.Rulers ?? Ruler.GenericSet).Where(r =>
                r.StitchedRadius(wishes.FootOffset).Inches is var radius && radius > 0 && double.IsFinite(radius)
            ),
        ];
    }

    /// <summary>True where a curved ruler is at hand that the foot can follow.</summary>
    public bool HasCurves => rulers.Length > 0;

    /// <summary>All lines that fit into the patches given; none in patches to be left alone.</summary>
    public List<AddedLine> Propose(
        IReadOnlyList<PatchShape> shapes,
        IReadOnlyList<int> which,
        IReadOnlyList<Point<ClothSpace>> places
    )
    {
        int[] open = [.. which.Where(s => !shapes[s].Patch.Leave)];
        List<Wanted> wanted = [];
        List<AddedLine> lines = [];
        foreach (int s in open)
        {
            PatchShape shape = shapes[s];
            wanted.AddRange(AlongSides(shape, s, ArcDepth.Common));
            AddAcross(shape, s, places, wanted, lines);
            AddToPoints(shape, s, places, lines);
        }

        lines.AddRange(Made(shapes, new(shapes, open, isMeasured), wanted, places));

        // In the order of the patches, so that equal choices fall the same way whatever the rulers.
        return
        [
            .. lines
                .OrderBy(l => l.Shape)
                .ThenBy(l => l.Style)
                .ThenBy(l => l.From)
                .ThenBy(l => l.To)
                .ThenBy(l => l.Bow),
        ];
    }

    /// <summary>The arcs along the sides of the patches given that bow into them; a patch may lack some.</summary>
    public List<AddedLine> Along(
        IReadOnlyList<PatchShape> shapes,
        IReadOnlyList<int> which,
        IReadOnlyList<Point<ClothSpace>> places,
        ArcDepth depth
    )
    {
        int[] open = [.. which.Where(s => !shapes[s].Patch.Leave)];
        return Made(
            shapes,
            new(shapes, open, isMeasured),
            [.. open.SelectMany(s => AlongSides(shapes[s], s, depth))],
            places
        );
    }

    /// <summary>A line that is wished for, before a ruler is found.</summary>
    /// <param name="Own">Rise of the side that it runs along, in the direction in which it bows; 0 across.</param>
    /// <param name="Depth">Wished distance from that side in the middle, inches.</param>
    /// <param name="Deepest">Greatest rise for its chord, as a share.</param>
    private readonly record struct Wanted(
        int Shape,
        int I,
        int K,
        int Bow,
        AddedStyle Style,
        double Own,
        double Depth,
        double Deepest
    );

    private IEnumerable<Wanted> AlongSides(PatchShape shape, int index, ArcDepth depth)
    {
        for (int s = 0; s < shape.Sides.Count; s++)
        {
            PatchSide side = shape.Sides[s];
            if (side.Chord < 1e-6)
            {
                continue;
            }

            double sharp = Math.Min(shape.Angles[side.From], shape.Angles[side.To]);
            double wanted;
            double deepest = SteepestRise;
            if (depth == ArcDepth.Peel)
            {
                // Both arcs at a corner leave it along its middle line: tangent angle = 2 atan(2 × rise ÷ chord).
                deepest = Math.Min(SteepestRise, Math.Tan(Math.Min(sharp, Math.PI / 2) / 4) / 2 + 1e-9);
                wanted = deepest * side.Chord;
            }
            else
            {
                // Two arcs that share a corner of this angle each leave within 0.42 of it.
                double ratio = Math.Min(0.125, Math.Tan(Math.Min(0.21 * sharp, 1)) / 2);
                wanted = Math.Max(ratio * side.Chord, standOff);

                // In a narrow patch the opposite side has its arc too; half of what the gap leaves is each one's share.
                double share = (shape.RoomInside(side) - standOff) / 2;
                wanted = share >= standOff ? Math.Min(wanted, share) : wanted;
            }

            yield return new(index, side.From, side.To, -1, AddedStyle.AlongSide, side.RiseInside, wanted, deepest);
        }
    }

    private void AddAcross(
        PatchShape shape,
        int index,
        IReadOnlyList<Point<ClothSpace>> places,
        List<Wanted> wanted,
        List<AddedLine> lines
    )
    {
        int n = shape.Corners.Count;
        if (IsLongStrip(shape, places) || (n > 4 && IsCurved(shape)))
        {
            return;
        }

        for (int i = 0; i < n; i++)
        {
            for (int k = i + 2; k < n; k++)
            {
                if (i == 0 && k == n - 1)
                {
                    continue;
                }

                Edge<ClothSpace> straight = new(places[shape.Corners[i]], places[shape.Corners[k]]);

                // A square with a point at its centre has its diagonals in two halves.
                if (shape.Center is null && Fits(shape, straight))
                {
                    lines.Add(Make(shape, index, i, k, straight, AddedStyle.LineAcross, null));
                }

                double depth = Math.Max(straight.Chord / 8, standOff);
                wanted.Add(new(index, i, k, 1, AddedStyle.ArcAcross, 0, depth, SteepestRise));
                wanted.Add(new(index, i, k, -1, AddedStyle.ArcAcross, 0, depth, SteepestRise));
            }
        }
    }

    // Into the centre of a square that has a point there, and to a point in the middle of a triangle's side.
    private void AddToPoints(
        PatchShape shape,
        int index,
        IReadOnlyList<Point<ClothSpace>> places,
        List<AddedLine> lines
    )
    {
        int n = shape.Corners.Count;
        if (shape.Center is { } center)
        {
            for (int i = 0; i < n; i++)
            {
                AddLine(shape.Corners[i], center, AddedStyle.LineToCenter);
            }
        }

        // A slice of a circle has three corners too, but no median that anybody stitches.
        for (int i = 0; n == 3 && i < n && !IsCurved(shape); i++)
        {
            PatchSide across = shape.Sides[(i + 1) % n];
            if (across.Chord < 0.99 * shape.Sides.Max(s => s.Chord))
            {
                continue;
            }

            Point<ClothSpace> middle = places[shape.Corners[across.From]].Toward(places[shape.Corners[across.To]], 0.5);
            foreach (int v in shape.Between.Where(v => places[v].DistanceTo(middle) < 0.04 * across.Chord))
            {
                AddLine(shape.Corners[i], v, AddedStyle.LineToSide);
            }
        }

        void AddLine(int a, int b, AddedStyle style)
        {
            (int from, int to) = a < b ? (a, b) : (b, a);
            Edge<ClothSpace> path = new(places[from], places[to]);
            if (Fits(shape, path))
            {
                lines.Add(new(index, from, to, path, style));
            }
        }
    }

    private List<AddedLine> Made(
        IReadOnlyList<PatchShape> shapes,
        LikeShapes like,
        List<Wanted> wanted,
        IReadOnlyList<Point<ClothSpace>> places
    )
    {
        List<AddedLine> lines = [];

        // The line that most patches have chooses its ruler first.
        foreach (
            IGrouping<(AddedStyle, (int, int, int, int)), Wanted> g in wanted
                .GroupBy(w => (w.Style, like.NameOf(w.Shape, w.I, w.K, w.Bow)))
                .OrderByDescending(g => g.Count())
        )
        {
            Wanted[] members = [.. g];
            Edge<ClothSpace>?[] best = [];
            Ruler? chosen = null;
            int most = 0;
            foreach (Ruler ruler in Ranked(members[0], shapes, places))
            {
                Edge<ClothSpace>?[] paths = Paths(members, ruler, shapes, places);
                int fit = paths.Count(p => p is not null);
                if (fit > most)
                {
                    (best, chosen, most) = (paths, ruler, fit);
                }

                if (fit == members.Length)
                {
                    break;
                }
            }

            for (int m = 0; chosen is not null && m < members.Length; m++)
            {
                if (best[m] is { } path)
                {
                    Wanted w = members[m];
                    lines.Add(Make(shapes[w.Shape], w.Shape, w.I, w.K, path, w.Style, chosen));
                }
            }

            if (chosen is not null)
            {
                inHand.Add(chosen);
            }
        }

        return lines;
    }

    // The members' arcs with one ruler; drafts' patches of a class are copies, so the first speaks for all.
    private Edge<ClothSpace>?[] Paths(
        Wanted[] members,
        Ruler ruler,
        IReadOnlyList<PatchShape> shapes,
        IReadOnlyList<Point<ClothSpace>> places
    )
    {
        Edge<ClothSpace>?[] paths = new Edge<ClothSpace>?[members.Length];
        for (int m = 0; m < members.Length; m++)
        {
            Wanted w = members[m];
            PatchShape shape = shapes[w.Shape];
            Edge<ClothSpace>? path = PathOf(w, shape, ruler, places);
            bool looks = m == 0 || isMeasured || shape.HoleEdges.Count > 0;
            if (path is { } p && looks && !Fits(shape, p))
            {
                path = null;
            }

            if (path is null && !isMeasured && m == 0)
            {
                return paths;
            }

            paths[m] = path;
        }

        return paths;
    }

    private Edge<ClothSpace>? PathOf(Wanted w, PatchShape shape, Ruler ruler, IReadOnlyList<Point<ClothSpace>> places)
    {
        (Point<ClothSpace> a, Point<ClothSpace> b) = (places[shape.Corners[w.I]], places[shape.Corners[w.K]]);
        double chord = a.DistanceTo(b);
        double radius = ruler.StitchedRadius(Length.FromInches(foot)).Inches;
        double h = RiseAt(radius, chord, w.Own + w.Depth);
        return IsEnough(w, h, chord) ? new Edge<ClothSpace>(a, b, w.Bow * 2 * h / chord) : null;
    }

    private static double RiseAt(double radius, double chord, double wanted) =>
        radius < 0.51 * chord
            ? double.NaN
            : Math.Sign(wanted) * ArcShape.RiseOf(Length.FromInches(chord), Length.FromInches(radius)).Inches;

    // Own is the rise of the side itself along a side; across, the line bows either way from its own chord.
    private bool IsEnough(Wanted w, double h, double chord) =>
        !double.IsNaN(h) && h != 0 && h - w.Own >= standOff - 1e-9 && Math.Abs(h) <= w.Deepest * chord;

    /// <summary>The rulers that could make a line, the one nearest to the wished depth first.</summary>
    private IEnumerable<Ruler> Ranked(
        Wanted w,
        IReadOnlyList<PatchShape> shapes,
        IReadOnlyList<Point<ClothSpace>> places
    )
    {
        PatchShape shape = shapes[w.Shape];
        double chord = places[shape.Corners[w.I]].DistanceTo(places[shape.Corners[w.K]]);
        double wished = w.Own + w.Depth;
        List<(double Miss, Ruler Ruler)> open = [];
        foreach (
            IGrouping<double, Ruler> same in rulers.GroupBy(r =>
                Math.Round(r.StitchedRadius(Length.FromInches(foot)).Inches, 6)
            )
        )
        {
            double h = RiseAt(same.First().StitchedRadius(Length.FromInches(foot)).Inches, chord, wished);
            if (!IsEnough(w, h, chord))
            {
                continue;
            }

            // Too deep crowds the patch, so it counts for more than too flat. Of two with one radius: the one in hand, else the
            // one that need not be moved on the way.
            double along = new Edge<ClothSpace>(new(0, 0), new(chord, 0), 2 * h / chord).Length;
            Ruler ruler = same.OrderByDescending(inHand.Contains)
                .ThenByDescending(r => r.UsableLength.Inches >= along - 0.01)
                .First();
            double miss = h > wished ? 1.5 * (h - wished) : wished - h;
            open.Add((miss - (inHand.Contains(ruler) ? KeepsRuler * w.Depth : 0), ruler));
        }

        return open.OrderBy(o => o.Miss).Take(MostTried).Select(o => o.Ruler);
    }

    /// <summary>True where two lines of one patch would cross, touch, or run into one another.</summary>
    public static bool Conflict(AddedLine a, AddedLine b, double leastFan = LeastFan)
    {
        foreach (Edge<ClothSpace> x in new[] { a.Path, a.Path.Reversed })
        {
            foreach (Edge<ClothSpace> y in new[] { b.Path, b.Path.Reversed })
            {
                if (x.From == y.From && Math.Abs(x.StartDirection.AngleTo(y.StartDirection)) < leastFan)
                {
                    return true;
                }
            }
        }

        bool sameEnds = a.From == b.From && a.To == b.To;
        if (!a.Path.Bounds().Meets(b.Path.Bounds()))
        {
            return false;
        }

        Point<ClothSpace>[] p = Sampled(a.Path);
        Point<ClothSpace>[] q = Sampled(b.Path);
        for (int i = 1; i < p.Length; i++)
        {
            Box<ClothSpace> box = Box<ClothSpace>.Around(p[i - 1], p[i]);
            for (int j = 1; j < q.Length; j++)
            {
                if (
                    box.Meets(Box<ClothSpace>.Around(q[j - 1], q[j]))
                    && Exact.Relate(new Edge<ClothSpace>(p[i - 1], p[i]), new(q[j - 1], q[j]))
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

    private static bool IsCurved(PatchShape shape) => shape.Sides.Any(s => Math.Abs(s.RiseInside) > 0.02 * s.Chord);

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

    private static AddedLine Make(
        PatchShape shape,
        int index,
        int i,
        int k,
        Edge<ClothSpace> path,
        AddedStyle style,
        Ruler? ruler
    )
    {
        int a = shape.Corners[i];
        int b = shape.Corners[k];
        return a < b ? new(index, a, b, path, style, ruler) : new(index, b, a, path.Reversed, style, ruler);
    }

    /// <summary>Inside the patch, clear of every seam, and off by the stand-off in the middle.</summary>
    private bool Fits(PatchShape shape, Edge<ClothSpace> path)
    {
        for (int i = 1; i <= 9; i++)
        {
            Point<ClothSpace> p = path.PointAt(i / 10.0);
            double need = i == 5 ? standOff - 1e-6 : LeastClear;
            foreach (Edge<ClothSpace> e in shape.Ring)
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

        // Appliqué is thick: the foot must pass beside it, all along.
        int steps = shape.HoleEdges.Count == 0 ? 0 : (int)Math.Ceiling(path.Length / 0.05);
        for (int i = 0; i <= steps && steps > 0; i++)
        {
            Point<ClothSpace> p = path.PointAt((double)i / steps);
            if (shape.HoleEdges.Any(e => e.Nearest(p).Distance < Math.Max(foot, standOff)))
            {
                return false;
            }
        }

        // Near the corners: it must leave between the two sides.
        foreach (Edge<ClothSpace> way in new[] { path, path.Reversed })
        {
            foreach (Edge<ClothSpace> e in shape.Ring)
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
