using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Practice;

/// <summary>
/// Pages to learn a path from: a sheet for the pencil, a pack for a class, a strip for the wall. Black and dark grey alone, so
/// that a photocopier keeps all of it; none is of true size, and each says so.
/// </summary>
public static class PracticePages
{
    private const double Margin = 36;
    private const double Air = 26;
    private const double Body = 10.5;
    private static readonly double[] Dashes = [4, 3];
    private static readonly double[] Dots = [0.1, 5];

    /// <summary>The pages as a PDF.</summary>
    /// <returns>The PDF; the finding <c>steps-unnumbered</c> where numbers found no room.</returns>
    /// <exception cref="InputException">
    /// The paper is smaller than 7 × 7 in, there is no such block, or nothing is stitched in it.
    /// </exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        PracticeWishes wishes,
        CancellationToken ct = default
    )
    {
        (IReadOnlyList<DrawnPractice> pages, string title) = Draw(route, candidate, wishes, ct);
        string[] unplaced =
        [
            .. pages.SelectMany(p => p.Figures).SelectMany(f => f.Unplaced).Distinct(StringComparer.Ordinal),
        ];
        return new(
            PdfFormat.Write([.. pages.Select(p => p.Page)], title, ct),
            unplaced.Length > 0 ? [Unnumbered.Finding(unplaced, "practice pages")] : []
        );
    }

    /// <summary>The pages before they are written.</summary>
    internal static (IReadOnlyList<DrawnPractice> Pages, string Title) Draw(
        Route route,
        RouteCandidate candidate,
        PracticeWishes wishes,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        ArgumentNullException.ThrowIfNull(wishes);
        if (Math.Min(wishes.Paper.Width.Inches, wishes.Paper.Height.Inches) < 7)
        {
            throw new InputException(
                $"{wishes.Paper.Name} paper is too small to practise on",
                "--paper",
                "Choose a paper of at least 7 x 7 in."
            );
        }

        BlockFigure block = BlockFigure.Of(route, candidate, wishes.Block);
        Maker maker = new(block, wishes);
        switch (wishes.Kind)
        {
            case PracticeKind.Strip:
                maker.AddStrip(ct);
                break;
            case PracticeKind.ClassPack:
                maker.AddSheet();
                ct.ThrowIfCancellationRequested();
                maker.AddLevels();
                ct.ThrowIfCancellationRequested();
                maker.AddAnswers(AnswersOf(route, block));
                maker.AddSandwich();
                break;
            default:
                maker.AddSheet();
                break;
        }

        return (maker.Pages, $"{block.Name}: practice");
    }

    // Other choices count as answers where they stitch something in the same block.
    private static List<(RouteCandidate Choice, BlockFigure Figure)> AnswersOf(Route route, BlockFigure block) =>
        [
            .. route
                .Candidates.Select(c => (Choice: c, Figure: BlockFigure.Find(route, c, block.Block)))
                .Where(a => a.Figure is not null)
                .Select(a => (a.Choice, a.Figure!)),
        ];

    // Whether a page has a line for the name of who works on it.
    private enum Named
    {
        Nobody,
        ByHand,
    }

    private sealed class Maker(BlockFigure block, PracticeWishes wishes)
    {
        private readonly double width = wishes.Paper.Width.Points;
        private readonly double height = wishes.Paper.Height.Points;
        private readonly List<DrawnPractice> pages = [];

        public IReadOnlyList<DrawnPractice> Pages => pages;

        public void AddSheet()
        {
            (Drawing.Drawing page, double top) = NewPage(
                "Follow the path with a pencil from the needle to the knot. Each picture gives less; the last gives the seams alone.",
                "Not true size.",
                Named.ByHand
            );
            int n = block.Steps;
            int most = (int)Math.Ceiling(2 * n / 3.0);
            int least = (int)Math.Ceiling(n / 3.0);
            (string Words, Func<int, bool> Wanted, Given Given, double[]? Dash)[] fading =
            [
                ("All of it", _ => true, Given.AllStarts | Given.Ends, null),
                ("Draw over the dashes", _ => true, Given.AllStarts | Given.Ends, Dashes),
                ("The end is missing", i => i < most, Given.AllStarts, Dashes),
                ("The first part alone", i => i < least, Given.FirstStart, Dots),
                ("The start alone", _ => false, Given.FirstStart, null),
                ("By heart", _ => false, Given.Nothing, null),
            ];
            bool wide = width > height;
            (int columns, int rows) = wide ? (3, 2) : (2, 3);
            double across = (width - 2 * Margin) / columns;
            double down = (height - Margin - top) / rows;
            List<PlacedFigure> figures = [];
            for (int k = 0; k < fading.Length; k++)
            {
                int column = wishes.Hand == Side.Left ? columns - 1 - k % columns : k % columns;
                double left = Margin + column * across;
                double y = top + k / columns * down;
                string words = string.Create(CultureInfo.InvariantCulture, $"{k + 1}. {fading[k].Words}");
                Set(page, new(left, y + 12), words, 11.5, Weight.Bold);
                Box<PageSpace> room = new(left, y + 18, left + across - 10, y + down - 6);
                double scale = block.ScaleFor(room, Air);
                PlacedFigure figure = block.Draw(room, scale, fading[k].Wanted, fading[k].Given, fading[k].Dash);
                page.Add(figure.Items);
                figures.Add(figure);
            }

            pages.Add(new(page, figures));
        }

        public void AddLevels()
        {
            AddLarge(
                "Level 1: the start and the end are given. Find a path that stitches every line once.",
                _ => false,
                Given.AllStarts | Given.Ends
            );
            AddLarge(
                "Level 2: every third line is given, with its number and its way. Find the others.",
                i => i % 3 == 0,
                Given.AllStarts
            );
            AddLarge(
                "Level 3: nothing is given. Choose a start, add lines where you like, and draw without lifting the pencil.",
                _ => false,
                Given.Nothing
            );
        }

        public void AddAnswers(List<(RouteCandidate Choice, BlockFigure Figure)> answers)
        {
            (Drawing.Drawing page, double top) = NewPage(
                answers.Count == 1
                    ? "One of the right answers. A path of your own is as right when it misses nothing and doubles as little."
                    : $"Answers: {TripWords.Count(answers.Count)} of the right ones. A path of your own is as right when it misses nothing and doubles as little.",
                "Not true size."
            );
            int columns = answers.Count > 1 ? 2 : 1;
            int rows = Math.Max(1, (answers.Count + columns - 1) / columns);
            double across = (width - 2 * Margin) / columns;
            double down = Math.Min(across + 60, (height - Margin - top) / rows);
            List<PlacedFigure> figures = [];
            for (int k = 0; k < answers.Count; k++)
            {
                (RouteCandidate choice, BlockFigure figure) = answers[k];
                double left = Margin + k % columns * across;
                double y = top + k / columns * down;
                Set(page, new(left, y + 12), Facts(choice, figure), 11, Weight.Bold);
                Box<PageSpace> room = new(left, y + 18, left + across - 10, y + down - 6);
                PlacedFigure placed = figure.Draw(
                    room,
                    figure.ScaleFor(room, Air),
                    _ => true,
                    Given.AllStarts | Given.Ends
                );
                page.Add(placed.Items);
                figures.Add(placed);
            }

            pages.Add(new(page, figures));
        }

        // A backing 4 in larger on each side and a batting 6 in larger in all (handbook 3.1: 4 on each side; commonly 6 to 8 in
        // all); a seam allowance of 1/4 in (handbook 2).
        public void AddSandwich()
        {
            (Drawing.Drawing page, double y) = NewPage(
                "A sandwich to try the path on, by needle instead of pencil.",
                "Check these against how your own machine is loaded: its manual comes first."
            );
            Length w = Length.FromInches(Math.Round(block.Shown.Width * 8) / 8);
            Length h = Length.FromInches(Math.Round(block.Shown.Height * 8) / 8);
            y += 10;
            foreach (
                (string what, double more, string why) in new[]
                {
                    ("Finished block", 0.0, "as it lies in the quilt"),
                    ("Pieced block before it is joined", 0.5, "1/4 in of seam on each side"),
                    ("Batting", 6.5, "3 in more on each side"),
                    ("Backing", 8.5, "4 in more on each side, for leaders and clamps"),
                }
            )
            {
                string size =
                    $"{(w + Length.FromInches(more)).ToSixteenths()} × {(h + Length.FromInches(more)).ToSixteenths()} in";
                Set(page, new(Margin, y + 14), what, 13, Weight.Bold);
                Set(page, new(Margin + 230, y + 14), size, 13, Weight.Bold);
                Set(page, new(Margin + 350, y + 14), why, Body, Weight.Regular);
                y += 26;
            }

            y += 14;
            foreach (
                string caution in new[]
                {
                    "Cut away from yourself, on a mat, and close the rotary cutter when you put it down.",
                    "Stop the needle before your hands go near it, the thread or the ruler.",
                    "Keep the hand on the ruler at least 1 in away from the foot’s path.",
                    "Your machine’s manual and your local rules come first.",
                }
            )
            {
                Set(page, new(Margin, y + 12), caution, Body, Weight.Regular);
                y += 17;
            }

            pages.Add(new(page, []));
        }

        public void AddStrip(CancellationToken ct)
        {
            const int MostFrames = 24;
            int n = block.Steps;
            int each = (int)Math.Ceiling((double)n / MostFrames);
            int frames = (int)Math.Ceiling((double)n / each);
            (int columns, int rows) = width > height ? (4, 3) : (3, 4);
            Drawing.Drawing? page = null;
            List<PlacedFigure> figures = [];
            double top = 0;
            for (int k = 0; k < frames; k++)
            {
                ct.ThrowIfCancellationRequested();
                int cell = k % (columns * rows);
                if (cell == 0)
                {
                    figures = [];
                    (page, top) = NewPage(
                        "The path, picture by picture. Hang the page up, or cut along the lines and flip through.",
                        "Not true size."
                    );
                    pages.Add(new(page, figures));
                }

                double across = (width - 2 * Margin) / columns;
                double down = (height - Margin - top) / rows;
                Box<PageSpace> frame = new(
                    Margin + cell % columns * across,
                    top + cell / columns * down,
                    Margin + (cell % columns + 1) * across,
                    top + (cell / columns + 1) * down
                );
                page!.Add(
                    new Stroke(
                        Layer.Ground,
                        [
                            new(new(frame.Left, frame.Top), new(frame.Right, frame.Top)),
                            new(new(frame.Right, frame.Top), new(frame.Right, frame.Bottom)),
                            new(new(frame.Right, frame.Bottom), new(frame.Left, frame.Bottom)),
                            new(new(frame.Left, frame.Bottom), new(frame.Left, frame.Top)),
                        ],
                        Palette.SoftInk,
                        0.5
                    )
                );
                string words = string.Create(CultureInfo.InvariantCulture, $"{k + 1} of {frames}");
                Set(page, new(frame.Left + 6, frame.Top + 13), words, 10, Weight.Bold);
                Box<PageSpace> room = new(frame.Left + 3, frame.Top + 16, frame.Right - 3, frame.Bottom - 3);
                (int from, int to) = (k * each, Math.Min(n, (k + 1) * each));
                double scale = block.ScaleFor(room, 20);
                bool last = k == frames - 1;

                // What is stitched lies thin; what comes now is bold, with its number and its way.
                page.Add(block.Done(room, scale, i => i < from));
                PlacedFigure now = block.Draw(
                    room,
                    scale,
                    i => i >= from && i < to,
                    (k == 0 ? Given.FirstStart : Given.Nothing) | (last ? Given.Ends : Given.Nothing)
                );
                page.Add(now.Items);
                figures.Add(now);
            }
        }

        private void AddLarge(string task, Func<int, bool> wanted, Given given)
        {
            (Drawing.Drawing page, double top) = NewPage(task, "", Named.ByHand);
            Box<PageSpace> room = new(Margin, top, width - Margin, height - Margin);
            double fits = block.ScaleFor(room, Air);
            double scale = Math.Min(fits, BlockFigure.HalfSize);
            string size =
                fits >= BlockFigure.HalfSize
                    ? "Half size. Not true size."
                    : string.Create(CultureInfo.InvariantCulture, $"Not true size: 1 to {72 / scale:0.0}.");
            Set(page, new(Margin, height - Margin - 2), size, 11, Weight.Bold);
            PlacedFigure figure = block.Draw(room, scale, wanted, given, Dashes);
            page.Add(figure.Items);
            pages.Add(new(page, [figure]));
        }

        private (Drawing.Drawing Page, double Top) NewPage(string task, string note, Named name = Named.Nobody)
        {
            Drawing.Drawing page = new(width, height);
            double y = Margin + 16;
            Set(page, new(Margin, y), block.Name, 20, Weight.Bold);
            if (name == Named.ByHand)
            {
                AddNameLine(page, y);
            }

            y += 17;
            foreach (string text in new[] { task, note }.Where(t => t.Length > 0))
            {
                foreach (string words in Typesetting.Wrap(text, Body, Weight.Regular, width - 2 * Margin))
                {
                    Set(page, new(Margin, y), words, Body, Weight.Regular);
                    y += 14;
                }
            }

            return (page, y + 4);
        }

        private void AddNameLine(Drawing.Drawing page, double y)
        {
            const string Name = "Name";
            double line = Math.Min(190, width / 4);
            double at = width - Margin - line;
            Set(page, new(at - Typesetting.Measure(Name, Body, Weight.Regular) - 6, y), Name, Body, Weight.Regular);
            page.Add(new Stroke(Layer.Words, [new(new(at, y + 2), new(width - Margin, y + 2))], Palette.Black, 0.6));
        }

        private static string Facts(RouteCandidate choice, BlockFigure figure)
        {
            string starts = figure.Starts == 1 ? "one start" : $"{TripWords.Count(figure.Starts)} starts";
            string back =
                figure.Backtracking.Inches < 1e-6
                    ? "no backtracking"
                    : $"{TripWords.Inches(figure.Backtracking)} of backtracking";
            return $"Choice {choice.Name}: {starts}, {back}";
        }

        private static void Set(Drawing.Drawing page, Point<PageSpace> at, string text, double size, Weight weight) =>
            page.Add(Typesetting.Set(Layer.Words, at, text, size, weight, Palette.Black));
    }
}

/// <summary>One practice page as it was drawn, with its pictures.</summary>
internal sealed record DrawnPractice(Drawing.Drawing Page, IReadOnlyList<PlacedFigure> Figures);
