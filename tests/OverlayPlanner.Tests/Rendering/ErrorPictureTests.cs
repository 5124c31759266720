using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Rendering.Pictures.Errors;
using SkiaSharp;

namespace OverlayPlanner.Tests.Rendering;

public class ErrorPictureTests
{
    private const double Margin = 1;
    private static readonly Point<ClothSpace> Middle = new(12, 9);

    // Off by a hundredth of an inch for each inch from the middle, 95 of 100: 1/16 in is reached 6.25 in from it.
    private static readonly Func<Point<ClothSpace>, Length> Cone = p =>
        Length.FromInches(0.01 * p.DistanceTo(Middle) / ErrorField.SigmasWithin95);

    [Fact]
    public void Each_fraction_that_occurs_has_its_line_at_its_place_and_its_label_on_it()
    {
        QuiltMap map = Map(Cone);
        Drawing drawing = Draw(map, new(map, Cone), []);
        Similarity<PageSpace, ClothSpace> pageFromCloth = PageOf(drawing);

        // The corners are 15 in away: 1/64, 1/32, 1/16 and 1/8 in occur, at 1.5625, 3.125, 6.25 and 12.5 in.
        foreach (ErrorLevel level in ErrorLevel.All)
        {
            Stroke[] lines =
            [
                .. drawing
                    .Items.OfType<Stroke>()
                    .Where(s => s.Layer == Layer.Route && s.Ink == level.Ink && s.Width == level.Width),
            ];
            Assert.Equal(level.Inches < 0.15, lines.Length > 0);
            double radius = level.Inches / 0.01 * pageFromCloth.Scale;
            Point<PageSpace> middle = pageFromCloth.Apply(Middle);
            Edge<PageSpace>[] path = [.. lines.SelectMany(l => l.Path)];
            Assert.All(path, e => Assert.Equal(radius, e.From.DistanceTo(middle), 1.0));
            Assert.Equal(path.Length > 0, Boxes(drawing).Any(b => path.Any(e => b.Holds(e.From))));
        }

        // 1.5 in across, the finest loop is too small to be interrupted; it is still said which it is.
        Assert.Contains("1/64 in", Said(drawing), StringComparison.Ordinal);
        Assert.Contains("1/8 in", Said(drawing), StringComparison.Ordinal);
        Assert.DoesNotContain("1/4 in", Said(drawing), StringComparison.Ordinal);
        Assert.Contains("95 of 100 positions", Said(drawing), StringComparison.Ordinal);
    }

    [Fact]
    public void Fractions_are_told_apart_without_their_colours()
    {
        IReadOnlyList<ErrorLevel> all = ErrorLevel.All;
        foreach (ErrorLevel a in all)
        {
            foreach (ErrorLevel b in all.Where(b => b != a))
            {
                bool dashes = !(a.Dash ?? []).SequenceEqual(b.Dash ?? []);
                Assert.True(dashes || Math.Abs(a.Width - b.Width) >= 0.75, a.Fraction + " " + b.Fraction);
            }
        }

        // Each is twice the one before it, as on a ruler.
        Assert.All(all.Skip(1).Zip(all), p => Assert.Equal(2 * p.Second.Inches, p.First.Inches));
    }

    [Fact]
    public void Where_no_fraction_is_crossed_the_picture_says_between_which_it_is()
    {
        QuiltMap map = Map(_ => Length.FromInches(0.016));
        Drawing drawing = Draw(map, new(map, _ => Length.FromInches(0.01)), []);

        // 0.016 × 2.4477 = 0.0392.
        Assert.Contains("0.039 in", Said(drawing), StringComparison.Ordinal);
        Assert.Contains("between 1/32 and 1/16 in", Said(drawing), StringComparison.Ordinal);
        Assert.DoesNotContain("Hatched", Said(drawing), StringComparison.Ordinal);
        Assert.DoesNotContain(drawing.Items, i => i.Layer == Layer.Route);
    }

    [Fact]
    public void What_no_photograph_shows_is_hatched_and_said()
    {
        QuiltMap map = Map(Cone);
        ErrorField field = new(map, p => p.X > 18 ? Length.FromInches(double.PositiveInfinity) : Cone(p));
        Drawing drawing = Draw(map, field, []);
        Similarity<PageSpace, ClothSpace> pageFromCloth = PageOf(drawing);
        double border = pageFromCloth.Apply(new Point<ClothSpace>(18, 0)).X;
        Edge<PageSpace>[] hatch =
        [
            .. drawing.Items.OfType<Stroke>().Where(s => s.Layer == Layer.Ground).SelectMany(s => s.Path),
        ];

        Assert.Contains("Hatched", Said(drawing), StringComparison.Ordinal);

        // To the known side of the border it goes on for no more than a cell of the grid.
        double cell = 24.0 / 200 * pageFromCloth.Scale + 3;
        Assert.True(hatch.Length > 20);
        Assert.All(hatch.SelectMany(e => new[] { e.From, e.To }), p => Assert.True(p.X > border - cell - 1));
    }

