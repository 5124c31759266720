using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Workflows.Keeping;

namespace OverlayPlanner.Workflows.Printing;

/// <summary>One page of a preview.</summary>
/// <param name="Number">From 1, as the pages of the PDF follow one another.</param>
/// <param name="Title">What it shows.</param>
/// <param name="Row">From 1 at the top.</param>
/// <param name="Column">From 1 at the left.</param>
/// <param name="Alone">True where what it shows goes on one sheet.</param>
/// <param name="Width">Of the paper as it is used.</param>
/// <param name="Height">Of the paper as it is used.</param>
public sealed record PreviewPage(
    int Number,
    string Title,
    int Row,
    int Column,
    bool Alone,
    Length Width,
    Length Height
);

/// <summary>
/// The trace sheets before they are made: how many, where each belongs, and each as a picture of the very page that is printed.
/// </summary>
/// <remarks>Pictures are drawn one at a time, whoever asks.</remarks>
public sealed class SheetPreview
{
    private readonly SheetPictures pictures;
    private readonly Lock turn = new();

    private SheetPreview(SheetPictures pictures, string paper)
    {
        this.pictures = pictures;
        Paper = paper;
        Pages =
        [
            .. pictures.Pages.Select(p => new PreviewPage(
                p.Number,
                p.Title,
                p.Row,
                p.Column,
                p.Rows * p.Columns == 1,
                p.Width,
                p.Height
            )),
        ];
    }

    /// <summary>What the paper is called.</summary>
    public string Paper { get; }

    /// <summary>All pages, in the order of the PDF.</summary>
    public IReadOnlyList<PreviewPage> Pages { get; }

    /// <summary>Points where seams meet that a cut goes through; where none can be spared, they are few.</summary>
    public int CutPoints => pictures.Pages.SelectMany(p => p.CutPoints).Distinct(StringComparer.Ordinal).Count();

    /// <summary>What is to be printed, in a sentence: <c>4 sheets of letter; the cut goes through no point.</c></summary>
    public string Summary
    {
        get
        {
            string sheets =
                Pages.Count == 1
                    ? $"One sheet of {Paper}"
                    : string.Create(CultureInfo.InvariantCulture, $"{Pages.Count} sheets of {Paper}");
            string cuts =
                Pages.All(p => p.Alone) ? "nothing to cut and join"
                : CutPoints == 0 ? "the cut goes through no point"
                : CutPoints == 1 ? "a cut goes through 1 point, which no place for it spares"
                : string.Create(
                    CultureInfo.InvariantCulture,
                    $"a cut goes through {CutPoints} points, which no place for it spares"
                );
            return $"{sheets}; {cuts}.";
        }
    }

    /// <summary>Plans the pages of a quilt's choice.</summary>
    /// <param name="choice">Its name, or null for the recommended one.</param>
    /// <exception cref="InputException">Nothing is planned yet, there is no such choice, or the paper can't be used.</exception>
    public static SheetPreview Of(KeptQuilt quilt, string? choice, SheetWords words)
    {
        ArgumentNullException.ThrowIfNull(words);
        Route route =
            QuiltSteps.RouteOf(quilt)
            ?? throw new InputException("No path is planned yet", "the choices", "Plan the choices first.");
        SheetWishes wishes = words.ToWishes();
        return new(
            new SheetPictures(route, route.CandidateOf(choice), wishes),
            wishes.Paper.Name is "A4" or "A3" || char.IsAsciiDigit(wishes.Paper.Name[0])
                ? wishes.Paper.Name
                : wishes.Paper.Name.ToLowerInvariant()
        );
    }

    /// <summary>One page as a PNG.</summary>
    /// <param name="number">From 1.</param>
    /// <param name="widthPixels">Pixels across, 64 to 2400.</param>
    /// <exception cref="InputException">There is no such page.</exception>
    public byte[] Picture(int number, int widthPixels)
    {
        lock (turn)
        {
            return pictures.Render(number, widthPixels);
        }
    }
}
