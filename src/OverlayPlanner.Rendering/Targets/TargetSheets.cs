using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Targets;

/// <summary>Pages of cards to cut apart, the lens board, and the drawing of where cards are laid. All vector.</summary>
/// <remarks>
/// A target's ink is one path, so that no viewer leaves hairlines between its parts. Each page of cards has two long rulers,
/// 7 in across and 9 in down, with lines to write their measured lengths on: the printer's scale on both axes.
/// </remarks>
public static class TargetSheets
{
    private const double Inch = Length.PointsPerInch;

    // White that a card keeps round its ink, and the strip under it for its number.
    private const double Rim = 0.125 * Inch;
    private const double LabelStrip = 0.4 * Inch;
    private const double RulerAcross = 7;
    private const double RulerDown = 9;

    // From the paper's edges: printers leave up to a quarter of an inch white.
    private const double Margin = 0.4 * Inch;
    private const double Head = 0.92 * Inch;
    private const double Side = 0.36 * Inch;

    /// <summary>Pages of cards, as many to a page as go on it.</summary>
    /// <param name="cards">The cards, in order.</param>
    /// <param name="paper">Letter or A4, upright.</param>
    /// <param name="title">Heads every page.</param>
    /// <exception cref="InputException">A card or the rulers do not go on the paper.</exception>
    public static RenderedFile Cards(
        IReadOnlyList<TargetArt> cards,
        PaperSize paper,
        string title,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(cards);
        ArgumentNullException.ThrowIfNull(paper);
        (double cellWidth, double cellHeight) = CellOf(cards[0]);
        double left = Margin + Side;
        double top = Margin + Head;
        double roomAcross = paper.Width.Points - left - Margin + Rim;
        double roomDown = paper.Height.Points - top - 0.25 * Inch;
        int across = (int)Math.Floor(roomAcross / cellWidth + 1e-6);
        int down = (int)Math.Floor(roomDown / cellHeight + 1e-6);
        bool rulers = paper.Width.Inches >= RulerAcross + 1 && paper.Height.Inches >= RulerDown + 1.5;
        if (across < 1 || down < 1 || !rulers)
        {
            throw new InputException($"The cards do not go on {paper.Name} paper", "--paper", "Use letter or a4.");
        }

        List<Drawing.Drawing> pages = [];
        int pageCount = (cards.Count + across * down - 1) / (across * down);
        for (int p = 0; p < pageCount; p++)
        {
            Drawing.Drawing page = new(paper.Width.Points, paper.Height.Points);
            string heading =
                pageCount > 1
                    ? string.Create(CultureInfo.InvariantCulture, $"{title}, page {p + 1} of {pageCount}")
                    : title;
            AddHead(page, heading);
            for (int k = 0; k < across * down && p * across * down + k < cards.Count; k++)
            {
                Point<PageSpace> corner = new(left + k % across * cellWidth, top + k / across * cellHeight);
                AddCard(page, cards[p * across * down + k], corner);
            }

            pages.Add(page);
        }

        return new(PdfFormat.Write(pages, title, ct), []);
    }

    /// <summary>The lens board on one page, lying.</summary>
    /// <exception cref="InputException">It does not go on the paper.</exception>
    public static RenderedFile Board(TargetArt board, PaperSize paper, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(board);
        ArgumentNullException.ThrowIfNull(paper);
        PaperSize lying = paper.Width > paper.Height ? paper : paper.Turned;
        if (lying.Width < board.Width + Length.FromInches(0.5) || lying.Height < board.Height + Length.FromInches(0.5))
        {
            throw new InputException(
                $"The lens board does not go on {paper.Name} paper",
                "--paper",
                "Use letter or a4."
            );
        }

        Drawing.Drawing page = new(lying.Width.Points, lying.Height.Points);
        Point<PageSpace> middle = new(page.Width / 2, page.Height / 2 - 0.08 * Inch);
        AddInk(page, board, middle);
        double baseline = middle.Y + board.Height.Points / 2 + 20;
        page.Add(
            Typesetting.SetCentered(
                Layer.Words,
                new(page.Width / 2, baseline),
                "Lens board. Print at 100 %, actual size; glue it to something flat and stiff. Photograph it 10 to 15 times, tilted each way, in every corner of the frame.",
                8.5,
                Weight.Regular,
                Palette.Ink
            )
        );
        page.Add(
            Typesetting.SetCentered(
                Layer.Words,
                new(page.Width / 2, baseline + 12),
                "A square is 1 in. Ten squares across measured ________ in.",
                8.5,
                Weight.Regular,
                Palette.Ink
            )
        );
        return new(PdfFormat.Write([page], "Lens board", ct), []);
    }

