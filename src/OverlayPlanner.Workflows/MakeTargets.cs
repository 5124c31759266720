using System.Globalization;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Targets;

namespace OverlayPlanner.Workflows;

/// <summary>What to print.</summary>
public sealed record TargetWishes
{
    /// <summary>Letter or A4.</summary>
    public PaperSize Paper { get; init; } = PaperSize.Letter;

    /// <summary>The folder for the files.</summary>
    public required string Folder { get; init; }

    /// <summary>Width of a top or loaded band for which a drawing of where to lay the cards is wanted; null for none.</summary>
    public Length? FitWidth { get; init; }

    /// <summary>Its height.</summary>
    public Length? FitHeight { get; init; }
}

/// <summary>Writes the printable cards of each size, the strips, the lens board, and where wanted the layout drawing.</summary>
public static class MakeTargets
{
    // Along a side no more than this from card to card (no source: four cards round 76 × 46 in were measured to be enough).
    private const double MostApart = 40;
    private const double LeastFit = 6;
    private const double MostFit = 130;

    /// <summary>Draws and writes.</summary>
    /// <returns>The files: cards-2in.pdf, cards-3in.pdf, cards-4in.pdf, card-strips.pdf, lens-board.pdf and card-layout.pdf.</returns>
    /// <exception cref="InputException">The paper does not take the cards, the size can't be, or a target can't be written.</exception>
    public static Written Run(TargetWishes wishes, OutputFiles files, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(wishes);
        ArgumentNullException.ThrowIfNull(files);
        List<Finding> findings = [];
        (string Name, CardKind Kind, string Title)[] decks =
        [
            ("cards-3in.pdf", CardKind.ThreeInch, "Cards, 3 in"),
            ("cards-2in.pdf", CardKind.TwoInch, "Cards, 2 in"),
            ("cards-4in.pdf", CardKind.FourInch, "Cards, 4 in"),
            ("card-strips.pdf", CardKind.Strip, "Strips for the batting margin"),
        ];
        foreach ((string name, CardKind kind, string title) in decks)
        {
            Add(name, TargetSheets.Cards([.. TargetCard.All(kind).Select(ArtOf)], wishes.Paper, title, cancellation));
        }

        TargetArt board = new(
            null,
            "Lens board",
            LensBoard.Square * LensBoard.Across,
            LensBoard.Square * LensBoard.Down,
            [.. LensBoard.Ink.Select(b => (b.Left, b.Top, b.Width, b.Height))]
        );
        Add("lens-board.pdf", TargetSheets.Board(board, wishes.Paper, cancellation));
        if (wishes.FitWidth is { } width && wishes.FitHeight is { } height)
        {
            Add("card-layout.pdf", TargetSheets.Layout(width, height, Lay(width, height), wishes.Paper, cancellation));
        }

        files.Commit(cancellation);
        return new(files.Paths, findings);

        void Add(string name, RenderedFile drawn)
        {
            findings.AddRange(drawn.Findings);
            files.Add(Path.Combine(wishes.Folder, name), drawn.Bytes);
        }
    }

    /// <summary>
    /// Where 3 in cards go round an area: in the margin beside it, at its corners and no more than 40 in apart along its longer
    /// sides; no card lies on the area itself, so none covers a seam.
    /// </summary>
    /// <exception cref="InputException">The size can't be.</exception>
    public static IReadOnlyList<LaidCard> Lay(Length width, Length height)
    {
        foreach (Length side in new[] { width, height })
        {
            if (!(side.Inches >= LeastFit && side.Inches <= MostFit))
            {
                throw new InputException(
                    string.Create(CultureInfo.InvariantCulture, $"Cards can't be laid round {side.Inches:0.###} in"),
                    "--fit",
                    "Give the top or the loaded band that one or a few photos are to show, width x height, 6 to 130 in each, for example 90x18."
                );
            }
        }

        IReadOnlyList<TargetCard> deck = TargetCard.All(CardKind.ThreeInch);
        Length side3 = deck[0].Side;
        double off = side3.Inches / 2 + 0.5;
        bool wide = width >= height;
        double longer = Math.Max(width.Inches, height.Inches);
        double shorter = Math.Min(width.Inches, height.Inches);
        int along = Math.Min(deck.Count / 2, 1 + (int)Math.Ceiling((longer - 4) / MostApart));
        List<LaidCard> cards = [];
        foreach (double across in new[] { -off, shorter + off })
        {
            for (int i = 0; i < along; i++)
            {
                double at = 2 + (longer - 4) * i / Math.Max(1, along - 1);
                cards.Add(new(deck[cards.Count].Number, wide ? at : across, wide ? across : at, side3, side3));
            }
        }

        return cards;
    }

    private static TargetArt ArtOf(TargetCard card)
    {
        bool strip = card.Kind == CardKind.Strip;
        return new(
            card.Number,
            strip ? "Strip of 2 in patterns" : card.Side.ToSixteenths() + " in card",
            strip ? TargetCard.StripSpan + card.Side : card.Side,
            card.Side,
            [.. card.Ink.Select(b => (b.Left, b.Top, b.Width, b.Height))]
        )
        {
            Turned = strip,
        };
    }
}
