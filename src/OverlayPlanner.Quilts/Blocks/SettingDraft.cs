using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Blocks;

/// <summary>Drafts whole tops: blocks straight or on point, sashing, setting triangles, plain blocks, borders.</summary>
public static class SettingDraft
{
    private const int MostBorders = 12;

    /// <summary>
    /// The map of a top. Blocks stand in reading order with row, column, pattern, turn and mirror; a plain block has no pattern;
    /// patches of no block tell their part (<see cref="SettingPartField"/>).
    /// </summary>
    /// <remarks>
    /// On point, R × C blocks stand corner to corner and (R − 1) × (C − 1) between them; the outline runs through the middles
    /// of the side triangles' cells, with sashing through the middles of the outer cornerstones, which it halves. A block's
    /// corners begin at the one that is top left when the setting is turned back by 45° anticlockwise: the top one.
    /// </remarks>
    /// <exception cref="InputException">A number is out of its range.</exception>
    public static QuiltMap Draft(SettingWishes wishes)
    {
        ArgumentNullException.ThrowIfNull(wishes);
        Check(wishes);
        SettingFrame frame = SettingFrame.Of(wishes);
        List<SeamLine> lines = [];
        List<Block> blocks = [];
        List<SettingPlace> places = [];
        Box<ClothSpace> inner = frame.Inner;
        foreach ((int row, int column) in frame.Cells)
        {
            lines.AddRange(frame.OutlineOf(row, column).Select(e => new SeamLine(e)));
        }

        foreach ((int row, int column) in frame.WholeCells)
        {
            SettingPlace place = wishes.PlaceAt(row, column);
            if (place.Draft is { } draft)
            {
                lines.AddRange(frame.SeamsOf(row, column, place).Select(e => new SeamLine(e)));
            }

            places.Add(place);
            blocks.Add(
                new("b" + (blocks.Count + 1).ToString(CultureInfo.InvariantCulture), frame.CornersOf(row, column))
                {
                    Row = row,
                    Column = column,
                    Pattern = place.Draft?.Id,
                    Turn = place.Draft is null ? 0 : place.Turn & 3,
                    Mirror = place.Draft is not null && place.Mirror,
                }
            );
        }

        lines.AddRange(frame.SashLines().Select(e => new SeamLine(e)));
        AddBorders(lines, wishes, inner);
        QuiltMap map = MapBuilder.Build(
            Length.FromInches(frame.Width),
            Length.FromInches(frame.Height),
            lines,
            blocks,
            Length.FromInches(Math.Min(1e-4, wishes.Block.Inches * 1e-5))
        );
        return WithParts(map, wishes, frame, places);
    }

    private static QuiltMap WithParts(QuiltMap map, SettingWishes wishes, SettingFrame frame, List<SettingPlace> places)
    {
        Dictionary<string, int> blockOf = [];
        for (int b = 0; b < map.Blocks.Count; b++)
        {
            foreach (string id in map.Blocks[b].Patches)
            {
                blockOf[id] = b;
            }
        }

        return map.With(
            patches:
            [
                .. map.Patches.Select(p =>
                {
                    Point<ClothSpace> inside = PatchFinder.InteriorPoint(map, p);
                    int block = blockOf.GetValueOrDefault(p.Id, -1);
                    SettingPart part = block >= 0 ? SettingPart.Block : frame.PartAt(inside);
                    PatchValue? value = block >= 0 ? ValueAt(block, inside) : null;
                    return SettingPartField.Tell(p, part) with { Color = wishes.ColorOf?.Invoke(part, value) };
                }),
            ]
        );

        PatchValue? ValueAt(int block, Point<ClothSpace> inside)
        {
            SettingPlace place = places[block];
            if (wishes.ColorOf is null || place.Draft is not { } draft || draft.Values.Count == 0)
            {
                return null;
            }

            (double x, double y) = frame.InDraft(map.Blocks[block], place, inside);
            int k = Enumerable
                .Range(0, draft.Patches.Count)
                .FirstOrDefault(i => Holds(draft.SidesOf(i, new(0, 0), Length.FromInches(1)), new(x, y)), -1);
            return k < 0 ? null : draft.Values[k];
        }
    }

