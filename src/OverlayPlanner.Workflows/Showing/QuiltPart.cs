namespace OverlayPlanner.Workflows.Showing;

/// <summary>The kinds of things on a map that can be touched.</summary>
public enum QuiltPartKind
{
    /// <summary>A seam.</summary>
    Seam,

    /// <summary>A point where seams meet.</summary>
    Point,

    /// <summary>A patch.</summary>
    Patch,

    /// <summary>A block.</summary>
    Block,
}

/// <summary>One thing on a map.</summary>
/// <param name="Kind">What it is.</param>
/// <param name="Id">Its id in the map.</param>
public sealed record QuiltPart(QuiltPartKind Kind, string Id);
