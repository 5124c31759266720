using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Copies;

/// <summary>A seam piece of a block's pattern, between two of its points.</summary>
/// <param name="From">Index of a point.</param>
/// <param name="To">Index of a point.</param>
/// <param name="Bulge">As in the map.</param>
/// <param name="IsSide">On the block's own boundary.</param>
internal sealed record TemplatePiece(int From, int To, double Bulge, bool IsSide);

/// <summary>What all copies of a block have in common: points in the unit square, and the seams between them.</summary>
internal sealed record BlockTemplate(IReadOnlyList<(double X, double Y)> Points, IReadOnlyList<TemplatePiece> Pieces)
{
    // A measured point this near to a side of its block, in sides, is on it.
    private const double OnSide = 0.03;

    /// <summary>The pattern as drafted.</summary>
    public static BlockTemplate Of(BlockDraft draft)
    {
        QuiltMap map = BlockDrafting.Draft(draft, Length.FromInches(1), 1, 1, Length.Zero);
        Dictionary<string, int> index = map.Junctions.Index().ToDictionary(j => j.Item.Id, j => j.Index);
        return new(
            [.. map.Junctions.Select(j => (j.Place.X, j.Place.Y))],
            [.. map.Seams.Select(s => new TemplatePiece(index[s.From], index[s.To], s.Bulge, s.Role != SeamRole.Seam))]
        );
    }

    /// <summary>The pattern of one block of a map, as measured.</summary>
    public static BlockTemplate Of(QuiltMap map, Block block)
    {
        PixelCell frame = new([.. block.Corners.Select(c => (c.X, c.Y))]);
        Dictionary<string, int> index = [];
        List<(double X, double Y)> points = [];
        List<TemplatePiece> pieces = [];
        foreach (Seam s in map.Seams)
        {
            Edge<ClothSpace> path = map.EdgeOf(s);
            (double X, double Y) a = frame.ToUnit((path.From.X, path.From.Y));
            (double X, double Y) b = frame.ToUnit((path.To.X, path.To.Y));
            (double X, double Y) middle = frame.ToUnit((path.PointAt(0.5).X, path.PointAt(0.5).Y));
            if (IsInside(a) && IsInside(b) && IsInside(middle))
            {
                bool side = path.IsLine && (Along(a.X, b.X) || Along(a.Y, b.Y));
                pieces.Add(new(IndexOf(s.From, a), IndexOf(s.To, b), s.Bulge, side));
            }
        }

        return new(points, pieces);

        int IndexOf(string id, (double X, double Y) at)
        {
            if (!index.TryGetValue(id, out int i))
            {
                i = index[id] = points.Count;
                points.Add(at);
            }

            return i;
        }

        static bool IsInside((double X, double Y) p) =>
            p is { X: > -OnSide and < 1 + OnSide, Y: > -OnSide and < 1 + OnSide };
        static bool Along(double a, double b) =>
            (Math.Abs(a) <= OnSide && Math.Abs(b) <= OnSide)
            || (Math.Abs(a - 1) <= OnSide && Math.Abs(b - 1) <= OnSide);
    }

    /// <summary>The pattern found in evidence that was folded to a unit square; sides run from point to point on the outline.</summary>
    public static BlockTemplate Of(SeamGraph folded)
    {
        PixelFrame f = folded.Frame;
        Dictionary<GraphPoint, int> index = [];
        List<(double X, double Y)> points = [];
        foreach (GraphPoint p in folded.Points)
        {
            index[p] = points.Count;
            points.Add(((p.X - f.Left) / (f.Right - f.Left), (p.Y - f.Top) / (f.Bottom - f.Top)));
        }

        List<TemplatePiece> pieces =
        [
            .. folded.Edges.Select(e => new TemplatePiece(index[e.From], index[e.To], e.Bulge, false)),
        ];
        (double X, double Y)[] corners = [(0, 0), (1, 0), (1, 1), (0, 1)];
        int[] at = new int[4];
        for (int i = 0; i < 4; i++)
        {
            at[i] = points.FindIndex(p => Math.Abs(p.X - corners[i].X) < 1e-6 && Math.Abs(p.Y - corners[i].Y) < 1e-6);
            if (at[i] < 0)
            {
                at[i] = points.Count;
                points.Add(corners[i]);
            }
        }

        for (int i = 0; i < 4; i++)
        {
            ((double X, double Y) from, (double X, double Y) to) = (corners[i], corners[(i + 1) % 4]);
            bool level = from.Y == to.Y;
            int last = at[i];
            foreach (
                int k in Enumerable
                    .Range(0, points.Count)
                    .Where(k => !at.Contains(k) && Math.Abs(level ? points[k].Y - from.Y : points[k].X - from.X) < 1e-6)
                    .OrderBy(k => Math.Abs(level ? points[k].X - from.X : points[k].Y - from.Y))
            )
            {
                pieces.Add(new(last, k, 0, true));
                last = k;
            }

            pieces.Add(new(last, at[(i + 1) % 4], 0, true));
        }

        return new(points, pieces);
    }

    /// <summary>The pattern turned and mirrored.</summary>
    public BlockTemplate In(Orientation how) =>
        how == default
            ? this
            : new([.. Points.Select(how.Apply)], [.. Pieces.Select(p => how.Mirror ? p with { Bulge = -p.Bulge } : p)]);

    /// <summary>A place on a piece, unit square.</summary>
    /// <param name="t">Fraction of the piece, 0 to 1.</param>
    public (double X, double Y) PointOn(TemplatePiece piece, double t)
    {
        Edge<ClothSpace> path = PathOf(piece);
        Point<ClothSpace> p = path.PointAt(t);
        return (p.X, p.Y);
    }

    /// <summary>Length of a piece in block sides.</summary>
    public double LengthOf(TemplatePiece piece) => PathOf(piece).Length;

    private Edge<ClothSpace> PathOf(TemplatePiece piece) =>
        new(new(Points[piece.From].X, Points[piece.From].Y), new(Points[piece.To].X, Points[piece.To].Y), piece.Bulge);
}
