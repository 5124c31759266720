using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows.Showing;

/// <summary>What a part of a map is, in a few words, for a screen and for who hears it.</summary>
public static class PartWords
{
    /// <summary>True where the map has the part.</summary>
    public static bool Has(QuiltMap map, QuiltPart part)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(part);
        return part.Kind switch
        {
            QuiltPartKind.Seam => map.FindSeam(part.Id) is not null,
            QuiltPartKind.Point => map.Junctions.Any(j => j.Id == part.Id),
            QuiltPartKind.Patch => map.Patches.Any(p => p.Id == part.Id),
            _ => map.FindBlock(part.Id) is not null,
        };
    }

    /// <summary>What it is, how long where it has a length, and where it lies.</summary>
    /// <exception cref="KeyNotFoundException">The map does not have it.</exception>
    public static string Say(QuiltMap map, QuiltPart part, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(part);
        ArgumentNullException.ThrowIfNull(words);
        switch (part.Kind)
        {
            case QuiltPartKind.Seam:
                Seam seam = map.SeamOf(part.Id);
                Edge<ClothSpace> edge = map.EdgeOf(seam);
                string doubt = seam.Confidence < ClothDrawing.Sure ? ", doubtful" : "";
                string kind = edge.IsLine ? "Seam" : "Curved seam";
                return $"{kind}{doubt}: {words.Say(Length.FromInches(edge.Length))} long, its middle {SayPlace(edge.PointAt(0.5), words)}";
            case QuiltPartKind.Point:
                Junction point = map.JunctionOf(part.Id);
                int meet = map.Seams.Count(s => s.From == part.Id || s.To == part.Id);
                return $"Point where {meet.ToString(CultureInfo.InvariantCulture)} seam{(meet == 1 ? " ends" : "s meet")}, {SayPlace(point.Place, words)}";
            case QuiltPartKind.Patch:
                Patch patch = map.PatchOf(part.Id);
                return $"Patch with {patch.Seams.Count.ToString(CultureInfo.InvariantCulture)} seams round it, {SayPlace(PatchFinder.InteriorPoint(map, patch), words)}";
            default:
                Block block = map.FindBlock(part.Id) ?? throw new KeyNotFoundException(part.Id);
                return block is { Row: { } row, Column: { } column }
                    ? FormattableString.Invariant($"Block in row {row + 1}, column {column + 1}")
                    : $"Block {block.Id}";
        }
    }

    /// <summary>A place: how far across and how far down from the map's top left.</summary>
    public static string SayPlace(Point<ClothSpace> at, LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(words);
        return $"{words.Say(Length.FromInches(at.X))} across and {words.Say(Length.FromInches(at.Y))} down";
    }
}