    [Fact]
    public void Cards_are_drawn_where_they_lay_also_beside_the_quilt()
    {
        QuiltMap map = Map(Cone);
        CardOnCloth used = Card(3, new(-4, 9), CardUse.Used);
        CardOnCloth left = Card(7, new(12, 20), CardUse.LeftOut);
        CardOnCloth far = Card(9, new(70, 9), CardUse.Used);
        Drawing drawing = Draw(map, new(map, Cone), [used, left, far]);
        string said = Said(drawing);

        Assert.Contains("a card", said, StringComparison.Ordinal);
        Assert.Contains("a card left out", said, StringComparison.Ordinal);
        Assert.Contains(drawing.Items.OfType<Words>(), w => w.Text == "3");
        Assert.Contains(drawing.Items.OfType<Words>(), w => w.Text == "7");
        Assert.DoesNotContain(drawing.Items.OfType<Words>(), w => w.Text == "9");
    }

    [Fact]
    public void The_file_is_the_same_each_time_and_no_larger_than_a_screen_shows()
    {
        QuiltMap map = Map(Cone);
        byte[] png = ErrorPicture.Render(Grey(), map, new(map, Cone), [], Length.FromInches(Margin)).Bytes;

        Assert.Equal(png, ErrorPicture.Render(Grey(), map, new(map, Cone), [], Length.FromInches(Margin)).Bytes);
        using SKBitmap seen = SKBitmap.Decode(png);
        Assert.InRange(seen.Width, 620, 1_600);

        // The cloth is paler where it is less sure: at the middle, and near a corner 13 in away.
        Similarity<PageSpace, ClothSpace> pageFromCloth = PageOf(Draw(map, new(map, Cone), []));
        Assert.True(LightAt(new(12.6, 9.4)) + 20 < LightAt(new(22.7, 16.7)));

        int LightAt(Point<ClothSpace> at)
        {
            Point<PageSpace> p = pageFromCloth.Apply(at);
            return seen.GetPixel((int)p.X, (int)p.Y).Green;
        }
    }

    private static Drawing Draw(QuiltMap map, ErrorField field, IReadOnlyList<CardOnCloth> cards) =>
        ErrorPicture.Draw(Grey(), map, field, cards, Length.FromInches(Margin));

    // The mapped area's frame says where the cloth lies on the page.
    private static Similarity<PageSpace, ClothSpace> PageOf(Drawing drawing)
    {
        Stroke frame = drawing.Items.OfType<Stroke>().First(s => s.Layer == Layer.Seams && s.Path.Count == 4);
        Box<PageSpace> box = Box<PageSpace>.Around(frame.Path.Select(e => e.From));
        return new(box.Width / 24, 0, box.Left, box.Top);
    }

    private static IEnumerable<Box<PageSpace>> Boxes(Drawing drawing) =>
        drawing
            .Items.OfType<Fill>()
            .Where(f => f.Layer == Layer.Numbers)
            .Select(f => Box<PageSpace>.Around(f.Path.Select(e => e.From)));

    // Words in reading order; a fraction is set as three.
    private static string Said(Drawing drawing) =>
        string.Join(' ', drawing.Items.OfType<Words>().Where(w => w.Layer == Layer.Words).Select(w => w.Text.Trim()))
            .Replace(" ⁄ ", "/", StringComparison.Ordinal);

    private static CardOnCloth Card(int number, Point<ClothSpace> middle, CardUse use) =>
        new(
            number,
            [
                new(middle.X - 1, middle.Y - 1),
                new(middle.X + 1, middle.Y - 1),
                new(middle.X + 1, middle.Y + 1),
                new(middle.X - 1, middle.Y + 1),
            ],
            use
        );

    private static Picture Grey()
    {
        const int PixelsPerInch = 20;
        byte[] rgb = new byte[(int)(26 * PixelsPerInch) * (int)(20 * PixelsPerInch) * 3];
        Array.Fill(rgb, (byte)90);
        return new(26 * PixelsPerInch, 20 * PixelsPerInch, rgb, PixelsPerInch);
    }

    private static QuiltMap Map(Func<Point<ClothSpace>, Length> sigma)
    {
        QuiltMap map = BlockDrafting.Draft(BlockLibrary.Find("nine-patch"), Length.FromInches(6), 4, 3, Length.Zero);
        return map.With(junctions: [.. map.Junctions.Select(j => j with { At = new(j.Place, sigma(j.Place)) })]);
    }
}
