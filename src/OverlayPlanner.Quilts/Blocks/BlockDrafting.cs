using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Blocks;

/// <summary>Drafts library blocks to size as quilt maps.</summary>
public static class BlockDrafting
{
    /// <summary>Most blocks that one draft may hold.</summary>
    public const int MostBlocks = 2_500;

    /// <summary>
    /// A map of equal blocks in rows and columns, with sashing strips and cornerstones between them where asked.
    /// </summary>
    /// <param name="draft">The block.</param>
    /// <param name="size">Finished side of a block, 1/2 to 200 in.</param>
    /// <param name="columns">Blocks across, at least 1.</param>
    /// <param name="rows">Blocks down, at least 1.</param>
    /// <param name="sash">Finished width of the strips between blocks, 1/8 to 100 in; zero for none.</param>
    /// <param name="colorOf">
    /// Colour as <c>#rrggbb</c> for each value, written to the patches of blocks whose draft knows its values; null leaves
    /// all patches without a colour.
    /// </param>
    /// <exception cref="InputException">A number is out of its range.</exception>
    public static QuiltMap Draft(
        BlockDraft draft,
        Length size,
        int columns,
        int rows,
        Length sash,
        Func<PatchValue, string>? colorOf = null
    )
    {
        ArgumentNullException.ThrowIfNull(draft);
        if (!(size.Inches >= 0.5 && size.Inches <= 200))
        {
            throw new InputException(
                "A block's side must be from 1/2 to 200 in",
                "--size",
                "Give its finished size, for example 12."
            );
        }

        if (columns < 1 || rows < 1 || (long)columns * rows > MostBlocks)
        {
            throw new InputException(
                "The repeat must be from 1x1 to 2,500 blocks in all",
                "--repeat",
                "Give columns x rows, for example 3x2."
            );
        }

        if (sash.Inches != 0 && !(sash.Inches >= 0.125 && sash.Inches <= 100))
        {
            throw new InputException(
                "The sashing must be from 1/8 to 100 in wide, or 0 for none",
                "--sash",
                "Give its finished width, for example 2."
            );
        }

        double side = size.Inches;
        double pitch = side + sash.Inches;
        double width = columns * pitch - sash.Inches;
        double height = rows * pitch - sash.Inches;
        List<SeamLine> lines = [];
        List<Block> blocks = [];
        for (int row = 0; row < rows; row++)
        {
            for (int column = 0; column < columns; column++)
            {
                (double x, double y) = (column * pitch, row * pitch);
                for (int patch = 0; patch < draft.Patches.Count; patch++)
                {
                    lines.AddRange(draft.SidesOf(patch, new(x, y), size).Select(s => new SeamLine(s)));
                }

                blocks.Add(
                    new(
                        "b" + (blocks.Count + 1).ToString(CultureInfo.InvariantCulture),
                        [new(x, y), new(x + side, y), new(x + side, y + side), new(x, y + side)]
                    )
                    {
                        Row = row,
                        Column = column,
                        Pattern = draft.Id,
                    }
                );
            }
        }

        if (sash.Inches > 0)
        {
            AddSashing(lines, side, sash.Inches, columns, rows);
        }

        QuiltMap map = MapBuilder.Build(
            Length.FromInches(width),
            Length.FromInches(height),
            lines,
            blocks,
            Length.FromInches(Math.Min(1e-4, side * 1e-5))
        );
        return colorOf is null || draft.Values.Count == 0 ? map : Colored(map, draft, size, colorOf);
    }

    // A drafted patch and its face in the map share every point inside, so one inner point of the face finds the patch.
    private static QuiltMap Colored(QuiltMap map, BlockDraft draft, Length side, Func<PatchValue, string> colorOf)
    {
        Point<ClothSpace>[][] rings =
        [
            .. draft.Patches.Select(
                (_, k) =>
                    draft
                        .SidesOf(k, new(0, 0), side)
                        .SelectMany(s => s.Flatten(1e-4 * side.Inches).SkipLast(1))
                        .ToArray()
            ),
        ];
        Dictionary<string, string> color = [];
        foreach (Block block in map.Blocks)
        {
            Point<ClothSpace> corner = block.Corners[0];
            foreach (string id in block.Patches)
            {
                Point<ClothSpace> inside = PatchFinder.InteriorPoint(map, map.PatchOf(id));
                Point<ClothSpace> local = new(inside.X - corner.X, inside.Y - corner.Y);
                int patch = Array.FindIndex(rings, r => Holds(r, local));
                if (patch >= 0)
                {
                    color[id] = colorOf(draft.Values[patch]);
                }
            }
        }

        return map.With(patches: [.. map.Patches.Select(p => p with { Color = color.GetValueOrDefault(p.Id) })]);
    }

    private static bool Holds(Point<ClothSpace>[] ring, Point<ClothSpace> p)
    {
        bool inside = false;
        for (int i = 0; i < ring.Length; i++)
        {
            (Point<ClothSpace> a, Point<ClothSpace> b) = (ring[i], ring[(i + 1) % ring.Length]);
            if (a.Y > p.Y != b.Y > p.Y && p.X < (b.X - a.X) * (p.Y - a.Y) / (b.Y - a.Y) + a.X)
            {
                inside = !inside;
            }
        }

        return inside;
    }

    // The sides of the blocks, led on across the strips, cut them into sashes and cornerstones.
    private static void AddSashing(List<SeamLine> lines, double side, double sash, int columns, int rows)
    {
        double pitch = side + sash;
        double width = columns * pitch - sash;
        double height = rows * pitch - sash;
        for (int c = 0; c < columns; c++)
        {
            foreach (double x in new[] { c * pitch, c * pitch + side }.Where(x => x > 0 && x < width))
            {
                for (int r = 0; r + 1 < rows; r++)
                {
                    lines.Add(new(new(new(x, r * pitch + side), new(x, (r + 1) * pitch))));
                }
            }
        }

        for (int r = 0; r < rows; r++)
        {
            foreach (double y in new[] { r * pitch, r * pitch + side }.Where(y => y > 0 && y < height))
            {
                for (int c = 0; c + 1 < columns; c++)
                {
                    lines.Add(new(new(new(c * pitch + side, y), new((c + 1) * pitch, y))));
                }
            }
        }
    }
}
