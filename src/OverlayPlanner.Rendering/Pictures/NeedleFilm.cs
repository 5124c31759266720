using System.Globalization;
using ImageMagick;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Rendering.Drawing;
using OverlayPlanner.Rendering.Formats;

namespace OverlayPlanner.Rendering.Pictures;

/// <summary>What a moving picture is written as.</summary>
public enum FilmFormat
{
    /// <summary>Animated WebP, lossless.</summary>
    WebP,

    /// <summary>Animated GIF, for programs that know nothing newer.</summary>
    Gif,
}

/// <summary>The needle's way as a moving picture, for a phone: the path grows, the needle leads, the step's number is said.</summary>
/// <remarks>No flash: from one picture to the next a short piece of line is added (WCAG 2.2, 2.3.1 asks for at most three a second).</remarks>
public static class NeedleFilm
{
    /// <summary>Least and most pixels across.</summary>
    public static readonly (int Least, int Most) Widths = (120, 1_080);

    /// <summary>Most pictures; a longer way goes faster.</summary>
    public const int MostFrames = 150;

    private const int HundredthsAFrame = 10;
    private const int HundredthsAtTheEnd = 250;

    // So many pictures to a step, or a short one would be over before it is seen.
    private const int FramesAStep = 5;

    /// <summary>The moving picture, which begins again at its end.</summary>
    /// <param name="widthPx">Pixels across, within <see cref="Widths"/>; the height follows.</param>
    /// <exception cref="InputException">The width is out of range, or the route has no moves.</exception>
    public static RenderedFile Render(
        Route route,
        RouteCandidate candidate,
        FilmFormat format,
        int widthPx,
        CancellationToken ct = default
    )
    {
        ArgumentNullException.ThrowIfNull(route);
        ArgumentNullException.ThrowIfNull(candidate);
        RoutePicture.RequireWidth(widthPx, Widths);
        using MagickImageCollection film = [];
        foreach (Drawing.Drawing frame in Draw(route, candidate))
        {
            ct.ThrowIfCancellationRequested();
            (int width, int height, byte[] rgba) = PngFormat.Pixels(frame, widthPx / frame.Width, Palette.Unbleached);
            MagickImage image = new(
                rgba,
                new PixelReadSettings((uint)width, (uint)height, StorageType.Char, PixelMapping.RGBA)
            )
            {
                AnimationDelay = HundredthsAFrame,
                AnimationTicksPerSecond = 100,
            };
            film.Add(image);
        }

        film[^1].AnimationDelay = HundredthsAtTheEnd;
        film[0].AnimationIterations = 0;
        if (format == FilmFormat.Gif)
        {
            film.Quantize(new QuantizeSettings { Colors = 128, DitherMethod = DitherMethod.No });
            film.OptimizePlus();
            return new(film.ToByteArray(MagickFormat.Gif), []);
        }

        foreach (IMagickImage<byte> image in film)
        {
            image.Settings.SetDefine(MagickFormat.WebP, "lossless", "true");
        }

        return new(film.ToByteArray(MagickFormat.WebP), []);
    }

    /// <summary>The pictures before they are written.</summary>
    internal static IEnumerable<Drawing.Drawing> Draw(Route route, RouteCandidate candidate)
    {
        (Box<ClothSpace> covered, Similarity<PageSpace, ClothSpace> page, double margin) = RoutePicture.Lay(
            route,
            candidate
        );
        FigureContent content = FigureContent.Of(
            route.Quilt,
            candidate,
            covered,
            e => [page.Apply(e)],
            FigureContent.BacktrackOffset
        );
        if (content.Steps.Count == 0)
        {
            throw new InputException(
                "There is no way to show: the route has no moves",
                $"candidate {candidate.Name}",
                "Plan a route first, or choose another with --candidate."
            );
        }

        const double Foot = 30;
        double width = covered.Width * page.Scale + 2 * margin;
        double height = covered.Height * page.Scale + 2 * margin + Foot;
        DrawnItem[] ground =
        [
            .. PatchFills.Of(route.Quilt, covered, page, Palette.Unbleached, 0.72),
            new Stroke(Layer.Seams, content.Seams, new(0x8C, 0x86, 0x7A), 0.7),
        ];
        int frames = Math.Min(MostFrames, FramesAStep * content.Steps.Count);
        double whole = content.Steps.Sum(LengthOf);
        for (int k = 0; k <= frames; k++)
        {
            Drawing.Drawing frame = new(width, height);
            frame.Add(ground);
            AddWay(frame, content, whole * k / frames, new(margin, height - 11));
            yield return frame;
        }
    }

    private static void AddWay(Drawing.Drawing frame, FigureContent content, double length, Point<PageSpace> foot)
    {
        double left = length;
        Point<PageSpace> needle = content.Steps[0].Path[0].From;
        FigureStep now = content.Steps[0];
        foreach (FigureStep step in content.Steps)
        {
            List<Edge<PageSpace>> stitched = [];
            foreach (Edge<PageSpace> e in step.Path)
            {
                double share = e.Length > 0 ? Math.Clamp(left / e.Length, 0, 1) : 1;
                left -= e.Length;
                if (share > 1e-9)
                {
                    Edge<PageSpace> piece = share < 1 ? e.Piece(0, share) : e;
                    stitched.Add(piece);
                    (needle, now) = (piece.To, step);
                }
            }

            if (stitched.Count > 0)
            {
                bool current = left <= 1e-6;
                frame.Add(
                    new Stroke(
                        Layer.Route,
                        stitched,
                        current ? Palette.Madder : Palette.Chalk,
                        current ? 3.4 : 2.2,
                        step.Step.IsBacktrack ? [5, 4] : null
                    )
                );
            }

            if (left <= 1e-6)
            {
                break;
            }
        }

        frame.Add(Marks.Disc(Layer.Numbers, content.Steps[0].Path[0].From, 4, Palette.Ink));
        frame.Add(Marks.Disc(Layer.Numbers, needle, 5.5, Palette.Madder));
        frame.Add(Marks.Ring(Layer.Numbers, needle, 7.5, Palette.Ink, 1.2));
        string words = string.Create(CultureInfo.InvariantCulture, $"{now.Number} of {content.Steps.Count}");
        frame.Add(Typesetting.Set(Layer.Words, foot, words, 16, Weight.Bold, Palette.Ink));
    }

    private static double LengthOf(FigureStep step) => step.Path.Sum(e => e.Length);
}
