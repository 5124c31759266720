using System.Text.Json;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>
/// A block's shape on the cloth now, beside the mapped one, as the map's file keeps it on the block:
/// <c>"onCloth": { "corners": [[x,y],…], "sides": [top,right,bottom,left], "diagonals": [a,b] }</c>, the measures only where the
/// tape gave them.
/// </summary>
internal static class OnClothField
{
    public const string Name = "onCloth";

    public static Block Keep(Block block, IReadOnlyList<Point<ClothSpace>> corners, BlockMeasures? measures)
    {
        Dictionary<string, object> kept = new() { ["corners"] = Places(corners) };
        if (measures is not null)
        {
            kept["sides"] = measures.Sides.Select(l => l.Inches).ToArray();
            kept["diagonals"] = measures.Diagonals.Select(l => l.Inches).ToArray();
        }

        return block with
        {
            Unknown = block.Unknown.With(Name, JsonSerializer.SerializeToElement(kept)),
        };
    }

    /// <summary>The block without it, with its mapped corners kept instead where <paramref name="mapped"/> is given.</summary>
    public static Block Forget(Block block, IReadOnlyList<Point<ClothSpace>>? mapped = null)
    {
        UnknownFields fields = block.Unknown.Without(Name);
        return block with
        {
            Unknown = mapped is null
                ? fields
                : fields.With("mapped", JsonSerializer.SerializeToElement(Places(mapped))),
        };
    }

    /// <summary>What is kept: measures or corners; null where nothing is.</summary>
    /// <exception cref="InputException">The field is broken.</exception>
    public static (BlockMeasures? Measures, IReadOnlyList<Point<ClothSpace>>? Corners)? Read(Block block)
    {
        if (!block.Unknown.Values.TryGetValue(Name, out JsonElement e))
        {
            return null;
        }

        try
        {
            if (
                e.TryGetProperty("sides", out JsonElement sides)
                && e.TryGetProperty("diagonals", out JsonElement across)
            )
            {
                return (new(Lengths(sides), Lengths(across)), null);
            }

            return (
                null,
                [
                    .. e.GetProperty("corners")
                        .EnumerateArray()
                        .Select(c => new Point<ClothSpace>(c[0].GetDouble(), c[1].GetDouble())),
                ]
            );
        }
        catch (Exception broken)
            when (broken
                    is InvalidOperationException
                        or KeyNotFoundException
                        or FormatException
                        or IndexOutOfRangeException
            )
        {
            throw new InputException(
                "The kept shape on the cloth can't be read",
                $"block {block.Id}, {Name}",
                "Give the measures again: --sides and --diagonals, or --corners.",
                broken
            );
        }
    }

    private static Length[] Lengths(JsonElement list) =>
        [.. list.EnumerateArray().Select(v => Length.FromInches(v.GetDouble()))];

    private static double[][] Places(IEnumerable<Point<ClothSpace>> points) =>
        [.. points.Select(p => new[] { p.X, p.Y })];
}