    private static bool Holds(IReadOnlyList<Edge<ClothSpace>> ring, Point<ClothSpace> p)
    {
        Point<ClothSpace>[] flat = [.. ring.SelectMany(e => e.Flatten(1e-4).SkipLast(1))];
        bool inside = false;
        for (int i = 0; i < flat.Length; i++)
        {
            (Point<ClothSpace> a, Point<ClothSpace> b) = (flat[i], flat[(i + 1) % flat.Length]);
            if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
            {
                inside = !inside;
            }
        }

        return inside;
    }

    private static void AddBorders(List<SeamLine> lines, SettingWishes wishes, Box<ClothSpace> inner)
    {
        Box<ClothSpace> box = inner;
        foreach (BorderBand band in wishes.Borders)
        {
            Box<ClothSpace> outer = new(
                box.Left - band.Left.Inches,
                box.Top - band.Top.Inches,
                box.Right + band.Right.Inches,
                box.Bottom + band.Bottom.Inches
            );
            Add(box.Left, box.Top, box.Right, box.Top);
            Add(box.Right, box.Top, box.Right, box.Bottom);
            Add(box.Left, box.Bottom, box.Right, box.Bottom);
            Add(box.Left, box.Top, box.Left, box.Bottom);
            foreach (
                (double x, double y, double farX, double farY) in new[]
                {
                    (box.Left, box.Top, outer.Left, outer.Top),
                    (box.Right, box.Top, outer.Right, outer.Top),
                    (box.Right, box.Bottom, outer.Right, outer.Bottom),
                    (box.Left, box.Bottom, outer.Left, outer.Bottom),
                }
            )
            {
                // A corner is one only where both its strips are there.
                if (x == farX || y == farY)
                {
                    continue;
                }

                if (wishes.BorderCorners == BorderCorners.Mitred)
                {
                    Add(x, y, farX, farY);
                    continue;
                }

                Add(x, y, farX, y);
                if (wishes.BorderCorners == BorderCorners.Squares)
                {
                    Add(x, y, x, farY);
                }
            }

            box = outer;
        }

        void Add(double x0, double y0, double x1, double y1) => lines.Add(new(new(new(x0, y0), new(x1, y1))));
    }

    private static void Check(SettingWishes wishes)
    {
        ArgumentNullException.ThrowIfNull(wishes.PlaceAt);
        if (!(wishes.Block.Inches >= 0.5 && wishes.Block.Inches <= 200))
        {
            throw new InputException(
                "A block's side must be from 1/2 to 200 in",
                "--size",
                "Give its finished size, for example 12."
            );
        }

        long whole = (long)wishes.Columns * wishes.Rows;
        if (wishes.Columns < 1 || wishes.Rows < 1 || whole > BlockDrafting.MostBlocks)
        {
            throw new InputException(
                "The repeat must be from 1x1 to 2,500 blocks in all",
                "--repeat",
                "Give columns x rows, for example 3x2."
            );
        }

        if (wishes.Sash.Inches != 0 && !(wishes.Sash.Inches >= 0.125 && wishes.Sash.Inches <= 100))
        {
            throw new InputException(
                "The sashing must be from 1/8 to 100 in wide, or 0 for none",
                "--sash",
                "Give its finished width, for example 2."
            );
        }

        if (
            wishes.Borders.Count > MostBorders
            || wishes
                .Borders.SelectMany(b => new[] { b.Top, b.Right, b.Bottom, b.Left })
                .Any(w => w.Inches != 0 && !(w.Inches >= 0.125 && w.Inches <= 100))
        )
        {
            throw new InputException(
                "Borders must be from 1/8 to 100 in wide, at most twelve of them",
                "--border",
                "Give finished widths from the inside out, for example 2,4."
            );
        }
    }
}
