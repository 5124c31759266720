using OverlayPlanner.Geometry;

namespace OverlayPlanner.Rendering.Sheets;

/// <summary>How the paper is turned.</summary>
public enum PaperTurn
{
    /// <summary>Whichever way needs fewer sheets; upright where both need the same.</summary>
    Fewest,

    /// <summary>As the paper's size is given.</summary>
    AsGiven,

    /// <summary>A quarter turn from there.</summary>
    Turned,
}

/// <summary>How trace sheets are wanted.</summary>
public sealed record SheetWishes
{
    /// <summary>The paper; Letter by default.</summary>
    public PaperSize Paper { get; init; } = PaperSize.Letter;

    /// <summary>How it is turned.</summary>
    public PaperTurn Turn { get; init; } = PaperTurn.Fewest;

    /// <summary>What the sheets are called, or null: then the block's or the map's own name.</summary>
    public string? Title { get; init; }
}

/// <summary>One sheet: a known rectangle of cloth on a page.</summary>
/// <param name="Row">From 0 at the top.</param>
/// <param name="Column">From 0 at the left.</param>
/// <param name="Cloth">The rectangle of cloth that it shows, inches.</param>
/// <param name="PageFromCloth">Where a place on the cloth lies on the page: 72 points to the inch, no turn.</param>
public sealed record Sheet(int Row, int Column, Box<ClothSpace> Cloth, Similarity<PageSpace, ClothSpace> PageFromCloth);

/// <summary>How a route is split over sheets.</summary>
/// <param name="Paper">The paper, turned as it is used.</param>
/// <param name="Rows">Sheets down.</param>
/// <param name="Columns">Sheets across.</param>
/// <param name="Covered">What the candidate covers, inches.</param>
/// <param name="Sheets">Row by row.</param>
public sealed record SheetPlan(
    PaperSize Paper,
    int Rows,
    int Columns,
    Box<ClothSpace> Covered,
    IReadOnlyList<Sheet> Sheets
);