    /// <summary>A drawing of an area and of where the cards lie on it, to fit one page.</summary>
    public static RenderedFile Layout(
        Length width,
        Length height,
        IReadOnlyList<LaidCard> cards,
        PaperSize paper,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(cards);
        ArgumentNullException.ThrowIfNull(paper);
        PaperSize sheet = width > height ? paper.Turned : paper;
        Drawing.Drawing page = new(sheet.Width.Points, sheet.Height.Points);
        double left = Math.Min(0, cards.Min(c => c.X - c.Width.Inches));
        double top = Math.Min(0, cards.Min(c => c.Y - c.Height.Inches));
        double right = Math.Max(width.Inches, cards.Max(c => c.X + c.Width.Inches));
        double bottom = Math.Max(height.Inches, cards.Max(c => c.Y + c.Height.Inches));
        double room = 0.6 * Inch;
        double scale = Math.Min(
            (page.Width - 2 * room) / (right - left),
            (page.Height - 2 * room - 1.3 * Inch) / (bottom - top)
        );
        double x0 = (page.Width - scale * (right - left)) / 2 - scale * left;
        double y0 = room + 1.1 * Inch - scale * top;
        page.Add(
            Typesetting.Set(Layer.Words, new(room, room + 14), "Where to lay the cards", 18, Weight.Bold, Palette.Ink)
        );
        string size = $"{width.ToSixteenths()} × {height.ToSixteenths()} in";
        string[] lines =
        [
            $"For {size}. Flat, numbers upright or not, a few inches either way; never over a point where seams meet.",
            "Then measure by tape from middle to middle of the two cards farthest apart, and write it on the command: --tape "
                + string.Create(CultureInfo.InvariantCulture, $"{cards[0].Number}:{Farthest(cards).Number}=________"),
        ];
        for (int i = 0; i < lines.Length; i++)
        {
            page.Add(
                Typesetting.Set(Layer.Words, new(room, room + 34 + 15 * i), lines[i], 10.5, Weight.Regular, Palette.Ink)
            );
        }

        page.Add(
            new Stroke(
                Layer.Seams,
                Outline(x0, y0, x0 + scale * width.Inches, y0 + scale * height.Inches),
                Palette.Ink,
                1.2
            )
        );
        foreach (LaidCard card in cards)
        {
            // Never smaller than its number.
            double w = Math.Max(15, scale * card.Width.Inches);
            double h = Math.Max(15, scale * card.Height.Inches);
            double x = x0 + scale * card.X;
            double y = y0 + scale * card.Y;
            page.Add(new Fill(Layer.Ground, Outline(x - w / 2, y - h / 2, x + w / 2, y + h / 2), Palette.White));
            page.Add(new Stroke(Layer.Route, Outline(x - w / 2, y - h / 2, x + w / 2, y + h / 2), Palette.Chalk, 1.6));
            page.Add(
                Typesetting.SetCentered(
                    Layer.Numbers,
                    new(x, y + 4),
                    card.Number.ToString(CultureInfo.InvariantCulture),
                    11,
                    Weight.Bold,
                    Palette.Ink
                )
            );
        }

        page.Add(
            Typesetting.SetCentered(
                Layer.Words,
                new(page.Width / 2, y0 + scale * bottom + 22),
                size,
                10.5,
                Weight.Bold,
                Palette.Ink
            )
        );
        return new(PdfFormat.Write([page], "Where to lay the cards", ct), []);
    }

