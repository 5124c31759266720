using System.Globalization;
using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>All choices of a route side by side: a small picture of each, what it does, and its numbers.</summary>
public static class ChoiceSheet
{
    private const double Cell = 250;
    private const double Gap = 34;
    private const double Margin = 30;
    private const double Title = 15;
    private const double Text = 10.5;
    private const double Line = 14.5;
    private const double PixelsPerPoint = 2;

    /// <summary>The sheet as a PNG, 2 px to the point.</summary>
    /// <exception cref="InputException">The route has no choice.</exception>
    public static RenderedFile Render(Route route, CancellationToken ct = default) =>
        new(PngFormat.Write(Draw(route, ct), PixelsPerPoint, Palette.Unbleached), []);

    /// <summary>The sheet before it is written.</summary>
    internal static Drawing.Drawing Draw(Route route, CancellationToken ct = default)
    {
        ArgumentNullException.ThrowIfNull(route);
        IReadOnlyList<RouteCandidate> choices = route.Candidates;
        if (choices.Count == 0)
        {
            throw new InputException("The route holds no choice", "candidates", "Plan the route again.");
        }

        int columns = choices.Count switch
        {
            <= 3 => choices.Count,
            4 => 2,
            <= 9 => 3,
            _ => 4,
        };

        // All at one scale, so that they can be compared.
        Box<ClothSpace> covered = choices
            .Select(c => FigureContent.CoveredBy(route.Quilt, c))
            .Aggregate((a, b) => a.With(b));
        double scale = Cell / Math.Max(Math.Max(covered.Width, covered.Height), 1e-6);
        double figureHeight = covered.Height * scale;
        Entry[] entries = [.. choices.Select(c => Entry.Of(route.Quilt, c, Cell))];
        int rows = (choices.Count + columns - 1) / columns;
        double[] rowHeight =
        [
            .. Enumerable
                .Range(0, rows)
                .Select(r => figureHeight + 24 + entries.Skip(r * columns).Take(columns).Max(e => e.Height)),
        ];
        double width = 2 * Margin + columns * Cell + (columns - 1) * Gap;
        double top = Margin + 26;
        Drawing.Drawing drawing = new(width, top + rowHeight.Sum() + (rows - 1) * Gap + 40);
        drawing.Add(
            Typesetting.Set(
                Layer.Words,
                new(Margin, Margin + 4),
                RouteNames.SizeOf(covered) is var size && choices.Count == 1
                    ? $"One choice, {size}"
                    : $"{choices.Count.ToString(CultureInfo.InvariantCulture)} choices, {size}",
                Title,
                Weight.Bold,
                Palette.Ink
            )
        );
        double y = top;
        for (int r = 0; r < rows; r++)
        {
            for (int c = 0; c < columns && r * columns + c < entries.Length; c++)
            {
                ct.ThrowIfCancellationRequested();
                double x = Margin + c * (Cell + Gap);
                DrawFigure(
                    drawing,
                    route.Quilt,
                    choices[r * columns + c],
                    covered,
                    scale,
                    x + (Cell - covered.Width * scale) / 2,
                    y
                );
                entries[r * columns + c].Draw(drawing, x, y + figureHeight + 24);
            }

            y += rowHeight[r] + Gap;
        }

        DrawKey(drawing, choices, Margin, drawing.Height - 20);
        return drawing;
    }

    private static void DrawFigure(
        Drawing.Drawing drawing,
        QuiltMap quilt,
        RouteCandidate choice,
        Box<ClothSpace> covered,
        double scale,
        double left,
        double top
    )
    {
        Similarity<PageSpace, ClothSpace> pageFromCloth = new(
            scale,
            0,
            left - covered.Left * scale,
            top - covered.Top * scale
        );
        drawing.Add(PatchFills.Of(quilt, covered, pageFromCloth, Palette.Unbleached, 0.78));
        FigureContent content = FigureContent.Of(quilt, choice, covered, e => [pageFromCloth.Apply(e)], 3);
        drawing.Add(new Stroke(Layer.Seams, content.Seams, new(0x8C, 0x86, 0x7A), 0.6));
        foreach (FigureStep step in content.Steps.Where(s => !s.Step.IsBacktrack && !IsAdded(s)))
        {
            drawing.Add(new Stroke(Layer.Route, step.Path, Palette.Chalk, 1.5));
        }

        foreach (FigureStep step in content.Steps.Where(s => !s.Step.IsBacktrack && IsAdded(s)))
        {
            drawing.Add(new Stroke(Layer.Route, step.Path, Palette.Madder, 2.4));
        }

        foreach (FigureStep step in content.Steps.Where(s => s.Step.IsBacktrack))
        {
            drawing.Add(new Stroke(Layer.Route, step.Path, Palette.Ink, 1.4, [3.2, 2.6]));
        }

        Point<PageSpace> middle = pageFromCloth.Apply(covered.Center);
        const double Small = 0.42;
        foreach (FigureEnd end in content.Starts.Concat(content.Ends).Where(e => e.OffTop.Count > 0))
        {
            drawing.Add(new Stroke(Layer.Route, end.OffTop, Palette.Chalk, 1.5));
        }

        foreach (FigureEnd end in content.Ends.Where(e => e.OffTop.Count == 0))
        {
            drawing.Add(Marks.Knot(end.At, Away(end.At, middle, 0.5), 0.6, Palette.Ink, Palette.Unbleached));
        }

        foreach (FigureEnd start in content.Starts)
        {
            drawing.Add(Marks.Needle(start.At, Away(start.At, middle, -0.5), Small, Palette.Ink, Palette.Unbleached));
        }
    }

