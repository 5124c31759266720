using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Blocks;

/// <summary>Where the cells of a setting lie: along u and v, the directions of a block's top and left sides.</summary>
internal sealed class SettingFrame
{
    private readonly SettingWishes wishes;
    private readonly bool onPoint;
    private readonly double side;
    private readonly double pitch;
    private readonly Vector<ClothSpace> u;
    private readonly Vector<ClothSpace> v;
    private readonly Point<ClothSpace> origin;

    private SettingFrame(SettingWishes wishes)
    {
        this.wishes = wishes;
        onPoint = wishes.Kind == SettingKind.OnPoint;
        side = wishes.Block.Inches;
        pitch = side + wishes.Sash.Inches;
        double left = wishes.Borders.Sum(b => b.Left.Inches);
        double top = wishes.Borders.Sum(b => b.Top.Inches);
        double w = onPoint ? wishes.Columns * pitch * Math.Sqrt(2) : wishes.Columns * pitch - wishes.Sash.Inches;
        double h = onPoint ? wishes.Rows * pitch * Math.Sqrt(2) : wishes.Rows * pitch - wishes.Sash.Inches;
        Inner = new(left, top, left + w, top + h);
        Width = Inner.Right + wishes.Borders.Sum(b => b.Right.Inches);
        Height = Inner.Bottom + wishes.Borders.Sum(b => b.Bottom.Inches);
        double half = Math.Sqrt(0.5);
        u = onPoint ? new(half, half) : new(1, 0);
        v = onPoint ? new(-half, half) : new(0, 1);

        // On point the first block's middle is half a diagonal from both sides; its cell has half a strip all round.
        origin = onPoint ? new(left + pitch * half, top + wishes.Sash.Inches * half) : new(left, top);
    }

    public double Width { get; }

    public double Height { get; }

    /// <summary>The top without its borders.</summary>
    public Box<ClothSpace> Inner { get; }

    /// <summary>Places of whole blocks, in reading order.</summary>
    public IEnumerable<(int Row, int Column)> WholeCells =>
        onPoint
            ? Cells.Where(c =>
                c.Row >= 0 && c.Column >= 0 && c.Row <= 2 * wishes.Rows - 2 && c.Column <= 2 * wishes.Columns - 2
            )
            : Cells;

    /// <summary>Places of whole and of cut cells.</summary>
    public IEnumerable<(int Row, int Column)> Cells
    {
        get
        {
            (int first, int rows, int columns) = onPoint
                ? (-1, 2 * wishes.Rows - 1, 2 * wishes.Columns - 1)
                : (0, wishes.Rows - 1, wishes.Columns - 1);
            for (int row = first; row <= rows; row++)
            {
                for (int column = first; column <= columns; column++)
                {
                    if (!onPoint || ((row + column) & 1) == 0)
                    {
                        yield return (row, column);
                    }
                }
            }
        }
    }

    public static SettingFrame Of(SettingWishes wishes) => new(wishes);

    /// <summary>Clockwise from top left; on point from the top.</summary>
    public IReadOnlyList<Point<ClothSpace>> CornersOf(int row, int column)
    {
        (double a, double b) = CellOf(row, column);
        return [At(a, b), At(a + side, b), At(a + side, b + side), At(a, b + side)];
    }

    /// <summary>The sides of a cell's square as far as they lie on the top.</summary>
    public IEnumerable<Edge<ClothSpace>> OutlineOf(int row, int column)
    {
        IReadOnlyList<Point<ClothSpace>> c = CornersOf(row, column);
        return Enumerable.Range(0, 4).SelectMany(i => Cut(c[i], c[(i + 1) % 4]));
    }

    /// <summary>The seams of the block that stands in a cell.</summary>
    public IEnumerable<Edge<ClothSpace>> SeamsOf(int row, int column, SettingPlace place)
    {
        (double a, double b) = CellOf(row, column);
        foreach (IReadOnlyList<DraftCorner> ring in place.Draft!.Patches)
        {
            for (int i = 0; i < ring.Count; i++)
            {
                yield return new(
                    Laid(ring[i]),
                    Laid(ring[(i + 1) % ring.Count]),
                    place.Mirror ? -ring[i].Bulge : ring[i].Bulge
                );
            }
        }

        Point<ClothSpace> Laid(DraftCorner c)
        {
            (double x, double y) = (place.Mirror ? 1 - c.X : c.X, c.Y);
            for (int i = 0; i < (place.Turn & 3); i++)
            {
                (x, y) = (1 - y, x);
            }

            return At(a + x * side, b + y * side);
        }
    }

