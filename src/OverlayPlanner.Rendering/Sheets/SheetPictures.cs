using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Sheets;

/// <summary>One trace sheet, said without drawing it.</summary>
/// <param name="Number">From 1, as the pages of the PDF follow one another.</param>
/// <param name="Title">What it shows: the top's or a block's name.</param>
/// <param name="Row">From 1 at the top of what it belongs to.</param>
/// <param name="Column">From 1 at the left.</param>
/// <param name="Rows">Sheets down, of what it belongs to.</param>
/// <param name="Columns">Sheets across.</param>
/// <param name="Width">Of the paper as it is used.</param>
/// <param name="Height">Of the paper as it is used.</param>
/// <param name="CutPoints">Ids of points that lie on an edge where this sheet is cut to be laid over its neighbour.</param>
public sealed record SheetPlace(
    int Number,
    string Title,
    int Row,
    int Column,
    int Rows,
    int Columns,
    Length Width,
    Length Height,
    IReadOnlyList<string> CutPoints
);

/// <summary>The trace sheets as pictures: the same drawing that <see cref="TraceSheets.Render"/> writes as PDF, page by page.</summary>
/// <remarks>A page is drawn when it is asked for, and kept no longer; the plan of all pages is made once. One thread at a time.</remarks>
public sealed class SheetPictures
{
    // A cut nearer to a point than half the width of a drawn line goes through it.
    private const double OnTheCut = 1.0 / 64;
    private readonly IReadOnlyList<PlannedSheet> sheets;

    /// <summary>Least and most pixels across a picture.</summary>
    public static readonly (int Least, int Most) Widths = (64, 2_400);

    /// <summary>Plans the pages.</summary>
    /// <exception cref="InputException">As for <see cref="TraceSheets.Render"/>.</exception>
    public SheetPictures(Route route, RouteCandidate candidate, SheetWishes wishes)
    {
        (sheets, _) = TraceSheets.Prepare(route, candidate, wishes);
        Pages = [.. sheets.Select(PlaceOf)];
    }

    /// <summary>All pages, in the order of the PDF.</summary>
    public IReadOnlyList<SheetPlace> Pages { get; }

    /// <summary>One page as a PNG on white paper.</summary>
    /// <param name="number">Of the page, from 1.</param>
    /// <param name="widthPx">Pixels across, within <see cref="Widths"/>; the height follows from the paper.</param>
    /// <exception cref="InputException">There is no such page, or the width is out of range.</exception>
    public byte[] Render(int number, int widthPx)
    {
        if (number < 1 || number > sheets.Count)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"There is no sheet {number}"),
                "the sheets",
                string.Create(CultureInfo.InvariantCulture, $"Choose from 1 to {sheets.Count}.")
            );
        }

        if (widthPx < Widths.Least || widthPx > Widths.Most)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"A picture can't be {widthPx} pixels wide"),
                "width",
                string.Create(CultureInfo.InvariantCulture, $"Choose from {Widths.Least} to {Widths.Most}.")
            );
        }

        Drawing.Drawing page = sheets[number - 1].Draw().Page;
        return PngFormat.Write(page, widthPx / page.Width, Palette.White);
    }

    private SheetPlace PlaceOf(PlannedSheet planned, int index)
    {
        (Sheet sheet, SheetPlan plan) = (planned.Sheet, planned.Plan);
        IEnumerable<string> cut = planned
            .Quilt.Junctions.Where(j =>
                plan.Covered.Grown(1e-6).Holds(j.Place)
                && sheet.Cloth.Grown(1e-6).Holds(j.Place)
                && (
                    (sheet.Column > 0 && Math.Abs(j.Place.X - sheet.Cloth.Left) < OnTheCut)
                    || (sheet.Row > 0 && Math.Abs(j.Place.Y - sheet.Cloth.Top) < OnTheCut)
                )
            )
            .Select(j => j.Id);
        return new(
            index + 1,
            planned.Title,
            sheet.Row + 1,
            sheet.Column + 1,
            plan.Rows,
            plan.Columns,
            plan.Paper.Width,
            plan.Paper.Height,
            [.. cut]
        );
    }
}
