using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>What pages call a route's block or map, and its size.</summary>
internal static class RouteNames
{
    /// <summary>The block's name, or what part of the top the candidate covers.</summary>
    public static string TitleOf(QuiltMap quilt, RouteCandidate candidate)
    {
        string[] ids = [.. candidate.AllMoves.Select(m => m.Block).OfType<string>().Distinct(StringComparer.Ordinal)];
        if (ids.Length == 1 && quilt.FindBlock(ids[0]) is { } block)
        {
            string name = BlockName(block);
            return quilt.Blocks.Count > 1 ? $"{name}, {block.Id}" : name;
        }

        if (ids.Length > 1)
        {
            string[] patterns =
            [
                .. ids.Select(id => quilt.FindBlock(id)?.Pattern ?? "").Distinct(StringComparer.Ordinal),
            ];
            string what =
                patterns is [var one] && BlockLibrary.All.FirstOrDefault(b => b.Id == one) is { } draft
                    ? $"{draft.Name}, "
                    : "";
            return string.Create(CultureInfo.InvariantCulture, $"{what}{ids.Length} blocks");
        }

        return "Quilt top";
    }

    /// <summary>The library's name for a block, or its id.</summary>
    public static string BlockName(Block block) =>
        BlockLibrary.All.FirstOrDefault(b => b.Id == block.Pattern)?.Name ?? $"Block {block.Id}";

    /// <summary>Width × height to the sixteenth.</summary>
    public static string SizeOf(Box<ClothSpace> covered) =>
        $"{Length.FromInches(covered.Width).ToSixteenths()} × {Length.FromInches(covered.Height).ToSixteenths()} in";
}