    /// <summary>A place of the cloth in the draft of a block, side 1, the block's turn and mirror undone.</summary>
    public (double X, double Y) InDraft(Block block, SettingPlace place, Point<ClothSpace> p)
    {
        Vector<ClothSpace> d = p - block.Corners[0];
        (double x, double y) = (d.Dot(u) / side, d.Dot(v) / side);
        for (int i = 0; i < (place.Turn & 3); i++)
        {
            (x, y) = (y, 1 - x);
        }

        return (place.Mirror ? 1 - x : x, y);
    }

    /// <summary>The seams that cut the strips, as far as they lie on the top.</summary>
    public IEnumerable<Edge<ClothSpace>> SashLines()
    {
        double sash = wishes.Sash.Inches;
        if (sash == 0)
        {
            yield break;
        }

        foreach ((int row, int column) in Cells)
        {
            // The piece right and below a cell's bottom right corner, and on point the one above its top corner.
            (double a, double b) = CellOf(row, column);
            foreach ((double x, double y) in new[] { (a + side, b + side), (a - sash, b - sash) })
            {
                Point<ClothSpace>[] c = [At(x, y), At(x + sash, y), At(x + sash, y + sash), At(x, y + sash)];
                for (int i = 0; i < 4; i++)
                {
                    // Sides 0 and 2 run along u and bound the strips that run through.
                    if (wishes.Cornerstones == Cornerstones.With || i % 2 == 0)
                    {
                        foreach (Edge<ClothSpace> piece in Cut(c[i], c[(i + 1) % 4]))
                        {
                            yield return piece;
                        }
                    }
                }
            }
        }
    }

    /// <summary>What lies at a place outside the blocks.</summary>
    public SettingPart PartAt(Point<ClothSpace> p)
    {
        if (!Inner.Holds(p))
        {
            return SettingPart.Border;
        }

        Vector<ClothSpace> d = p - origin;
        (double a, double b) = (Within(d.Dot(u)), Within(d.Dot(v)));
        return (a < side, b < side) switch
        {
            (true, true) => IsCorner(p) ? SettingPart.CornerTriangle : SettingPart.SettingTriangle,
            (false, false) when wishes.Cornerstones == Cornerstones.With => SettingPart.Cornerstone,
            _ => SettingPart.Sash,
        };

        double Within(double at) => at - Math.Floor(at / pitch) * pitch;
    }

    private bool IsCorner(Point<ClothSpace> p)
    {
        // The middle of a corner's cell is the corner itself, and the cell reaches half a diagonal along both sides.
        double reach = pitch * Math.Sqrt(0.5);
        return Math.Min(p.X - Inner.Left, Inner.Right - p.X) + Math.Min(p.Y - Inner.Top, Inner.Bottom - p.Y) < reach;
    }

    private (double U, double V) CellOf(int row, int column) =>
        onPoint ? ((row + column) / 2 * pitch, (row - column) / 2 * pitch) : (column * pitch, row * pitch);

    private Point<ClothSpace> At(double a, double b) => origin + u * a + v * b;

    // Liang and Barsky's clipping (1984).
    private IEnumerable<Edge<ClothSpace>> Cut(Point<ClothSpace> from, Point<ClothSpace> to)
    {
        const double Least = 1e-6;
        Vector<ClothSpace> d = to - from;
        (double t0, double t1) = (0, 1);
        foreach (
            (double step, double room) in new[]
            {
                (-d.X, from.X - Inner.Left),
                (d.X, Inner.Right - from.X),
                (-d.Y, from.Y - Inner.Top),
                (d.Y, Inner.Bottom - from.Y),
            }
        )
        {
            if (Math.Abs(step) < 1e-12)
            {
                if (room < -Least)
                {
                    yield break;
                }
            }
            else if (step < 0)
            {
                t0 = Math.Max(t0, room / step);
            }
            else
            {
                t1 = Math.Min(t1, room / step);
            }
        }

        if ((t1 - t0) * d.Norm > Least)
        {
            yield return new(t0 > 1e-12 ? from + d * t0 : from, t1 < 1 - 1e-12 ? from + d * t1 : to);
        }
    }
}
