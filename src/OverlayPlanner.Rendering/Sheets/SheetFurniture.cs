using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Fonts;

namespace OverlayPlanner.Rendering.Sheets;

/// <summary>What stands round the cloth on a sheet: rulers, check square, page map, words.</summary>
internal sealed class SheetFurniture(
    string title,
    string subtitle,
    IReadOnlyList<Edge<ClothSpace>> seams,
    Similarity<ClothSpace, ClothSpace> turnedFromQuilt,
    SheetWishes wishes
)
{
    /// <summary>Side of the check square, points: 1 in.</summary>
    public const double CheckSquare = 72;

    /// <summary>Width of its rule, points: one dot at 300 to the inch.</summary>
    public const double CheckRule = 0.24;

    private const double Small = 9;
    private const double Line = 11;
    private const double Pad = 7;
    private const double MapSide = 66;
    private const double TickBand = 10;
    private const double RulerBand = 22;
    private const double RulerGap = 30;

    private const string WidestPlace = "Sheet 500 of 500, row 99, column 99";
    private const string WidestCloth = "Cloth 100 7/8 to 110 7/8 in across, 100 7/8 to 110 7/8 in down";
    private const string PrintText = "Print at 100 %, actual size, never “fit”.";
    private const string MeasureText =
        "On every page measure the square both ways before use. Not true to scale until each side is 1 in.";

    /// <summary>The block's or the map's name.</summary>
    public string Title { get; } = title;

    /// <summary>The strip's least width across, points, where it is so long; infinite where the words do not fit.</summary>
    public double StripNeeds(StripPlace place, double along)
    {
        if (place == StripPlace.Right)
        {
            double width = SheetSplitting.StripInches * Length.PointsPerInch - Pad;
            int lines = TextLines(width, WidestPlace, WidestCloth, JoinText(["AA", "AB"])).Count;
            return along >= CheckSquare + MapSide + 3 * Pad + 30 + lines * Line + 30 ? 0 : double.PositiveInfinity;
        }

        double column = along - CheckSquare - MapSide - 4 * Pad - 26;
        if (column < 90)
        {
            return double.PositiveInfinity;
        }

        int needed = TextLines(column, WidestPlace, WidestCloth, JoinText(["AA", "AB"])).Count;
        return Math.Max(CheckSquare + 2 * Pad, needed * Line + 6 + Pad);
    }

    /// <summary>Room inside the window that rulers take.</summary>
    public static IEnumerable<Box<PageSpace>> RulerRoom(SheetPlan plan, PageLayout layout, Sheet sheet)
    {
        Box<PageSpace> cloth = ShownCloth(plan, sheet);
        Axis above = AxisOf(layout.RulerAbove, layout.Window.Top, cloth.Top);
        if (above.Line > layout.Window.Top || !above.Outward)
        {
            yield return above.Outward
                ? new(cloth.Left - 6, above.Line - RulerBand, cloth.Right + 6, above.Line)
                : new(cloth.Left, above.Line, cloth.Right, above.Line + TickBand);
        }

        Axis left = AxisOf(layout.RulerLeft, layout.Window.Left, cloth.Left);
        if (left.Line > layout.Window.Left || !left.Outward)
        {
            yield return left.Outward
                ? new(left.Line - RulerBand, cloth.Top - 6, left.Line, cloth.Bottom + 6)
                : new(left.Line, cloth.Top, left.Line + TickBand, cloth.Bottom);
        }
    }

    // A ruler lies near its cloth where the window leaves room there, else along the window's edge.
    private static Axis AxisOf(bool outside, double window, double cloth) =>
        cloth - window >= RulerGap + RulerBand ? new(cloth - RulerGap, true) : new(window, outside);

    private readonly record struct Axis(double Line, bool Outward);

    /// <summary>
    /// The two rulers: absolute inches of cloth, a tick for each eighth. Where a ruler lies inside the window, ticks that would
    /// touch a line are left out.
    /// </summary>
    public IEnumerable<DrawnItem> Rulers(SheetPlan plan, PageLayout layout, Sheet sheet, LabelSpace space)
    {
        Box<ClothSpace> cloth = new(
            Math.Max(sheet.Cloth.Left, plan.Covered.Left),
            Math.Max(sheet.Cloth.Top, plan.Covered.Top),
            Math.Min(sheet.Cloth.Right, plan.Covered.Right),
            Math.Min(sheet.Cloth.Bottom, plan.Covered.Bottom)
        );
        List<DrawnItem> items = [];
        List<Edge<PageSpace>> ticks = [];
        for (int axis = 0; axis < 2; axis++)
        {
            bool upper = axis == 0;
            Box<PageSpace> shown = ShownCloth(plan, sheet);
            (double line, bool outside) = upper
                ? AxisOf(layout.RulerAbove, layout.Window.Top, shown.Top)
                : AxisOf(layout.RulerLeft, layout.Window.Left, shown.Left);
            double outward = outside ? -1 : 1;
            int first = (int)Math.Ceiling((upper ? cloth.Left : cloth.Top) * 8 - 1e-6);
            int last = (int)Math.Floor((upper ? cloth.Right : cloth.Bottom) * 8 + 1e-6);
            for (int eighth = first; eighth <= last; eighth++)
            {
                double length =
                    eighth % 8 == 0 ? 8.5
                    : eighth % 4 == 0 ? 6.5
                    : eighth % 2 == 0 ? 5
                    : 3.5;
                Point<PageSpace> foot = upper
                    ? new(sheet.PageFromCloth.Apply(new Point<ClothSpace>(eighth / 8.0, 0)).X, line)
                    : new(line, sheet.PageFromCloth.Apply(new Point<ClothSpace>(0, eighth / 8.0)).Y);
                Point<PageSpace> head = upper
                    ? new(foot.X, foot.Y + outward * length)
                    : new(foot.X + outward * length, foot.Y);
                if (!outside && space.CountCrossed(foot.Toward(head, 0.3), head, 0.8) > 0)
                {
                    continue;
                }

                ticks.Add(new(foot, head));
                if (eighth % 8 == 0)
                {
                    string number = QuiltInch(upper, eighth / 8).ToString(CultureInfo.InvariantCulture);
                    double w = Typeface.Measure(number, Small, Weight.Regular);
                    double h = Typeface.CapHeight * Small;
                    Box<PageSpace> box = upper
                        ? outside
                            ? new(head.X - w / 2, head.Y - 1.8 - h, head.X + w / 2, head.Y - 1.8)
                            : new(head.X - w / 2, head.Y + 1.8, head.X + w / 2, head.Y + 1.8 + h)
                        : outside
                            ? new(head.X - 1.8 - w, head.Y - h / 2, head.X - 1.8, head.Y + h / 2)
                            : new(head.X + 1.8, head.Y - h / 2, head.X + 1.8 + w, head.Y + h / 2);
                    if (outside || space.IsFree(box, 1.5))
                    {
                        items.AddRange(
                            Typesetting.Set(
                                Layer.Rulers,
                                new(box.Left, box.Bottom),
                                number,
                                Small,
                                Weight.Regular,
                                Palette.SoftInk
                            )
                        );
                    }
                }
            }
        }

        if (ticks.Count > 0)
        {
            items.Add(new Stroke(Layer.Rulers, ticks, Palette.SoftInk, 0.5) { RoundEnds = false });
        }

        return items;
    }

    /// <summary>The strip: check square, words, page map, which way is up.</summary>
    public IEnumerable<DrawnItem> Strip(SheetPlan plan, PageLayout layout, Sheet sheet, SheetJoins joins)
    {
        int number = plan.Sheets.ToList().IndexOf(sheet) + 1;
        string place =
            plan.Sheets.Count == 1
                ? "One sheet"
                : string.Create(
                    CultureInfo.InvariantCulture,
                    $"Sheet {number} of {plan.Sheets.Count}, row {sheet.Row + 1}, column {sheet.Column + 1}"
                );
        string join = JoinText(joins.CutEdgesOf(sheet));
        Similarity<ClothSpace, ClothSpace> quiltFromTurned = turnedFromQuilt.Inverse();
        string cloth = ClothText(
            Box<ClothSpace>.Around(
                quiltFromTurned.Apply(new Point<ClothSpace>(sheet.Cloth.Left, sheet.Cloth.Top)),
                quiltFromTurned.Apply(new Point<ClothSpace>(sheet.Cloth.Right, sheet.Cloth.Bottom))
            )
        );
        Box<PageSpace> strip = layout.Strip;
        List<DrawnItem> items = [];
        if (layout.Place == StripPlace.Bottom)
        {
            Box<PageSpace> square = SquareAt(strip.Left + 1, strip.Bottom - CheckSquare - 1);
            double mapWidth = plan.Sheets.Count > 1 ? MapSide : 0;
            Box<PageSpace> map = new(strip.Right - mapWidth, strip.Bottom - MapSide - 1, strip.Right, strip.Bottom - 1);
            items.AddRange(Square(square));
            if (plan.Sheets.Count > 1)
            {
                items.AddRange(PageMap(plan, sheet, map, seams));
            }

            items.AddRange(TopArrow(new(map.Left - 14, map.Top), 34));
            double left = square.Right + 2 * Pad;
            SetText(items, left, strip.Bottom, map.Left - 28 - left, place, cloth, join, fromBottom: true);
        }
        else
        {
            double left = strip.Left + Pad;
            double y = SetText(items, left, strip.Top, strip.Right - left, place, cloth, join, fromBottom: false);
            items.AddRange(TopArrow(new(left + 10, y + 8), 30));
            if (plan.Sheets.Count > 1)
            {
                items.AddRange(PageMap(plan, sheet, new(left + 24, y + 6, strip.Right, y + 6 + MapSide), seams));
            }

            items.AddRange(Square(SquareAt(strip.Right - CheckSquare - 1, strip.Bottom - CheckSquare - 1)));
        }

        return items;
    }

    // The middle of the rule lies in the middle of a dot at 300 to the inch, so that a renderer fills exactly one dot.
    private static Box<PageSpace> SquareAt(double left, double top)
    {
        double x = (Math.Round(left / CheckRule) + 0.5) * CheckRule;
        double y = (Math.Round(top / CheckRule) + 0.5) * CheckRule;
        return new(x, y, x + CheckSquare, y + CheckSquare);
    }

    private static IEnumerable<DrawnItem> Square(Box<PageSpace> square)
    {
        yield return new Stroke(Layer.Rulers, Marks.Rectangle(square), Palette.Black, CheckRule) { RoundEnds = false };
    }

    private IEnumerable<DrawnItem> TopArrow(Point<PageSpace> tip, double height)
    {
        yield return new Stroke(
            Layer.Words,
            [new(new(tip.X, tip.Y + 6), new(tip.X, tip.Y + height - 12))],
            Palette.Ink,
            1.2
        );
        yield return Marks.Arrowhead(Layer.Words, new(tip.X, tip.Y + 4), new(0, -1), 9, Palette.Ink);
        foreach (
            Words w in Typesetting.SetCentered(
                Layer.Words,
                new(tip.X, tip.Y + height),
                wishes.Up.ToString(),
                Small,
                Weight.Bold,
                Palette.Ink
            )
        )
        {
            yield return w;
        }
    }

    private static IEnumerable<DrawnItem> PageMap(
        SheetPlan plan,
        Sheet sheet,
        Box<PageSpace> room,
        IReadOnlyList<Edge<ClothSpace>> lines
    )
    {
        Box<ClothSpace> all = plan.Covered;
        foreach (Sheet s in plan.Sheets)
        {
            all = all.With(s.Cloth);
        }

        double scale = Math.Min(room.Width / all.Width, room.Height / all.Height);
        Similarity<PageSpace, ClothSpace> map = new(
            scale,
            0,
            room.Right - all.Right * scale,
            room.Bottom - all.Bottom * scale
        );
        Box<PageSpace> BoxOf(Box<ClothSpace> b) =>
            Box<PageSpace>.Around(
                map.Apply(new Point<ClothSpace>(b.Left, b.Top)),
                map.Apply(new Point<ClothSpace>(b.Right, b.Bottom))
            );
        yield return new Fill(Layer.Words, Marks.Rectangle(BoxOf(sheet.Cloth)), new(0xD4, 0xD4, 0xD6));
        foreach (Sheet s in plan.Sheets)
        {
            yield return new Stroke(Layer.Words, Marks.Rectangle(BoxOf(s.Cloth)), Palette.SoftInk, 0.35);
        }

        if (lines.Count > 0)
        {
            yield return new Stroke(Layer.Words, [.. lines.Select(map.Apply)], Palette.SoftInk, 0.3);
        }

        yield return new Stroke(Layer.Words, Marks.Rectangle(BoxOf(plan.Covered)), Palette.Ink, 0.7);
        yield return new Stroke(Layer.Words, Marks.Rectangle(BoxOf(sheet.Cloth)), Palette.Ink, 1.3);
    }

    // A turned page's rulers still read the quilt's own inches.
    private int QuiltInch(bool upper, int inch)
    {
        Point<ClothSpace> p = turnedFromQuilt
            .Inverse()
            .Apply(upper ? new Point<ClothSpace>(inch, 0) : new Point<ClothSpace>(0, inch));
        bool swapped = wishes.Up is LoadedUp.Left or LoadedUp.Right;
        return (int)Math.Round(upper != swapped ? p.X : p.Y);
    }

    private static Box<PageSpace> ShownCloth(SheetPlan plan, Sheet sheet) =>
        Box<PageSpace>.Around(
            sheet.PageFromCloth.Apply(
                new Point<ClothSpace>(
                    Math.Max(sheet.Cloth.Left, plan.Covered.Left),
                    Math.Max(sheet.Cloth.Top, plan.Covered.Top)
                )
            ),
            sheet.PageFromCloth.Apply(
                new Point<ClothSpace>(
                    Math.Min(sheet.Cloth.Right, plan.Covered.Right),
                    Math.Min(sheet.Cloth.Bottom, plan.Covered.Bottom)
                )
            )
        );

    private static string JoinText(IReadOnlyList<string> letters) =>
        letters.Count == 0
            ? ""
            : $"Cut on the dashed line at {string.Join(" and ", letters)}; lay over that sheet, cross on cross.";

    private static string ClothText(Box<ClothSpace> b)
    {
        return $"Cloth {In(b.Left)} to {In(b.Right)} in across, {In(b.Top)} to {In(b.Bottom)} in down";

        static string In(double inches) => Length.FromInches(inches).ToSixteenths().Replace('-', '–');
    }

    private IEnumerable<string> Notes()
    {
        if (wishes.Printer is { } p)
        {
            yield return string.Create(
                CultureInfo.InvariantCulture,
                $"Corrected for a printer that makes 1 in {p.Across:0.0000} in across and {p.Down:0.0000} in down; right on that printer only."
            );
        }

        if (wishes.Mirror)
        {
            yield return "Mirrored: for tracing from the back.";
        }

        if (wishes.Dots is { } pitch)
        {
            yield return $"Dots {pitch.ToSixteenths()} in apart: prick them, then pounce chalk through.";
        }

        if (
            wishes.Use switch
            {
                SheetUse.LightTable =>
                    "Light table: mark the top before it is loaded; try the marker on a scrap first.",
                SheetUse.Film =>
                    "For film: tape its edge so that the pen can’t run onto the quilt; try pen and print ink on a scrap first.",
                SheetUse.TearAway =>
                    "For tear-away paper: try the print ink on a scrap first; don’t iron the printed side to the cloth.",
                _ => null,
            } is
            { } words
        )
        {
            yield return words;
        }
    }

    private List<(string Text, double Size, Weight Weight, Ink Ink)> TextLines(
        double width,
        string place,
        string cloth,
        string join
    )
    {
        List<(string, double, Weight, Ink)> lines = [];
        Add(Title, 12.5, Weight.Bold, Palette.Ink);
        Add(subtitle, 9.5, Weight.Regular, Palette.Ink);
        Add(place, 9.5, Weight.Bold, Palette.Ink);
        Add(cloth, Small, Weight.Regular, Palette.SoftInk);
        Add(PrintText, Small, Weight.Regular, Palette.SoftInk);
        Add(MeasureText, Small, Weight.Regular, Palette.SoftInk);
        foreach (string note in Notes())
        {
            Add(note, Small, Weight.Bold, Palette.Ink);
        }

        if (join.Length > 0)
        {
            Add(join, Small, Weight.Regular, Palette.SoftInk);
        }

        return lines;

        void Add(string text, double size, Weight weight, Ink ink) =>
            lines.AddRange(Typesetting.Wrap(text, size, weight, width).Select(l => (l, size, weight, ink)));
    }

    // Returns the lower end.
    private double SetText(
        List<DrawnItem> items,
        double left,
        double edge,
        double width,
        string place,
        string cloth,
        string join,
        bool fromBottom
    )
    {
        List<(string Text, double Size, Weight Weight, Ink Ink)> lines = TextLines(width, place, cloth, join);
        double y = fromBottom ? edge - 3 - (lines.Count - 1) * Line : edge + 13;
        foreach ((string text, double size, Weight weight, Ink ink) in lines)
        {
            items.AddRange(Typesetting.Set(Layer.Words, new(left, y), text, size, weight, ink));
            y += Line;
        }

        return y - Line;
    }
}
