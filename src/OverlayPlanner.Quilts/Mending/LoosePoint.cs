using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>A junction of a map that is being mended.</summary>
internal sealed class LoosePoint(Junction? source, Point<ClothSpace> place, Length sigma)
{
    /// <summary>The junction that it was; null for a new one.</summary>
    public Junction? Source { get; } = source;

    public Point<ClothSpace> Place { get; set; } = place;

    public Length Sigma { get; set; } = sigma;

    /// <summary>The seams that end here.</summary>
    public List<LooseSeam> Seams { get; } = new(4);

    public bool IsGone { get; set; }

    /// <summary>True where a seam of the outline ends here.</summary>
    public bool IsOnOutline => Seams.Exists(s => s.Template.Role == SeamRole.Edge);

    public string Name => Source?.Id ?? "the new point";
}
