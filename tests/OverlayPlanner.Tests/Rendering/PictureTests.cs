using System.Globalization;
using System.Text;
using System.Xml.Linq;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Blocks;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Pictures;
using OverlayPlanner.Rendering.Projector;
using OverlayPlanner.Routing;
using SkiaSharp;

namespace OverlayPlanner.Tests.Rendering;

public class PictureTests
{
    private static readonly Homography<ProjectorSpace, ClothSpace> Straight = new([80, 0, 60, 0, 80, 60, 0, 0, 1]);

    // An SVG read as XML by its own rules: arcs are A commands (SVG 1.1, 8.3.8), and no text asks for a font.
    [Fact]
    public void The_svg_has_every_line_once_and_needs_no_font()
    {
        Route route = Plan("sawtooth-star", LineChoice.SeamsAndArcs);
        RouteCandidate arcs = route.Candidates.First(c => c.AllMoves.Any(m => m.Kind == MoveKind.Arc));
        XDocument svg = XDocument.Parse(Encoding.UTF8.GetString(RoutePicture.RenderSvg(route, arcs).Bytes));
        XNamespace ns = "http://www.w3.org/2000/svg";
        Assert.Empty(svg.Descendants(ns + "text"));
        string[] words = [.. svg.Descendants(ns + "path").Attributes("aria-label").Select(a => a.Value)];
        Assert.Contains("Start", words);
        Assert.Contains("1", words);
        XElement[] route1 =
        [
            .. svg.Descendants(ns + "path").Where(p => p.Attribute("stroke")?.Value == Palette.Chalk.Hex),
        ];
        Assert.Contains(route1, p => p.Attribute("d")!.Value.Contains('A', StringComparison.Ordinal));

        // As wide as tall for a square block, in millimetres.
        Assert.Equal(svg.Root!.Attribute("width")!.Value, svg.Root.Attribute("height")!.Value);
        Assert.EndsWith("mm", svg.Root.Attribute("width")!.Value, StringComparison.Ordinal);
    }

    // GIF89a and the extended WebP container are read by their published layouts.
    [Theory]
    [InlineData(FilmFormat.Gif)]
    [InlineData(FilmFormat.WebP)]
    public void The_film_is_animated_in_the_asked_size(FilmFormat format)
    {
        Route route = SampleRoutes.OfRectangle(4, 3);
        byte[] film = NeedleFilm.Render(route, route.Candidates[0], format, 160).Bytes;
        string head = Encoding.ASCII.GetString(film, 0, 16);
        if (format == FilmFormat.Gif)
        {
            Assert.StartsWith("GIF89a", head, StringComparison.Ordinal);
            Assert.Equal(160, BitConverter.ToUInt16(film, 6));
        }
        else
        {
            Assert.StartsWith("RIFF", head, StringComparison.Ordinal);
            Assert.Equal("WEBPVP8X", head[8..16]);
            Assert.Contains("ANIM", Encoding.ASCII.GetString(film), StringComparison.Ordinal);
        }

        using SKCodec codec = SKCodec.Create(new MemoryStream(film));
        Assert.Equal(160, codec.Info.Width);
        Assert.True(codec.FrameCount > 10, FormattableString.Invariant($"{codec.FrameCount} pictures"));
        Assert.True(codec.FrameInfo[^1].Duration > codec.FrameInfo[0].Duration);
    }

    [Fact]
    public void The_way_grows_from_nothing_to_all_of_it()
    {
        Route route = Plan("ohio-star", LineChoice.Seams);
        RouteCandidate candidate = route.Candidates[0];
        double[] drawn =
        [
            .. NeedleFilm
                .Draw(route, candidate)
                .Select(f => f.Items.OfType<Stroke>().Where(s => s.Layer == Layer.Route).SelectMany(s => s.Path))
                .Select(p => p.Sum(e => e.Length)),
        ];
        Assert.Equal(0, drawn[0]);
        Assert.All(drawn.Zip(drawn.Skip(1)), p => Assert.True(p.Second > p.First));

        // A page point is a fixed part of an inch: the whole is as long as the route says, backtracks drawn beside their line apart.
        (_, Similarity<PageSpace, ClothSpace> page, _) = RoutePicture.Lay(route, candidate);
        Assert.Equal(candidate.Measures.Stitched.Inches, drawn[^1] / page.Scale, 0.02);
    }

    [Fact]
    public void A_projected_step_is_brightest_and_what_is_done_is_dim()
    {
        Route route = Plan("ohio-star", LineChoice.Seams);
        RouteCandidate candidate = route.Candidates[0];
        IReadOnlyList<StitchStep> steps = StitchStep.Of(route.Quilt, candidate);
        Assert.True(steps.Count > 6);
        using SKBitmap frame = SKBitmap.Decode(
            ProjectorFrame.Render(route, candidate, Straight, 1_100, 1_100, step: 4).Bytes
        );
        double done = Brightest(frame, steps[0]);
        double now = Brightest(frame, steps[3]);
        double later = Brightest(frame, steps[5]);
        Assert.True(now > later && later > done, string.Create(CultureInfo.InvariantCulture, $"{now} {later} {done}"));
        Assert.Throws<InputException>(() =>
            ProjectorFrame.Render(route, candidate, Straight, 1_100, 1_100, step: steps.Count + 1)
        );
    }

    [Theory]
    [InlineData(0xC0, 0x20, 0x20)]
    [InlineData(0x20, 0x40, 0xB0)]
    [InlineData(0xF4, 0xF0, 0xE8)]
    public void The_halo_keeps_the_line_apart_from_the_cloth_it_falls_on(byte red, byte green, byte blue)
    {
        Ink cloth = new(red, green, blue);
        Ink line = new(0x9C, 0xC9, 0xEA);
        Ink halo = ClothHalo.Against([cloth], line)!.Value;

        // ΔE*ab of 2.3 is just noticeable (Mahy, Van Eycken and Oosterlinck 1994); a line must be plain.
        Assert.True(ClothHalo.Least([cloth], line, halo) > 4 * 2.3);
        Assert.Null(ClothHalo.Against([], line));
    }

    private static double Brightest(SKBitmap frame, StitchStep step)
    {
        // Away from points, arrows and numbers: the best of several places along the first move.
        double best = 0;
        foreach (double t in new[] { 0.2, 0.25, 0.3 })
        {
            Point<ClothSpace> p = step.Moves[0].Path.PointAt(t);
            SKColor c = frame.GetPixel((int)Math.Round(80 * p.X + 60), (int)Math.Round(80 * p.Y + 60));
            best = Math.Max(best, 0.2126 * c.Red + 0.7152 * c.Green + 0.0722 * c.Blue);
        }

        return best;
    }

    private static Route Plan(string block, LineChoice lines) =>
        RoutePlanner
            .Plan(
                BlockDrafting.Draft(BlockLibrary.Find(block), Length.FromInches(12), 1, 1, Length.Zero),
                new RouteWishes
                {
                    Lines = lines,
                    Candidates = 3,
                    Thread = ThreadChoice.One,
                }
            )
            .Route;
}
