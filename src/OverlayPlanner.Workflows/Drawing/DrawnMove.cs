using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>One move of a path that is drawn by hand: from a point to a point, along a seam or on a line of its own.</summary>
/// <param name="From">Id of the point where it begins.</param>
/// <param name="To">Id of the point where it ends.</param>
/// <param name="Seam">Id of the seam that it follows, or null for a line of its own.</param>
/// <param name="Path">The line in the direction of travel, inches on the cloth.</param>
public sealed record DrawnMove(string From, string To, string? Seam, Edge<ClothSpace> Path)
{
    /// <summary>True where a new thread begins with it.</summary>
    public bool Starts { get; init; }

    // The same line whichever way it is stitched; two lines of one's own between the same points bow to different sides.
    internal string Line =>
        Seam
        ?? (
            string.CompareOrdinal(From, To) < 0 ? $"{From} {To} {Side(Path.Bulge)}" : $"{To} {From} {Side(-Path.Bulge)}"
        );

    private static char Side(double bulge) =>
        bulge > 0 ? 'l'
        : bulge < 0 ? 'r'
        : 's';
}

/// <summary>How a tap reaches the next point.</summary>
public enum TapWay
{
    /// <summary>Along the seams between, the shortest way.</summary>
    Seams,

    /// <summary>On a straight line of its own.</summary>
    Straight,

    /// <summary>On an arc of its own that bows to the left of travel.</summary>
    ArcLeft,

    /// <summary>On an arc of its own that bows to the right of travel.</summary>
    ArcRight,
}
