using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Fonts;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Cards;

/// <summary>
/// The card that stands beside the machine: a picture with numbered steps, the steps as a list, what was proven and why.
/// </summary>
/// <remarks>One page for each block where its steps fit; a route over several blocks begins with a page of the whole.</remarks>
public static class StitchCard
{
    private const double Margin = 36;

    // Rows stand closer where that saves a page.
    private static readonly double[] RowHeights = [17, 15];
    private const double Body = 10.5;
    private const double SideWidth = 168;

    // 10 1/2 becomes 16 points: large print begins at 14 (common practice of libraries for the blind, from memory).
    private const double LargePrint = 1.53;
    private const double LeastFigure = 264;
    private const double KeyRow = 26;

    // A call of more verses is no help to the memory; one that takes more of the page leaves the picture too little.
    private const int MostVerses = 14;
    private const double MostCallShare = 0.16;

    private static readonly string[] Cautions =
    [
        "Stop the needle before your hands go near it, the thread or the ruler.",
        "Keep the hand on the ruler at least 1 in away from the foot’s path.",
        "Use a ruler at least 1/4 in thick with the ruler foot.",
        "Your machine’s manual and your local rules come first.",
    ];

    /// <summary>The card as a PDF.</summary>
    /// <returns>The PDF; the finding <c>steps-unnumbered</c> where numbers found no room.</returns>
    /// <exception cref="InputException">The paper is smaller than 7 × 7 in, or the route has no moves.</exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        CardWishes wishes,
        CancellationToken ct = default
    )
    {
        (IReadOnlyList<DrawnCard> cards, string title) = Draw(route, candidate, wishes, ct);
        string[] unplaced = [.. cards.SelectMany(c => c.Figure?.Unplaced ?? []).Distinct(StringComparer.Ordinal)];
        return new(
            PdfFormat.Write([.. cards.Select(c => c.Page)], title, ct),
            unplaced.Length > 0 ? [Unnumbered.Finding(unplaced, "stitch card")] : []
        );
    }

    /// <summary>The pages before they are written.</summary>
    internal static (IReadOnlyList<DrawnCard> Cards, string Title) Draw(
        Route route,
        RouteCandidate candidate,
        CardWishes wishes,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        ArgumentNullException.ThrowIfNull(wishes);
        if (Math.Min(wishes.Paper.Width.Inches, wishes.Paper.Height.Inches) < 7)
        {
            throw new InputException(
                $"{wishes.Paper.Name} paper is too small for a card that can be read beside the machine",
                "--paper",
                "Choose a paper of at least 7 x 7 in."
            );
        }

        TurnedRoute turned = TurnedRoute.Of(route, wishes.Up, mirror: false);
        route = turned.Route;
        candidate = turned.Turned(candidate);
        IReadOnlyList<StitchStep> steps = StitchStep.Of(route.Quilt, candidate);
        if (steps.Count == 0)
        {
            throw new InputException(
                "There is nothing to put on a card: the route has no moves",
                $"candidate {candidate.Name}",
                "Plan a route first, or choose another with --candidate."
            );
        }

        CardMaker maker = new(route, candidate, wishes, steps);
        return (maker.Make(ct), maker.Title);
    }

    private sealed class CardMaker(
        Route route,
        RouteCandidate candidate,
        CardWishes wishes,
        IReadOnlyList<StitchStep> steps
    )
    {
        private readonly List<DrawnCard> cards = [];
        private readonly double zoom = wishes.Print == CardPrint.Large ? LargePrint : 1;
        private readonly double width = wishes.Paper.Width.Points;
        private readonly double height = wishes.Paper.Height.Points;
        private double rowHeight = RowHeights[0];

        public string Title { get; } = wishes.Title ?? RouteNames.TitleOf(route.Quilt, candidate);

        public List<DrawnCard> Make(CancellationToken ct)
        {
            Box<ClothSpace> covered = FigureContent.CoveredBy(route.Quilt, candidate);
            (string? Block, StitchStep[] Steps)[] parts =
            [
                .. steps.GroupBy(s => s.Moves[0].Block, StringComparer.Ordinal).Select(g => (g.Key, g.ToArray())),
            ];
            string facts = string.Create(
                CultureInfo.InvariantCulture,
                $"{RouteNames.SizeOf(covered)}, route {candidate.Name}, {steps.Count} steps"
            );
            if (wishes.Up != LoadedUp.Top)
            {
                facts += $", {wishes.Up.ToString().ToLowerInvariant()} side up";
            }

            if (candidate.Design is { Length: > 0 } design)
            {
                facts += $": {design}";
            }

            if (parts.Length == 1)
            {
                AddCard(Title, facts, covered, null, parts[0].Steps, whole: true);
                return cards;
            }

            AddCard(Title, facts, covered, null, [.. steps], whole: true, list: false);
            foreach ((string? id, StitchStep[] part) in parts)
            {
                ct.ThrowIfCancellationRequested();
                Block? block = id is null ? null : route.Quilt.FindBlock(id);
                Box<ClothSpace> shown = Box<ClothSpace>.Around(part.SelectMany(s => new[] { s.From, s.To }));
                foreach (Move move in part.SelectMany(s => s.Moves))
                {
                    shown = shown.With(move.Path.Bounds());
                }

                if (block is not null)
                {
                    shown = shown.With(Box<ClothSpace>.Around(block.Corners));
                }

                string name = block is null ? "Between the blocks" : $"{RouteNames.BlockName(block)}, {block.Id}";
                string range = string.Create(
                    CultureInfo.InvariantCulture,
                    $"{RouteNames.SizeOf(shown)}, route {candidate.Name}, {Ranges(part)}"
                );
                HashSet<int> numbers = [.. part.Select(s => s.Number)];
                AddCard(name, range, shown, s => numbers.Contains(s.Number), part, whole: false);
            }

            return cards;
        }

        private void AddCard(
            string title,
            string facts,
            Box<ClothSpace> shown,
            Func<StitchStep, bool>? filter,
            StitchStep[] listed,
            bool whole,
            bool list = true
        )
        {
            Drawing.Drawing page = new(width, height);
            double right = width - Margin;
            double y = Margin + 18;
            Set(page, new(Margin, y), title, 24, Weight.Bold, Palette.Ink);
            y += 4;
            foreach (string line in Typesetting.Wrap(facts, Z(11), Weight.Regular, right - Margin))
            {
                y += Z(14);
                Set(page, new(Margin, y), line, Z(11), Weight.Regular, Palette.SoftInk);
            }

            y += 14;
            string[] call = whole ? CallLines(right - Margin) : [];
            bool callHere = call.Length > 0 && CallHeight(call) <= MostCallShare * height;
            if (callHere)
            {
                y = AddCall(page, call, y + 4);
            }

            // The list stands under the picture where all of it fits. Where it does not, the picture has a page to itself, as
            // large as it can be, and the rest goes on the next.
            double foot = height - Margin - Cautions.Length * Z(13) - Z(10);
            double sideEnd = AddSide(new(width, height), right - Z(SideWidth), y + 12, whole);
            double Wanted(double row) => Math.Ceiling((double)listed.Length / ListColumns) * Z(row) + Z(34);
            double fits = RowHeights.FirstOrDefault(row => foot - Wanted(row) >= Math.Max(sideEnd, y + LeastFigure));
            bool together = list && fits > 0;
            rowHeight = together ? fits : RowHeights[0];
            double wanted = Wanted(rowHeight);
            (PlacedFigure figure, double figureEnd) = PlaceFigure(
                shown,
                filter,
                together ? Beside() : Alone(),
                together
            );
            if (together && figure.Unplaced.Count > 0)
            {
                // Too small for its numbers: the picture gets the page to itself.
                together = false;
                rowHeight = RowHeights[0];
                (figure, figureEnd) = PlaceFigure(shown, filter, Alone(), beside: false);
            }

            page.Add(figure.Items);
            cards.Add(new(page, figure));
            AddCautions(page, foot);
            if (together)
            {
                AddSide(page, right - Z(SideWidth), y + 12, whole);
                AddList(page, listed, Math.Max(figureEnd, sideEnd + 12), foot - 4, title);
                if (!callHere && call.Length > 0)
                {
                    AddCall(NewPage(title), call, Margin + 40);
                }

                return;
            }

            AddKeyRow(page, foot - 10);
            if (!whole && !list)
            {
                return;
            }

            Drawing.Drawing next = NewPage(title);
            double top = Margin + 30;
            if (whole)
            {
                double half = (right - Margin) / 2;
                double left = AddMeasures(next, Margin, top + 14) + 4;
                left = AddParagraphs(next, Margin, left, "What was proven", TripWords.ProvenOf(candidate), half - 20);
                double other = AddParagraphs(
                    next,
                    Margin + half,
                    top + 14,
                    "Why",
                    [TripWords.WhyOf(candidate, route.Quilt)],
                    half - 10
                );
                top = Math.Max(left, other);
                top = !callHere && call.Length > 0 ? AddCall(next, call, top) : top;
            }

            if (list)
            {
                AddList(next, listed, top, height - Margin, title);
            }

            Box<PageSpace> Beside() => new(Margin, y, right - Z(SideWidth) - 14, foot - 8 - wanted);

            Box<PageSpace> Alone() => new(Margin, y, right, foot - Z(KeyRow));
        }

        // As large as the room allows; at its left where words stand beside it, else in its middle.
        private (PlacedFigure Figure, double End) PlaceFigure(
            Box<ClothSpace> shown,
            Func<StitchStep, bool>? filter,
            Box<PageSpace> room,
            bool beside
        )
        {
            const double Air = 24;
            double scale = Math.Min(
                (room.Width - 2 * Air) / Math.Max(shown.Width, 1e-6),
                (room.Height - 2 * Air) / Math.Max(shown.Height, 1e-6)
            );
            double shift = beside ? Air : (room.Width - shown.Width * scale) / 2;
            Similarity<PageSpace, ClothSpace> pageFromCloth = new(
                scale,
                0,
                room.Left + shift - shown.Left * scale,
                room.Top + Air - shown.Top * scale
            );
            PlacedFigure figure = RouteFigure.Place(
                FigureContent.Of(
                    route.Quilt,
                    candidate,
                    shown,
                    e => [pageFromCloth.Apply(e)],
                    FigureContent.BacktrackOffset,
                    filter
                ),
                FigureStyle.Paper with
                {
                    NumberSizes = [Z(13), Z(11.5), Z(10), Z(9.2)],
                    WordSize = Z(10),
                    Repeat = 600,
                },
                room,
                room
            );
            return (figure, room.Top + shown.Height * scale + 2 * Air);
        }

        private Drawing.Drawing NewPage(string title)
        {
            Drawing.Drawing page = new(width, height);
            cards.Add(new(page, null));
            Set(page, new(Margin, Margin + 14), title, 18, Weight.Bold, Palette.Ink);
            return page;
        }

        // The call's lines at this width; none where it is too long to keep in mind.
        private string[] CallLines(double room)
        {
            if (candidate.Call is not { } call || call.Verses.Count > MostVerses)
            {
                return [];
            }

            return
            [
                .. call
                    .Verses.Select((v, i) => string.Create(CultureInfo.InvariantCulture, $"{i + 1}. {v}"))
                    .Append(call.RuleInWords)
                    .SelectMany(v => Typesetting.Wrap(v, Z(Body), Weight.Regular, room)),
            ];
        }

        private double CallHeight(string[] lines) => Z(16) + Z(13) * lines.Length + 8;

        private double AddCall(Drawing.Drawing page, string[] lines, double y)
        {
            // The words for places and ways are those of the map as it was planned.
            string heading = wishes.Up == LoadedUp.Top ? "In short" : "In short, as seen with the top side up";
            Set(page, new(Margin, y + Z(10)), heading, Z(12), Weight.Bold, Palette.Ink);
            double at = y + Z(26);
            foreach (string line in lines)
            {
                Set(page, new(Margin, at), line, Z(Body), Weight.Regular, Palette.Ink);
                at += Z(13);
            }

            return y + CallHeight(lines);
        }

        private int ListColumns => Math.Max(1, (int)((width - 2 * Margin) / Z(250)));

        private double AddSide(Drawing.Drawing page, double left, double top, bool whole)
        {
            double y = top;
            if (whole)
            {
                y = AddMeasures(page, left, y) + 10;
                y = AddParagraphs(page, left, y, "What was proven", TripWords.ProvenOf(candidate), Z(SideWidth));
                y = AddParagraphs(page, left, y, "Why", [TripWords.WhyOf(candidate, route.Quilt)], Z(SideWidth));
            }

            return AddKey(page, left, y);
        }

        private double AddMeasures(Drawing.Drawing page, double left, double y)
        {
            RouteMeasures m = candidate.Measures;
            foreach (
                (string value, string what) in new[]
                {
                    (m.Starts.ToString(CultureInfo.InvariantCulture), m.Starts == 1 ? "start" : "starts"),
                    (TripWords.Inches(m.Stitched), "to stitch"),
                    (m.Doubled.Inches < 1e-6 ? "no" : TripWords.Inches(m.Doubled), "backtracking"),
                    (
                        m.Crossings == 0 ? "no" : m.Crossings.ToString(CultureInfo.InvariantCulture),
                        m.Crossings == 1 ? "crossing" : "crossings"
                    ),
                }
            )
            {
                Set(page, new(left, y + Z(4)), value, Z(17), Weight.Bold, Palette.Ink);
                double gap = Typesetting.Measure(value, Z(17), Weight.Bold) + 6;
                Set(page, new(left + gap, y + Z(4)), what, Z(Body), Weight.Regular, Palette.SoftInk);
                y += Z(22);
            }

            return y;
        }

        private double AddParagraphs(
            Drawing.Drawing page,
            double left,
            double y,
            string heading,
            IReadOnlyList<string> paragraphs,
            double room
        )
        {
            Set(page, new(left, y), heading, Z(12), Weight.Bold, Palette.Ink);
            y += Z(16);
            foreach (string paragraph in paragraphs)
            {
                foreach (string line in Typesetting.Wrap(paragraph, Z(Body), Weight.Regular, room))
                {
                    Set(page, new(left, y), line, Z(Body), Weight.Regular, Palette.Ink);
                    y += Z(13);
                }

                y += 4;
            }

            return y + 10;
        }

        private double AddKey(Drawing.Drawing page, double left, double y)
        {
            Set(page, new(left, y), "Marks", Z(12), Weight.Bold, Palette.Ink);
            y += Z(18);
            double Text = Z(50) + 8;
            page.Add(Marks.Needle(new(left, y - 4), new(1, 0), 0.95, Palette.Ink, Palette.White));
            Set(page, new(left + Text, y), "start", Z(Body), Weight.Regular, Palette.Ink);
            y += Z(18);
            page.Add(Marks.Knot(new(left + 8, y - 4), new(1, 0), 1, Palette.Ink, Palette.White));
            Set(page, new(left + Text, y), "end", Z(Body), Weight.Regular, Palette.Ink);
            y += Z(18);
            if (steps.Any(s => s.IsBacktrack))
            {
                Point<PageSpace> a = new(left, y - 6);
                Point<PageSpace> b = new(left + 42, y - 6);
                page.Add(new Stroke(Layer.Route, [new(a, b)], Palette.Ink, 1.4));
                page.Add(
                    new Stroke(
                        Layer.Route,
                        [new(new(a.X, a.Y + 4.5), new(b.X, b.Y + 4.5))],
                        Palette.Ink,
                        1.4,
                        FigureStyle.Paper.BacktrackDash
                    )
                );
                foreach (
                    string line in Typesetting.Wrap(
                        "dashed beside a line: back along that line",
                        Z(Body),
                        Weight.Regular,
                        Z(SideWidth) - Text
                    )
                )
                {
                    Set(page, new(left + Text, y), line, Z(Body), Weight.Regular, Palette.Ink);
                    y += Z(13);
                }

                y += 5;
            }

            page.Add(Marks.Ring(Layer.Numbers, new(left + 21, y - 3.5), 4.2, Palette.Ink, 0.8));
            Set(page, new(left + Text, y), "bulky point", Z(Body), Weight.Regular, Palette.Ink);
            return y + 8;
        }

        private void AddKeyRow(Drawing.Drawing page, double y)
        {
            double x = Margin;
            page.Add(Marks.Needle(new(x, y - 4), new(1, 0), 0.95, Palette.Ink, Palette.White));
            x = Word(x + 50, "start") + 22;
            page.Add(Marks.Knot(new(x, y - 4), new(1, 0), 1, Palette.Ink, Palette.White));
            x = Word(x + 30, "end") + 22;
            page.Add(Marks.Ring(Layer.Numbers, new(x + 4, y - 3.5), 4.2, Palette.Ink, 0.8));
            x = Word(x + 14, "bulky point") + 22;
            if (steps.Any(s => s.IsBacktrack))
            {
                Edge<PageSpace> line = new(new(x, y - 3.5), new(x + 34, y - 3.5));
                page.Add(new Stroke(Layer.Route, [line], Palette.Ink, 1.4, FigureStyle.Paper.BacktrackDash));
                Word(x + 40, "beside a line: back along it");
            }

            double Word(double left, string text)
            {
                Set(page, new(left, y), text, Z(Body), Weight.Regular, Palette.Ink);
                return left + Typesetting.Measure(text, Z(Body), Weight.Regular);
            }
        }

        private void AddCautions(Drawing.Drawing page, double foot)
        {
            page.Add(
                new Stroke(Layer.Words, [new(new(Margin, foot + 2), new(width - Margin, foot + 2))], Palette.Seam, 0.6)
            );
            double y = foot + Z(15);
            foreach (string caution in Cautions)
            {
                Set(page, new(Margin, y), caution, Z(10), Weight.Regular, Palette.Ink);
                y += Z(13);
            }
        }

        private void AddList(
            Drawing.Drawing first,
            StitchStep[] listed,
            double firstTop,
            double firstBottom,
            string title
        )
        {
            Drawing.Drawing page = first;
            (double top, double bottom) = (firstTop, firstBottom);
            int columns = ListColumns;
            double columnWidth = (width - 2 * Margin) / columns;
            int next = 0;
            while (true)
            {
                double rowsTop = top + Z(20);
                if (bottom - rowsTop < Z(rowHeight))
                {
                    page = NewPage(title);
                    (top, bottom) = (Margin + 24, height - Margin);
                    rowsTop = top + Z(20);
                }

                Set(page, new(Margin, top + Z(12)), "Steps", Z(12), Weight.Bold, Palette.Ink);
                int rows = Math.Max(1, (int)((bottom - rowsTop) / Z(rowHeight)));
                int here = Math.Min(listed.Length - next, rows * columns);
                rows = Math.Min(rows, (int)Math.Ceiling((double)here / columns));
                for (int i = 0; i < here; i++)
                {
                    AddRow(
                        page,
                        listed[next + i],
                        Margin + i / rows * columnWidth,
                        rowsTop + i % rows * Z(rowHeight),
                        columnWidth - 14
                    );
                }

                next += here;
                if (next >= listed.Length)
                {
                    return;
                }

                (top, bottom) = (0, 0);
            }
        }

        private void AddRow(Drawing.Drawing page, StitchStep step, double left, double top, double room)
        {
            double baseline = top + Z(12);
            string number = step.Number.ToString(CultureInfo.InvariantCulture);
            Set(
                page,
                new(left + Z(20) - Typesetting.Measure(number, Z(12), Weight.Bold), baseline),
                number,
                Z(12),
                Weight.Bold,
                Palette.Ink
            );
            AddPicture(page, step, new(left + Z(34), baseline - Z(4)));
            Edge<ClothSpace> way = step.Moves[0].Path;
            string what =
                TripWords.RulerOf(step) is { } ruler ? $"{TripWords.KindOf(step)}, {ruler}"
                : step.Moves.Count == 1 && !way.IsLine
                    ? $"{TripWords.KindOf(step)}, radius {TripWords.Inches(Length.FromInches(way.Radius))}"
                : $"{TripWords.KindOf(step)}, {TripWords.DirectionOf(step)}";
            if (step.FirstMove == 0 && step.Number > 1)
            {
                what = $"New start: {char.ToLowerInvariant(what[0])}{what[1..]}";
            }

            if (step.RulerSide is { } side)
            {
                what += side == Side.Left ? ", ruler left" : ", ruler right";
            }

            string length = TripWords.Inches(step.Length);
            double lengthWidth = Typesetting.Measure(length, Z(Body), Weight.Bold);
            double size = Z(Body);
            while (size > Z(9) && Typesetting.Measure(what, size, Weight.Regular) > room - Z(52) - lengthWidth)
            {
                size -= 0.5;
            }

            Set(page, new(left + Z(48), baseline), what, size, Weight.Regular, Palette.Ink);
            Set(page, new(left + room - lengthWidth, baseline), length, Z(Body), Weight.Bold, Palette.Ink);
        }

        // The step in small: its shape and way, drawn to fit a 14 pt square.
        private void AddPicture(Drawing.Drawing page, StitchStep step, Point<PageSpace> middle)
        {
            Box<ClothSpace> box = step.Moves[0].Path.Bounds();
            foreach (Move move in step.Moves)
            {
                box = box.With(move.Path.Bounds());
            }

            double scale = Z(12) / Math.Max(Math.Max(box.Width, box.Height), 1e-9);
            Similarity<PageSpace, ClothSpace> map = new(
                scale,
                0,
                middle.X - box.Center.X * scale,
                middle.Y - box.Center.Y * scale
            );
            Edge<PageSpace>[] path = [.. step.Moves.Select(m => map.Apply(m.Path))];
            page.Add(new Stroke(Layer.Words, path, Palette.Ink, 1.1, step.IsBacktrack ? [2.2, 1.8] : null));
            Edge<PageSpace> last = path[^1];
            page.Add(Marks.Arrowhead(Layer.Words, last.To - last.EndDirection * 2, last.EndDirection, 6, Palette.Ink));
        }

        private static string Ranges(StitchStep[] part)
        {
            List<string> ranges = [];
            for (int i = 0; i < part.Length; )
            {
                int j = i;
                while (j + 1 < part.Length && part[j + 1].Number == part[j].Number + 1)
                {
                    j++;
                }

                ranges.Add(
                    j == i
                        ? part[i].Number.ToString(CultureInfo.InvariantCulture)
                        : string.Create(CultureInfo.InvariantCulture, $"{part[i].Number} to {part[j].Number}")
                );
                i = j + 1;
            }

            return (part.Length == 1 ? "step " : "steps ") + string.Join(", ", ranges);
        }

        // Everything but title and picture grows in large print.
        private double Z(double points) => points * zoom;

        private static void Set(
            Drawing.Drawing page,
            Point<PageSpace> at,
            string text,
            double size,
            Weight weight,
            Ink ink
        ) => page.Add(Typesetting.Set(Layer.Words, at, text, size, weight, ink));
    }
}

/// <summary>One page of a card as it was drawn.</summary>
/// <param name="Figure">Its picture, or null on a page that goes on with the list.</param>
internal sealed record DrawnCard(Drawing.Drawing Page, PlacedFigure? Figure);
