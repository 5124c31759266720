using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;

namespace OverlayPlanner.Rendering.Pictures.Errors;

/// <summary>The row under the picture that says what its lines and marks are.</summary>
internal sealed class ErrorLegend
{
    private const double Text = 18;
    private const double Row = 28;
    private const double Sample = 46;
    private const double Gap = 8;
    private const double Between = 30;

    private readonly List<(
        Point<PageSpace> Place,
        string Words,
        Func<Point<PageSpace>, IEnumerable<DrawnItem>> Mark
    )> entries = [];

    /// <param name="levels">The fractions that have a line.</param>
    /// <param name="cards">The cards that are drawn.</param>
    /// <param name="points">How many points are drawn.</param>
    /// <param name="width">Room across.</param>
    public ErrorLegend(IReadOnlyList<ErrorLevel> levels, IReadOnlyList<CardOnCloth> cards, int points, double width)
    {
        double x = 0;
        double y = 0;
        foreach (ErrorLevel level in levels)
        {
            Add(level.Fraction + " in", at => LineAt(at, level));
        }

        if (points > 0)
        {
            Add("a point", at => PointAt(Layer.Words, new(at.X + Sample / 2, at.Y)));
        }

        foreach (
            (CardUse use, string words) in new[] { (CardUse.Used, "a card"), (CardUse.LeftOut, "a card left out") }
        )
        {
            if (cards.Any(c => c.Use == use))
            {
                Add(words, at => Card(Layer.Words, SquareAt(at), use));
            }
        }

        Height = y + Row;

        void Add(string words, Func<Point<PageSpace>, IEnumerable<DrawnItem>> mark)
        {
            double wide = Sample + Gap + Typesetting.Measure(words, Text, Weight.Regular);
            if (x > 0 && x + wide > width)
            {
                (x, y) = (0, y + Row);
            }

            entries.Add((new(x, y), words, mark));
            x += wide + Between;
        }
    }

    /// <summary>Room down.</summary>
    public double Height { get; }

    /// <summary>The row, its top left there.</summary>
    public IEnumerable<DrawnItem> At(Point<PageSpace> topLeft) =>
        entries.SelectMany(e =>
        {
            Point<PageSpace> at = new(topLeft.X + e.Place.X, topLeft.Y + e.Place.Y + Row / 2);
            return e.Mark(at)
                .Concat(
                    Typesetting.Set(
                        Layer.Words,
                        new(at.X + Sample + Gap, at.Y + Text * 0.34),
                        e.Words,
                        Text,
                        Weight.Regular,
                        Palette.Ink
                    )
                );
        });

    /// <summary>A point where seams meet.</summary>
    public static IEnumerable<DrawnItem> PointAt(Layer layer, Point<PageSpace> at) =>
        [
            Marks.Disc(layer, at, 3, Palette.Unbleached with { Alpha = 200 }),
            Marks.Disc(layer, at, 1.9, Palette.SoftInk),
        ];

    /// <summary>A card's outline, dashed where it was left out.</summary>
    public static IEnumerable<DrawnItem> Card(Layer layer, IReadOnlyList<Edge<PageSpace>> outline, CardUse use) =>
        [
            new Fill(layer, outline, Palette.White with { Alpha = 150 }),
            new Stroke(layer, outline, Palette.Ink, 1.4, use == CardUse.LeftOut ? [4, 3] : null),
        ];

    private static IEnumerable<DrawnItem> LineAt(Point<PageSpace> at, ErrorLevel level) =>
        [new Stroke(Layer.Words, [new(at, new(at.X + Sample, at.Y))], level.Ink, level.Width, level.Dash)];

    private static IReadOnlyList<Edge<PageSpace>> SquareAt(Point<PageSpace> at) =>
        Marks.Rectangle(new(at.X + Sample / 2 - Row / 3, at.Y - Row / 3, at.X + Sample / 2 + Row / 3, at.Y + Row / 3));
}