    private static LaidCard Farthest(IReadOnlyList<LaidCard> cards) =>
        cards.MaxBy(c => (c.X - cards[0].X) * (c.X - cards[0].X) + (c.Y - cards[0].Y) * (c.Y - cards[0].Y))!;

    private static (double Width, double Height) CellOf(TargetArt card)
    {
        double w = (card.Turned ? card.Height : card.Width).Points + 2 * Rim;
        double h = (card.Turned ? card.Width : card.Height).Points + 2 * Rim;
        return card.Turned ? (w + LabelStrip, h) : (w, h + LabelStrip);
    }

    private static void AddHead(Drawing.Drawing page, string heading)
    {
        double x = Margin + Side + 2;
        page.Add(Typesetting.Set(Layer.Words, new(x, Margin + 8), heading, 12, Weight.Bold, Palette.Ink));
        page.Add(
            Typesetting.Set(
                Layer.Words,
                new(x, Margin + 21),
                "Print at 100 %, actual size, never “fit”. Measure both long rulers with a steel ruler, end to end:",
                8.5,
                Weight.Regular,
                Palette.Ink
            )
        );
        page.Add(
            Typesetting.Set(
                Layer.Words,
                new(x, Margin + 33),
                "across, drawn 7 in: ____________ in        down, drawn 9 in: ____________ in        (--printed across x down)",
                8.5,
                Weight.Regular,
                Palette.Ink
            )
        );
        AddRuler(page, new(x, Margin + 43), RulerAcross, down: false);
        AddRuler(page, new(Margin, Margin + Head), RulerDown, down: true);
    }

    /// <summary>A ruler of so many inches, a tick each eighth; its ends are the outer edges of the first and the last tick's middle.</summary>
    private static void AddRuler(Drawing.Drawing page, Point<PageSpace> at, double inches, bool down)
    {
        Vector<PageSpace> along = down ? new(0, Inch) : new(Inch, 0);
        Vector<PageSpace> aside = down ? new(1, 0) : new(0, 1);
        List<Edge<PageSpace>> ticks = [new(at, at + along * inches)];
        for (int eighth = 0; eighth <= inches * 8; eighth++)
        {
            double length =
                eighth == 0 || eighth == (int)(inches * 8) ? 13
                : eighth % 8 == 0 ? 9
                : eighth % 4 == 0 ? 6.5
                : eighth % 2 == 0 ? 5
                : 3.5;
            Point<PageSpace> p = at + along * (eighth / 8.0);
            ticks.Add(new(p, p + aside * length));
            if (eighth % 8 == 0 && eighth > 0 && eighth < inches * 8)
            {
                string number = (eighth / 8).ToString(CultureInfo.InvariantCulture);
                Point<PageSpace> label = down ? new(p.X + 11, p.Y + 2.6) : new(p.X + 2, p.Y + 13.5);
                page.Add(Typesetting.Set(Layer.Words, label, number, 7, Weight.Regular, Palette.Ink));
            }
        }

        page.Add(new Stroke(Layer.Rulers, ticks, Palette.Black, 0.4) { RoundEnds = false });
    }

