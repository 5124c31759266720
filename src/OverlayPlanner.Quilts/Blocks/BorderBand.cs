using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Blocks;

/// <summary>One border round a top: the finished width on each side, zero where that side has none.</summary>
/// <param name="Top">Zero, or 1/8 to 100 in.</param>
/// <param name="Right">Zero, or 1/8 to 100 in.</param>
/// <param name="Bottom">Zero, or 1/8 to 100 in.</param>
/// <param name="Left">Zero, or 1/8 to 100 in.</param>
public readonly record struct BorderBand(Length Top, Length Right, Length Bottom, Length Left)
{
    /// <summary>The same width all round.</summary>
    public static BorderBand Equal(Length width) => new(width, width, width, width);
}

/// <summary>How the strips of a border meet at its corners.</summary>
public enum BorderCorners
{
    /// <summary>The strips of the sides end at those of top and bottom, which run over the whole width.</summary>
    Butted,

    /// <summary>A seam from the inner to the outer corner.</summary>
    Mitred,

    /// <summary>A piece of its own in each corner.</summary>
    Squares,
}
