using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Workroom;

/// <summary>What a block is called on a screen.</summary>
internal static class BlockWords
{
    public static string NameOf(string? pattern)
    {
        if (pattern is null)
        {
            return "block of no known name";
        }

        try
        {
            return BlockLibrary.Find(pattern).Name;
        }
        catch (InputException)
        {
            // A pattern that the user taught has only its own word.
            return pattern;
        }
    }

    public static string PlaceOf(Block block) =>
        block is { Row: { } row, Column: { } column }
            ? string.Create(
                System.Globalization.CultureInfo.InvariantCulture,
                $"row {row + 1}, column {column + 1}: {NameOf(block.Pattern)}"
            )
            : $"{block.Id}: {NameOf(block.Pattern)}";
}