    // Outward, and turned a little, so that a start and an end at one point both show.
    private static Vector<PageSpace> Away(Point<PageSpace> at, Point<PageSpace> middle, double turn)
    {
        Vector<PageSpace> outward = at.DistanceTo(middle) < 1 ? new(0, -1) : (at - middle).Unit;
        return outward * Math.Cos(turn) + outward.TurnedLeft * Math.Sin(turn);
    }

    private static bool IsAdded(FigureStep step) => step.Step.Moves[0].Kind is MoveKind.Arc or MoveKind.Line;

    private static void DrawKey(Drawing.Drawing drawing, IReadOnlyList<RouteCandidate> choices, double x, double y)
    {
        (Stroke Sample, string Words, Func<MoveKind, bool> Shows)[] key =
        [
            (new(Layer.Route, [], Palette.Chalk, 1.5), "along a seam", k => k is MoveKind.Ditch or MoveKind.Frame),
            (new(Layer.Route, [], Palette.Madder, 2.4), "added", k => k is MoveKind.Arc or MoveKind.Line),
            (new(Layer.Route, [], Palette.Ink, 1.4, [3.2, 2.6]), "backtrack", k => k == MoveKind.Retrace),
        ];
        HashSet<MoveKind> kinds = [.. choices.SelectMany(c => c.AllMoves).Select(m => m.Kind)];
        foreach ((Stroke sample, string words, Func<MoveKind, bool> shows) in key)
        {
            if (!kinds.Any(shows))
            {
                continue;
            }

            drawing.Add(sample with { Path = [new(new(x, y - 3.5), new(x + 22, y - 3.5))] });
            drawing.Add(Typesetting.Set(Layer.Words, new(x + 28, y), words, Text, Weight.Regular, Palette.SoftInk));
            x += 28 + Typesetting.Measure(words, Text, Weight.Regular) + 20;
        }
    }

    /// <summary>The words below a picture.</summary>
    private sealed record Entry(string Name, IReadOnlyList<string> Does, IReadOnlyList<string> Numbers)
    {
        public double Height => (Does.Count + Numbers.Count) * Line + 8;

        public static Entry Of(QuiltMap quilt, RouteCandidate c, double width)
        {
            int steps = StitchStep.Of(quilt, c).Count;
            string does = c.Design ?? "one route";
            List<string> numbers =
            [
                Plural(c.Measures.Starts, "start"),
                Plural(steps, "step"),
                $"{c.Measures.Added.ToSixteenths()} in added",
                $"{c.Measures.Doubled.ToSixteenths()} in of backtracking",
                Plural(c.Measures.Crossings, "crossing"),
            ];
            if (
                c.Unknown.Values.TryGetValue("rulerStops", out JsonElement stops)
                && stops.TryGetInt32(out int count)
                && count > 0
            )
            {
                numbers.Add(Plural(count, "stop") + " to move the ruler");
            }

            if (
                c.Unknown.Values.TryGetValue("widestGapInches", out JsonElement gap)
                && gap.TryGetDouble(out double inches)
            )
            {
                numbers.Add($"widest open circle {Length.FromInches(inches).ToSixteenths()} in");
            }

            numbers.Add(c.Proof.Optimal ? "proven the least" : "not the least possible");
            return new(
                c.Name,
                Typesetting.Wrap($"{c.Name}  {char.ToUpperInvariant(does[0])}{does[1..]}", Text, Weight.Bold, width),
                Typesetting.Wrap(string.Join(" · ", numbers), Text, Weight.Regular, width)
            );
        }

        public void Draw(Drawing.Drawing drawing, double x, double y)
        {
            foreach ((string line, int i) in Does.Select((l, i) => (l, i)))
            {
                drawing.Add(Typesetting.Set(Layer.Words, new(x, y + i * Line), line, Text, Weight.Bold, Palette.Ink));
            }

            double below = y + Does.Count * Line + 3;
            foreach ((string line, int i) in Numbers.Select((l, i) => (l, i)))
            {
                drawing.Add(
                    Typesetting.Set(Layer.Words, new(x, below + i * Line), line, Text, Weight.Regular, Palette.SoftInk)
                );
            }
        }

        private static string Plural(int n, string word) =>
            string.Create(CultureInfo.InvariantCulture, $"{n} {word}{(n == 1 ? "" : "s")}");
    }
}
