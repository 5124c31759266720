using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows;

/// <summary>From photographs with marker cards to a quilt map.</summary>
public sealed record CardMapWishes
{
    /// <summary>Files of one or more photographs by one camera.</summary>
    public required IReadOnlyList<string> Photos { get; init; }

    /// <summary>A lens profile's file; null where the camera was not calibrated.</summary>
    public string? Lens { get; init; }

    /// <summary>Distances between cards measured by tape.</summary>
    public IReadOnlyList<TapeDistance> Tapes { get; init; } = [];

    /// <summary>Measured long rulers of the printed page; null where nobody measured.</summary>
    public PrintedSize? Printed { get; init; }

    /// <summary>What the mapped area's four sides are.</summary>
    public EdgeKind Outline { get; init; } = EdgeKind.Cut;

    /// <summary>What is done with the map once it is found.</summary>
    public MapExtras Extras { get; init; } = new();
}

/// <summary>A map made from cards.</summary>
/// <param name="Quilt">The map with its picture and findings.</param>
/// <param name="Plane">The plane of the cloth, in the map's frame.</param>
/// <param name="ErrorWithin95">95 % of the points where seams meet are within this of where the map puts them.</param>
public sealed record CardMappedQuilt(MappedQuilt Quilt, CardsPlane Plane, Length ErrorWithin95);

/// <summary>Maps a quilt from photographs with loose cards: plane, one picture, axes along the seams, then the seams themselves.</summary>
public static class MapFromCards
{
    private const double LeastDensity = 16;
    private const double MostDensity = 40;
    private const double CoarseDensity = 20;
    private static readonly Length Margin = Length.FromInches(0.5);

    /// <summary>Does the work in memory.</summary>
    /// <exception cref="InputException">The photographs or the cards can't be used.</exception>
    public static CardMappedQuilt Run(
        CardMapWishes wishes,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        LensProfile? lens = wishes.Lens is { } path ? LensProfile.Read(InputFiles.ReadAll(path), path) : null;
        List<Photo> photos = [];
        foreach (string photo in wishes.Photos)
        {
            progress?.Report($"Reading {photo}");
            photos.Add(PhotoReader.Read(photo, cancellation));
        }

        progress?.Report("Looking for cards");
        CardsPlane plane = PlaneFromCards.Solve(
            photos,
            new()
            {
                Lens = lens,
                Tapes = wishes.Tapes,
                Printed = wishes.Printed,
            },
            cancellation
        );
        List<Finding> findings = [.. photos.SelectMany(p => p.Findings), .. plane.Findings];

        // A coarse look first: which way the seams run, and how far the quilt reaches.
        using SeamFinder finder = new();
        progress?.Report("Looking which way the seams run");
        QuiltMap coarse = Look(
            finder,
            photos,
            plane,
            CoarseDensity,
            Length.Zero,
            EdgeKind.Cut,
            null,
            null,
            cancellation
        ).Found.Map;
        if (DirectionOf(coarse) is { } turn)
        {
            plane = plane.Turned(-turn);
            coarse = Look(
                finder,
                photos,
                plane,
                CoarseDensity,
                Length.Zero,
                EdgeKind.Cut,
                null,
                null,
                cancellation
            ).Found.Map;
        }

        plane = Crop(plane, coarse);
        double density = Rectification.ChooseDensity(
            plane.Width,
            plane.Height,
            Math.Clamp(plane.Planes[0].PixelsPerInch, LeastDensity, MostDensity)
        );
        (DetectedQuilt found, Picture picture, IReadOnlyList<Finding> seen) = Look(
            finder,
            photos,
            plane,
            density,
            Margin,
            wishes.Outline,
            at => plane.BestAt(at).Covariance.Sigma,
            progress,
            cancellation
        );
        MappedQuilt done = MapFinishing.Finish(found, picture, Margin, wishes.Outline, wishes.Extras);
        QuiltMap map = done.Map;
        findings.AddRange([.. seen, .. done.Findings]);
        findings.AddRange(CardHiding.FindCovered(plane.Cards, map.Junctions.Select(j => j.Place)));
        Length within = CardsPlane.ErrorWithin([.. map.Junctions.Select(j => j.At.Sigma)]);
        return new(done with { Findings = findings }, plane, within);
    }

    private static (DetectedQuilt Found, Picture Picture, IReadOnlyList<Finding> Findings) Look(
        SeamFinder finder,
        List<Photo> photos,
        CardsPlane plane,
        double density,
        Length margin,
        EdgeKind outline,
        Func<Point<ClothSpace>, Length>? sigma,
        IProgress<string>? progress,
        CancellationToken cancellation
    )
    {
        List<Finding> findings = [];
        Picture picture;
        if (photos.Count == 1)
        {
            picture = Rectification.Rectify(
                photos[0],
                plane.Planes[0].PhotoFromCloth,
                plane.Width,
                plane.Height,
                density,
                margin,
                cancellation
            );
        }
        else
        {
            progress?.Report("Joining the photos");
            MosaicResult joined = PlaneMosaic.Join(photos, plane, density, margin, cancellation);
            picture = joined.Picture;
            findings.AddRange(joined.Findings);
        }

        DetectedQuilt found = finder.Find(
            CardHiding.PaintOver(picture, margin, plane.Cards),
            new()
            {
                Width = plane.Width,
                Height = plane.Height,
                Margin = margin,
                Outline = outline,
                ScaleSigma = sigma,
                Progress = progress,
            },
            cancellation
        );
        return (found, picture, findings);
    }

    /// <summary>
    /// Direction of the seams against the map's axes, radians in (−π/4, π/4]: the mean of their directions taken four times, so
    /// that the two axes of a lattice count as one, weighted by length. Null where the seams run every way.
    /// </summary>
    internal static double? DirectionOf(QuiltMap map)
    {
        double c = 0;
        double s = 0;
        double all = 0;
        foreach (Seam seam in map.Seams.Where(m => m.Role != SeamRole.Edge))
        {
            Edge<ClothSpace> edge = map.EdgeOf(seam);
            Vector<ClothSpace> chord = edge.To - edge.From;
            double angle = 4 * Math.Atan2(chord.Y, chord.X);
            c += chord.Norm * Math.Cos(angle);
            s += chord.Norm * Math.Sin(angle);
            all += chord.Norm;
        }

        const double Agreement = 0.4;
        return all > 0 && Math.Sqrt(c * c + s * s) > Agreement * all ? Math.Atan2(s, c) / 4 : null;
    }

    // To the bounding box of the seams found inside; where there are few, the area stays.
    private static CardsPlane Crop(CardsPlane plane, QuiltMap map)
    {
        List<Point<ClothSpace>> ends =
        [
            .. map.Seams.Where(m => m.Role != SeamRole.Edge).Select(map.EdgeOf).SelectMany(e => new[] { e.From, e.To }),
        ];
        if (ends.Count < 8)
        {
            return plane;
        }

        double left = ends.Min(p => p.X);
        double right = ends.Max(p => p.X);
        double top = ends.Min(p => p.Y);
        double bottom = ends.Max(p => p.Y);
        return right - left < 1 || bottom - top < 1
            ? plane
            : plane.WithArea(new(left, top), Length.FromInches(right - left), Length.FromInches(bottom - top));
    }
}
