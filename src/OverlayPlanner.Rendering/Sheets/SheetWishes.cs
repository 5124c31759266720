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

/// <summary>What a sheet is used for; it changes the ink and says what to mind.</summary>
public enum SheetUse
{
    /// <summary>To lay on the cloth or trace from.</summary>
    Trace,

    /// <summary>Light grey, under the top on a light table, before it is loaded.</summary>
    LightTable,

    /// <summary>Under clear film that is drawn on with a pen.</summary>
    Film,

    /// <summary>On paper that is stitched through and torn away.</summary>
    TearAway,
}

/// <summary>What a set of sheets shows.</summary>
public enum SheetScope
{
    /// <summary>All that the candidate covers, in one piece.</summary>
    Top,

    /// <summary>Each block by itself.</summary>
    Blocks,

    /// <summary>
    /// Each kind of block once, as the one of median size, and what it fits within 1/16 in; what it does not fit, by itself.
    /// </summary>
    Kinds,
}

/// <summary>What a printer makes of a length: printed over true, across and down the page.</summary>
/// <remarks>
/// From a first print: what a stretch of the page's rulers measures on paper over what its numbers say. Read to 1/32 in, 6 in
/// of ruler give it to half a percent; the 1 in square only to three.
/// </remarks>
public sealed record PrinterScale
{
    /// <summary>A printer that is farther off is not scaled but set wrongly.</summary>
    public static readonly (double Least, double Most) Range = (0.8, 1.25);

    /// <summary>Checks both factors.</summary>
    /// <exception cref="InputException">One lies outside <see cref="Range"/>.</exception>
    public PrinterScale(double across, double down)
    {
        foreach (double s in new[] { across, down })
        {
            if (!(s >= Range.Least && s <= Range.Most))
            {
                throw new InputException(
                    string.Create(
                        System.Globalization.CultureInfo.InvariantCulture,
                        $"A printer that makes 1 in {s:0.###} in can't be corrected"
                    ),
                    "--measured",
                    "Print at 100 %, actual size, and measure again; give what the marks measured, across x down."
                );
            }
        }

        (Across, Down) = (across, down);
    }

    /// <summary>Across the page.</summary>
    public double Across { get; }

    /// <summary>Down the page.</summary>
    public double Down { get; }

    /// <summary>From what marks measured and what they say.</summary>
    /// <exception cref="InputException">As for the constructor.</exception>
    public static PrinterScale FromMeasured(
        (Length Across, Length Down) measured,
        (Length Across, Length Down) marked
    ) => new(measured.Across / marked.Across, measured.Down / marked.Down);
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

    /// <summary>What is shown.</summary>
    public SheetScope Scope { get; init; }

    /// <summary>What the sheets are used for.</summary>
    public SheetUse Use { get; init; }

    /// <summary>Which side of the quilt is up.</summary>
    public LoadedUp Up { get; init; }

    /// <summary>Mirrored left to right, for tracing from the back. Words and numbers stay readable.</summary>
    public bool Mirror { get; init; }

    /// <summary>The route as dots this far apart, for pricking and pouncing; a line where null. 1/32 to 1 in.</summary>
    public Length? Dots { get; init; }

    /// <summary>What the printer does, to be taken out again; null where that is unknown.</summary>
    public PrinterScale? Printer { get; init; }
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
