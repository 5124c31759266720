using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>The blocks of a grown map: the known ones, and those that the photograph shows beyond them, with rows and columns.</summary>
internal sealed class GrownBlocks(QuiltMap known, QuiltMap seen, LaidPlaces laid)
{
    /// <summary>All of them; their patches are found later.</summary>
    /// <param name="moved">The known map as the cloth lies now.</param>
    /// <param name="home">What takes it to the new origin.</param>
    public Block[] Of(QuiltMap moved, Vector<ClothSpace> home)
    {
        List<Block> blocks =
        [
            .. moved.Blocks.Select(b => b with { Corners = [.. b.Corners.Select(c => c + home)], Patches = [] }),
        ];
        Block? anchor = null;
        Block? same = null;
        List<Block> added = [];
        foreach (Block b in seen.Blocks)
        {
            Point<ClothSpace> middle = laid.Now(b.Corners[0].Toward(b.Corners[2], 0.5)) + home;
            if (blocks.Find(o => o.Corners[0].Toward(o.Corners[2], 0.5).DistanceTo(middle) < 2) is { } there)
            {
                (anchor, same) = b.Row is not null && there.Row is not null ? (b, there) : (anchor, same);
                continue;
            }

            if (laid.IsBeyond(b.Corners[0]) || laid.IsBeyond(b.Corners[2]))
            {
                added.Add(b);
            }
        }

        int last = Math.Max(
            LastBlock(),
            known
                .Blocks.Select(b =>
                    b.Id.Length > 1
                    && int.TryParse(b.Id.AsSpan(1), NumberStyles.None, CultureInfo.InvariantCulture, out int n)
                        ? n
                        : 0
                )
                .DefaultIfEmpty(0)
                .Max()
        );
        foreach (Block b in added)
        {
            // Where no whole block is in both, the nearest known one tells by its distance.
            (int? row, int? column) = anchor is null
                ? ByDistance(b)
                : (b.Row - anchor.Row + same?.Row, b.Column - anchor.Column + same?.Column);
            last++;
            blocks.Add(
                b with
                {
                    Id = string.Create(CultureInfo.InvariantCulture, $"b{last}"),
                    Corners = [.. b.Corners.Select(c => laid.CornerOfSeen(c) + home)],
                    Row = row,
                    Column = column,
                    Patches = [],
                }
            );
        }

        int up = Math.Min(blocks.Min(b => b.Row) ?? 0, 0);
        int leftward = Math.Min(blocks.Min(b => b.Column) ?? 0, 0);
        return [.. blocks.Select(b => b with { Row = b.Row - up, Column = b.Column - leftward })];
    }

    // Row and column of a new block of a straight setting; null on point, where rows lie half a diagonal apart.
    private (int? Row, int? Column) ByDistance(Block added)
    {
        Point<ClothSpace> middle = laid.Now(added.Corners[0].Toward(added.Corners[2], 0.5));
        Block? near = known
            .Blocks.Where(k => k.Row is not null && k.Column is not null)
            .MinBy(k => laid.MiddleNow(k).DistanceTo(middle));
        if (near is null)
        {
            return (null, null);
        }

        Vector<ClothSpace> across = laid.CornerNow(near.Corners[1]) - laid.CornerNow(near.Corners[0]);
        Vector<ClothSpace> down = laid.CornerNow(near.Corners[3]) - laid.CornerNow(near.Corners[0]);
        if (Math.Abs(across.Y) > across.Norm / 4)
        {
            return (null, null);
        }

        Vector<ClothSpace> by = middle - laid.MiddleNow(near);
        return (
            near.Row + (int)Math.Round(by.Dot(down) / down.Dot(down)),
            near.Column + (int)Math.Round(by.Dot(across) / across.Dot(across))
        );
    }

    private int LastBlock() =>
        known.Unknown.Values.TryGetValue("lastIds", out JsonElement last)
        && last.ValueKind == JsonValueKind.Object
        && last.TryGetProperty("b", out JsonElement b)
        && b.TryGetInt32(out int n)
            ? n
            : 0;
}
