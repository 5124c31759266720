using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Fonts;

namespace OverlayPlanner.Rendering.Pictures.Errors;

/// <summary>Fractions on their lines, where they cover nothing else.</summary>
internal sealed class ErrorLabels(Box<PageSpace> region)
{
    private const double Size = 20;
    private const double Gap = 3;

    // One label for so much of a line; a loop that is shorter than the least has its label beside it.
    private const double Apart = 460;
    private const double Least = 90;
    private const int Tries = 12;

    private readonly LabelSpace boxes = new(region);
    private readonly LabelSpace lines = new(region);

    /// <summary>Keeps a box free, such as a card's.</summary>
    public void Avoid(Box<PageSpace> box)
    {
        boxes.Add(box);
        lines.Add(box);
    }

    /// <summary>Keeps a line visible.</summary>
    public void Add(IReadOnlyList<Edge<PageSpace>> line, double width)
    {
        foreach (Edge<PageSpace> e in line)
        {
            lines.Add(e, width);
        }
    }

    /// <summary>The labels of one line, after all lines have been added.</summary>
    public IEnumerable<DrawnItem> Place(IReadOnlyList<Edge<PageSpace>> line, ErrorLevel level)
    {
        double length = line.Sum(e => e.Chord);
        double half = Typesetting.Measure(level.Fraction, Size, Weight.Bold) / 2 + 3;
        return length < Least ? Beside(line, level, half) : On(line, level, half, length);
    }

    private IEnumerable<DrawnItem> On(IReadOnlyList<Edge<PageSpace>> line, ErrorLevel level, double half, double length)
    {
        int count = Math.Max(1, (int)Math.Round(length / Apart));
        for (int i = 0; i < count; i++)
        {
            Box<PageSpace>? best = null;
            double most = double.NegativeInfinity;
            for (int k = 0; k < Tries; k++)
            {
                Box<PageSpace> box = BoxAt(PlaceAlong(line, length * (i + (k + 0.5) / Tries) / count), half);
                if (boxes.IsFree(box, Gap) && lines.ClearanceBeside(box, line) is var clear && clear > most)
                {
                    (best, most) = (box, clear);
                }
            }

            if (best is { } free)
            {
                foreach (DrawnItem item in Write(free, level))
                {
                    yield return item;
                }
            }
        }
    }

    private IEnumerable<DrawnItem> Beside(IReadOnlyList<Edge<PageSpace>> line, ErrorLevel level, double half)
    {
        Box<PageSpace> round = Box<PageSpace>.Around(line.Select(e => e.From)).With(line[^1].To);
        double dx = round.Width / 2 + half + Gap + level.Width;
        double dy = round.Height / 2 + Size / 2 + Gap + level.Width;
        Vector<PageSpace>[] ways = [new(dx, 0), new(0, -dy), new(-dx, 0), new(0, dy)];
        foreach (Box<PageSpace> box in ways.Select(w => BoxAt(round.Center + w, half)))
        {
            if (lines.IsFree(box, Gap))
            {
                return Write(box, level);
            }
        }

        return [];
    }

    private IEnumerable<DrawnItem> Write(Box<PageSpace> box, ErrorLevel level)
    {
        Avoid(box);
        yield return new Fill(Layer.Numbers, Marks.Rectangle(box), Palette.Unbleached with { Alpha = 235 });
        foreach (
            Words word in Typesetting.SetCentered(
                Layer.Numbers,
                new(box.Center.X, box.Center.Y + Size * Typeface.CapHeight / 2),
                level.Fraction,
                Size,
                Weight.Bold,
                Palette.Ink
            )
        )
        {
            yield return word;
        }
    }

    private static Box<PageSpace> BoxAt(Point<PageSpace> middle, double half) =>
        new(middle.X - half, middle.Y - Size * 0.55, middle.X + half, middle.Y + Size * 0.55);

    private static Point<PageSpace> PlaceAlong(IReadOnlyList<Edge<PageSpace>> line, double distance)
    {
        foreach (Edge<PageSpace> e in line)
        {
            if (distance <= e.Chord)
            {
                return e.From.Toward(e.To, distance / e.Chord);
            }

            distance -= e.Chord;
        }

        return line[^1].To;
    }
}