    private static void AddCard(Drawing.Drawing page, TargetArt card, Point<PageSpace> corner)
    {
        (double width, double height) = CellOf(card);
        page.Add(
            new Stroke(
                Layer.Ground,
                Outline(corner.X, corner.Y, corner.X + width, corner.Y + height),
                Palette.Seam,
                0.5,
                [3, 3]
            )
        );
        double w = (card.Turned ? card.Height : card.Width).Points;
        double h = (card.Turned ? card.Width : card.Height).Points;
        double shift = card.Turned ? LabelStrip : 0;
        Point<PageSpace> middle = new(corner.X + Rim + shift + w / 2, corner.Y + Rim + h / 2);
        AddInk(page, card, middle);
        AddMiddleTicks(page, middle, w, h);
        string number = card.Number?.ToString(CultureInfo.InvariantCulture) ?? "";
        if (card.Turned)
        {
            // Reads along the strip, whose top is the page's right.
            AddTurned(page, new(corner.X + 0.13 * Inch, corner.Y + Rim), number, 17, Weight.Bold);
            AddTurned(
                page,
                new(corner.X + 0.17 * Inch, corner.Y + Rim + Typesetting.Measure(number, 17, Weight.Bold) + 10),
                card.Label + ", measured ____________ in from black to black; tape to its middle",
                8.5,
                Weight.Regular
            );
            return;
        }

        double y = corner.Y + height - 0.14 * Inch;
        double x = corner.X + Rim;
        page.Add(Typesetting.Set(Layer.Words, new(x, y), number, 17, Weight.Bold, Palette.Ink));
        x += Typesetting.Measure(number, 17, Weight.Bold) + 7;
        double room = corner.X + width - 3 - x;
        string[] texts =
        [
            card.Label + ", measured ______ × ______ in; tape to its middle",
            card.Label + ", ____ × ____ in; tape to its middle",
            card.Label + ", ____ × ____ in",
        ];
        string text = texts.FirstOrDefault(t => Typesetting.Measure(t, 7.5, Weight.Regular) <= room) ?? card.Label;
        page.Add(Typesetting.Set(Layer.Words, new(x, y), text, 7.5, Weight.Regular, Palette.Ink));
    }

    // Downward: a quarter clockwise is three quarters anticlockwise.
    private static void AddTurned(Drawing.Drawing page, Point<PageSpace> at, string text, double size, Weight weight) =>
        page.Add(new Words(Layer.Words, at, text, size, weight, Palette.Ink, Quarters: 3));

    private static void AddInk(Drawing.Drawing page, TargetArt art, Point<PageSpace> middle)
    {
        List<Edge<PageSpace>> path = [];
        foreach ((double left, double top, double width, double height) in art.Ink)
        {
            Point<PageSpace> a = At(left, top);
            Point<PageSpace> b = At(left + width, top + height);
            path.AddRange(Outline(Math.Min(a.X, b.X), Math.Min(a.Y, b.Y), Math.Max(a.X, b.X), Math.Max(a.Y, b.Y)));
        }

        page.Add(new Fill(Layer.Seams, path, Palette.Black));

        // Turned a quarter clockwise: right becomes down, down becomes left.
        Point<PageSpace> At(double x, double y) =>
            art.Turned ? new(middle.X - y * Inch, middle.Y + x * Inch) : new(middle.X + x * Inch, middle.Y + y * Inch);
    }

    // Small wedges in the white rim that point at the card's middle, for the tape.
    private static void AddMiddleTicks(Drawing.Drawing page, Point<PageSpace> middle, double w, double h)
    {
        List<Edge<PageSpace>> path = [];
        foreach ((double dx, double dy) in new[] { (0.0, -1.0), (1, 0), (0, 1), (-1, 0) })
        {
            Point<PageSpace> tip = new(middle.X + dx * (w / 2 + 2), middle.Y + dy * (h / 2 + 2));
            Vector<PageSpace> back = new(dx * 5.5, dy * 5.5);
            Vector<PageSpace> aside = new(dy * 2.6, -dx * 2.6);
            path.Add(new(tip, tip + back + aside));
            path.Add(new(tip + back + aside, tip + back - aside));
            path.Add(new(tip + back - aside, tip));
        }

        page.Add(new Fill(Layer.Rulers, path, Palette.Black));
    }

    private static Edge<PageSpace>[] Outline(double left, double top, double right, double bottom) =>
        [
            new(new(left, top), new(right, top)),
            new(new(right, top), new(right, bottom)),
            new(new(right, bottom), new(left, bottom)),
            new(new(left, bottom), new(left, top)),
        ];
}
