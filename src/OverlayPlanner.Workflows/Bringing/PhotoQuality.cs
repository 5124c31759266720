using System.Globalization;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Bringing;

/// <summary>What may be wrong with a photograph.</summary>
public enum PhotoFlaw
{
    /// <summary>Edges are smeared: it was moved, or it is out of focus.</summary>
    Blurred,

    /// <summary>The cloth is too small in it.</summary>
    Far,

    /// <summary>Even its light places are dark.</summary>
    Dark,

    /// <summary>Much of it is plain white.</summary>
    Bright,

    /// <summary>It was taken from too far aside.</summary>
    Tilted,

    /// <summary>It shows cards, but too few.</summary>
    FewCards,

    /// <summary>It shows no card, which is a loss only where cards were laid.</summary>
    NoCards,
}

/// <summary>Something that a person should know of a photograph, in the words of the screen.</summary>
/// <param name="Flaw">What it is.</param>
/// <param name="What">What is wrong, a sentence.</param>
/// <param name="Remedy">What to do, a sentence.</param>
public sealed record PhotoRemark(PhotoFlaw Flaw, string What, string Remedy)
{
    /// <summary>True where the photograph had better be taken again.</summary>
    public bool IsWarning => Flaw != PhotoFlaw.NoCards;
}

/// <summary>What was measured of a photograph when it came: kept with it, so that it is measured once.</summary>
/// <param name="Width">Pixels across, upright.</param>
/// <param name="Height">Pixels down.</param>
/// <param name="BlurPixels">Standard deviation of the smear across edges, photo pixels; null where nothing in it tells.</param>
/// <param name="Light">Luma that one pixel in fifty exceeds, 0 to 255.</param>
/// <param name="White">Part of it that is plain white, 0 to 1.</param>
/// <param name="Cards">How many marker cards it shows whole.</param>
/// <param name="PixelsPerInch">Of its cards, the median; null without cards.</param>
/// <param name="TiltDegrees">Of its cards, the median, from straight above; null without cards.</param>
public sealed record PhotoQuality(
    int Width,
    int Height,
    double? BlurPixels,
    double Light,
    double White,
    int Cards,
    double? PixelsPerInch,
    double? TiltDegrees
)
{
    /// <summary>Below so many pixels to the inch a seam 1/8 in beside another is two pixels away.</summary>
    public const double LeastPixelsPerInch = 16;

    /// <summary>From so many degrees off straight above the far half of a block is seen worse than the near one.</summary>
    public const double MostTiltDegrees = 45;

    /// <summary>A smear of so many pixels is seen in any photograph.</summary>
    public const double LeastBlurPixels = 2.5;

    // Without a scale: the smear as a part of the longer side. Across it a top of 90 in smears each edge over 0.15 in.
    private const double BlurPart = 1.0 / 1500;

    // With one: an edge smeared so far hides a seam beside it.
    private static readonly Length MostSpread = Length.FromInches(0.125);

    // Share of white at which a lamp or the flash has taken cloth away, and the light that any cloth has somewhere.
    private const double MostWhite = 0.08;
    private const double LeastLight = 90;

    // Three cards fix the plane and leave nothing to check it by.
    private const int EnoughCards = 4;

    // A Gaussian smear's step, from end to end at its steepest: √(2π) σ.
    private static readonly double SpreadOfSigma = Math.Sqrt(2 * Math.PI);

    /// <summary>Measures a photograph: about a second for twelve megapixels.</summary>
    public static PhotoQuality Measure(Photo photo, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(photo);
        BlurReading blur = PhotoBlur.Of(photo.Picture, cancellation);
        LightLevel light = PhotoLight.Of(photo.Picture);
        cancellation.ThrowIfCancellationRequested();
        IReadOnlyList<SeenCard> cards = CardLook.Of(photo);
        return new(
            photo.Picture.Width,
            photo.Picture.Height,
            blur.IsKnown ? blur.Pixels : null,
            light.Light,
            light.White,
            cards.Count,
            Median(cards.Select(c => c.Scale.PixelsPerInch)),
            Median(cards.Select(c => c.Scale.TiltDegrees))
        );
    }

    /// <summary>A photograph of which nothing but its size is known.</summary>
    public static PhotoQuality Unmeasured(int width, int height) => new(width, height, null, 255, 0, 0, null, null);

    /// <summary>What the photograph itself and its cards show, the worst first.</summary>
    /// <param name="words">The reader's lengths.</param>
    public IReadOnlyList<PhotoRemark> Remarks(LengthWords words)
    {
        ArgumentNullException.ThrowIfNull(words);
        List<PhotoRemark> remarks = [];
        if (Light < LeastLight)
        {
            remarks.Add(
                new(
                    PhotoFlaw.Dark,
                    "It is too dark: even its light places are dim.",
                    "Turn on more light, and take it again without the flash."
                )
            );
        }

        AddOf(remarks, PixelsPerInch, TiltDegrees, words);
        if (White > MostWhite)
        {
            remarks.Add(
                new(
                    PhotoFlaw.Bright,
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"It is too bright: {100 * White:0} % of it is plain white, and no seam can be seen there."
                    ),
                    "Turn away from the lamp or the window, or touch a light place on the phone's screen, and take it again."
                )
            );
        }

        if (Cards is > 0 and < EnoughCards)
        {
            remarks.Add(
                new(
                    PhotoFlaw.FewCards,
                    Cards == 1
                        ? "Only one marker card is seen."
                        : $"Only {(Cards == 2 ? "two" : "three")} marker cards are seen.",
                    "Lay four or more flat round what is to be stitched, each whole in the photo; or set the four pins."
                )
            );
        }
        else if (Cards == 0)
        {
            remarks.Add(
                new(
                    PhotoFlaw.NoCards,
                    "No marker card is seen in it.",
                    "Set the four pins. If cards lie there, they are too small, too dark or covered: take it from nearer."
                )
            );
        }

        return remarks;
    }

    /// <summary>What the four pins and the sides show in addition: too far, too far aside, or blurred for its scale.</summary>
    /// <param name="corners">Photo pixels, clockwise from the top left.</param>
    /// <param name="width">From the first pin to the second.</param>
    /// <param name="height">From the second to the third.</param>
    /// <param name="words">The reader's lengths.</param>
    /// <returns>Nothing where the pins make no rectangle yet.</returns>
    public IReadOnlyList<PhotoRemark> RemarksAt(
        IReadOnlyList<Point<PhotoSpace>> corners,
        Length width,
        Length height,
        LengthWords words
    )
    {
        ArgumentNullException.ThrowIfNull(corners);
        ArgumentNullException.ThrowIfNull(words);
        List<PhotoRemark> remarks = [];
        try
        {
            PlaneFit plane = PlaneFromCorners.Solve(corners, width, height, Width, Height);
            Point<ClothSpace> middle = new(width.Inches / 2, height.Inches / 2);
            AddOf(remarks, plane.PixelsPerInch, PhotoScale.At(plane.PhotoFromCloth, middle).TiltDegrees, words);
        }
        catch (InputException)
        {
            // Pins that still lie anywhere, or a side half typed: the search for seams says what is wrong with them.
        }

        return remarks;
    }

    private void AddOf(List<PhotoRemark> remarks, double? pixelsPerInch, double? tilt, LengthWords words)
    {
        if (BlurPixels is { } blur && IsBlurred(blur, pixelsPerInch))
        {
            string over = pixelsPerInch is { } density
                ? words.Say(Length.FromInches(SpreadOfSigma * blur / density))
                : string.Create(CultureInfo.InvariantCulture, $"{SpreadOfSigma * blur:0} pixels");
            remarks.Add(
                new(
                    PhotoFlaw.Blurred,
                    $"It is blurred: edges are smeared over about {over}.",
                    "Hold the phone still, or rest it on the rail, touch the cloth on its screen to focus, and take it again."
                )
            );
        }

        if (pixelsPerInch is { } seen && seen < LeastPixelsPerInch)
        {
            remarks.Add(
                new(
                    PhotoFlaw.Far,
                    $"It was taken from too far: {words.SayPixels(seen)}.",
                    $"Go nearer, or photograph the quilt in parts; {words.SayPixels(30)} show every seam."
                )
            );
        }

        if (tilt is { } degrees && degrees > MostTiltDegrees)
        {
            remarks.Add(
                new(
                    PhotoFlaw.Tilted,
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"It was taken from too far aside, about {degrees:0}° off straight above."
                    ),
                    "Stand over the block, or hold the phone out over it, and take it again."
                )
            );
        }
    }

    private bool IsBlurred(double blur, double? pixelsPerInch) =>
        blur >= LeastBlurPixels
        && (
            pixelsPerInch is { } density
                ? Length.FromInches(SpreadOfSigma * blur / density) > MostSpread
                : blur >= BlurPart * Math.Max(Width, Height)
        );

    private static double? Median(IEnumerable<double> values)
    {
        double[] sorted = [.. values.Order()];
        return sorted.Length == 0 ? null : sorted[sorted.Length / 2];
    }
}
