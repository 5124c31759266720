using System.Globalization;
using System.Text;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering.Cards;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Rendering.Plotter;
using OverlayPlanner.Rendering.Projector;
using OverlayPlanner.Rendering.Sheets;
using OverlayPlanner.Routing;
using SkiaSharp;

namespace OverlayPlanner.Tests.Rendering;

public class RenderedFileTests
{
    private static readonly Homography<ProjectorSpace, ClothSpace> Straight = new([80, 0, 300, 0, 80, 60, 0, 0, 1]);

    [Fact]
    public void The_same_route_gives_the_same_bytes_in_every_format()
    {
        Route route = SampleRoutes.OfBlock("ohio-star", 9);
        RouteCandidate a = route.Candidates[0];
        Func<byte[]>[] formats =
        [
            () => TraceSheets.Render(route, a, new SheetWishes()).Bytes,
            () => StitchCard.Render(route, a, new CardWishes()).Bytes,
            () => PlotterFile.Render(route, a, PlotterFormat.Svg, PlotterMarks.Corners).Bytes,
            () => ProjectorFrame.Render(route, a, Straight, 1280, 800).Bytes,
            () => RoutePicture.Render(route, a, 600).Bytes,
        ];

        foreach (Func<byte[]> render in formats)
        {
            Assert.Equal(render(), render());
        }
    }

    [Fact]
    public void A_comma_locale_changes_nothing()
    {
        Route route = SampleRoutes.OfBlock("friendship-star", 7.5);
        byte[] before = PlotterFile.Render(route, route.Candidates[0], PlotterFormat.Svg, PlotterMarks.None).Bytes;
        CultureInfo culture = CultureInfo.CurrentCulture;
        CultureInfo comma = (CultureInfo)CultureInfo.InvariantCulture.Clone();
        comma.NumberFormat.NumberDecimalSeparator = ",";
        try
        {
            CultureInfo.CurrentCulture = comma;
            byte[] after = PlotterFile.Render(route, route.Candidates[0], PlotterFormat.Svg, PlotterMarks.None).Bytes;
            Assert.Equal(before, after);
            Assert.DoesNotContain(",", Encoding.UTF8.GetString(after), StringComparison.Ordinal);
        }
        finally
        {
            CultureInfo.CurrentCulture = culture;
        }
    }

    [Fact]
    public void A_frame_lights_the_route_where_the_profile_says_and_nothing_in_its_corners()
    {
        Route route = SampleRoutes.OfRectangle(9, 9);
        using SKBitmap frame = SKBitmap.Decode(
            ProjectorFrame.Render(route, route.Candidates[0], Straight, 1280, 800).Bytes
        );

        Assert.Equal((1280, 800), (frame.Width, frame.Height));

        // A quarter along the left side, cloth (0, 2.25): pixel (300, 60 + 80 × 2.25 = 240). Its neighbours 6 px off are dark.
        Assert.True(Light(frame, 300, 240) > 100);
        Assert.True(Light(frame, 294, 240) < 20);
        Assert.True(Light(frame, 306, 240) < 20);
        Assert.Equal(0, Light(frame, 2, 2));
        Assert.Equal(0, Light(frame, 1277, 797));
    }

    [Fact]
    public void A_route_beyond_the_projector_s_picture_is_said()
    {
        Route route = SampleRoutes.OfRectangle(30, 9);

        Finding finding = Assert.Single(
            ProjectorFrame.Render(route, route.Candidates[0], Straight, 1280, 800).Findings,
            f => f.What == "outside-projector"
        );

        // Two long sides leave the picture at (1280 − 300) / 80 = 12.25 in, and the far side with its 9 in is out: 44.5 in.
        Assert.Contains("44.", finding.Where, StringComparison.Ordinal);
    }

    [Fact]
    public void A_profile_that_throws_the_route_to_infinity_is_refused()
    {
        Route route = SampleRoutes.OfRectangle(9, 9);
        Homography<ProjectorSpace, ClothSpace> folded = new([80, 0, 300, 0, 80, 60, -0.2, 0, 1]);

        Assert.Throws<InputException>(() => ProjectorFrame.Render(route, route.Candidates[0], folded, 1280, 800));
    }

    [Fact]
    public void A_preview_is_at_most_2400_pixels_wide_and_shows_each_seam()
    {
        Route route = SampleRoutes.OfBlock("hourglass", 12, OverlayPlanner.Routing.LineChoice.Seams);
        const int Side = 3_000;
        byte[] grey = new byte[Side * Side * 3];
        Array.Fill(grey, (byte)96);

        using SKBitmap preview = SKBitmap.Decode(
            MapPreview.Render(new Picture(Side, Side, grey, Side / 12.0), route.Quilt).Bytes
        );

        Assert.Equal(2_400, preview.Width);

        // A quarter along the falling diagonal, and a place well inside a patch.
        SKColor seam = preview.GetPixel(600, 600);
        SKColor cloth = preview.GetPixel(1_200, 400);
        Assert.True(seam.Blue > seam.Red + 80); // chalk blue
        Assert.True(Math.Abs(cloth.Blue - cloth.Red) < 30);
    }

    [Fact]
    public void Long_routes_over_many_blocks_get_a_page_for_each_block()
    {
        Route route = SampleRoutes.OfBlock("shoofly", 6, columns: 2, rows: 2, sash: 1);

        IReadOnlyList<DrawnCard> cards = StitchCard.Draw(route, route.Candidates[0], new CardWishes()).Cards;

        int blocks = route.Candidates[0].AllMoves.Select(m => m.Block).Distinct(StringComparer.Ordinal).Count();
        Assert.True(cards.Count >= blocks + 1);

        // The page of the whole and the pages of the blocks each number every step.
        int steps = StitchStep.Of(route.Quilt, route.Candidates[0]).Count;
        IEnumerable<string> numbered = cards.Skip(1).SelectMany(c => c.Figure?.Labels ?? []).Select(l => l.Text);
        Assert.All(
            Enumerable.Range(1, steps),
            n => Assert.Contains(n.ToString(CultureInfo.InvariantCulture), numbered)
        );
    }

    [Fact]
    public void Large_print_sets_no_word_below_fourteen_points_and_names_the_rulers()
    {
        Route route = RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find("sawtooth-star"), Length.FromInches(12), 1, 1, Length.Zero),
                new RouteWishes { Lines = LineChoice.SeamsAndArcs, Candidates = 3 }
            )
            .Route;
        RouteCandidate arcs = route.Candidates.First(c => c.AllMoves.Any(m => m.Kind == MoveKind.Arc));
        IReadOnlyList<DrawnCard> cards = StitchCard.Draw(route, arcs, new CardWishes { Print = CardPrint.Large }).Cards;
        Words[] words = [.. cards.SelectMany(c => c.Page.Items.OfType<Words>())];

        // The parts of a fraction are smaller than the line that they stand in.
        Assert.All(
            words.Where(w => w.Text.Any(char.IsLetter)),
            w => Assert.True(w.Size >= 14, FormattableString.Invariant($"{w.Text}: {w.Size}"))
        );
        Assert.Contains(words, w => w.Text.Contains(" edge", StringComparison.Ordinal));
        Assert.All(
            words.Where(w => w.Layer == Layer.Words && w.Quarters == 0),
            w => Assert.True(w.At.X + Typesetting.Measure(w.Text, w.Size, w.Weight) <= 8.5 * 72 - 20, w.Text)
        );
    }

    private static int Light(SKBitmap picture, int x, int y)
    {
        SKColor c = picture.GetPixel(x, y);
        return Math.Max(c.Red, Math.Max(c.Green, c.Blue));
    }
}
