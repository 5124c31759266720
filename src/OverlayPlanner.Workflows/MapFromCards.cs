using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Rendering.Pictures;

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

    /// <summary>What the user knows of the top, and edits to carry over.</summary>
    public MapHints Hints { get; init; } = MapHints.None;

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
        EditList edits = wishes.Hints.Check();
        LensProfile? lens = wishes.Lens is { } path ? LensProfile.Read(InputFiles.ReadAll(path), path) : null;
        List<Photo> photos = [];
        foreach (string photo in wishes.Photos)
        {
            progress?.Report($"Reading {Path.GetFileName(photo)}");
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
            plane.SigmaAt,
            progress,
            cancellation,
            (wishes.Hints, edits)
        );
        MappedQuilt done = MapFinishing.Finish(found, picture, Margin, wishes.Outline, wishes.Extras);
        QuiltMap map = done.Map;
        findings.AddRange([.. seen, .. done.Findings]);
        findings.AddRange(CardHiding.FindCovered(plane.Cards, map.Junctions.Select(j => j.Place)));
        Length within = MapError.Within95(map);
        return new(
            done with
            {
                Findings = findings,
                ClothFromPhoto = plane.Planes[0].ClothFromPhoto,
                Inches = at => plane.BestAt(at).Covariance.Sigma,
                Cards =
                [
                    .. plane.Cards.Select(c => new CardOnCloth(
                        c.Card.Number,
                        c.Outline,
                        c.Used ? CardUse.Used : CardUse.LeftOut
                    )),
                ],
            },
            plane,
            within
        );
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
        CancellationToken cancellation,
        (MapHints Hints, EditList Edits)? known = null
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

        DetectionWishes wanted = new()
        {
            Width = plane.Width,
            Height = plane.Height,
            Margin = margin,
            Outline = outline,
            ScaleSigma = sigma,
            PhotoPixelsPerInch = plane.Planes.Min(p => p.PixelsPerInch),
            Progress = progress,
        };
        Picture shown = CardHiding.PaintOver(picture, margin, plane.Cards);
        if (known is not { } user)
        {
            DetectedQuilt coarse = finder.Find(shown, wanted, cancellation);
            return (coarse, picture, findings);
        }

        wanted = user.Hints.AddTo(wanted, plane.Planes[0].ClothFromPhoto);
        DetectedQuilt found = CarriedEdits.Apply(
            finder.Find(shown, wanted, cancellation),
            user.Edits,
            user.Hints.Edits,
            CarriedEdits.TeacherOf(finder, shown, wanted, cancellation)
        );
        return (found, picture, findings);
    }

    /// <summary>
    /// Direction of the top against the map's axes, radians in (−π/4, π/4]: that of its blocks, where there are two or more,
    /// and of its seams elsewhere (the mean of their directions taken four times, so that the two axes of a lattice count as
    /// one, weighted by length). Null where the seams run every way.
    /// </summary>
    /// <remarks>
    /// Blocks on point, and patches cut on the diagonal, run at 45° to the top's sides: of both directions the one counts in
    /// which the seams fill a box the better.
    /// </remarks>
    internal static double? DirectionOf(QuiltMap map)
    {
        const double Agreement = 0.4;
        IEnumerable<Vector<ClothSpace>> sides =
            map.Blocks.Count > 1
                ? map.Blocks.SelectMany(b => Enumerable.Range(0, 4).Select(i => b.Corners[(i + 1) % 4] - b.Corners[i]))
                : map.Seams.Where(m => m.Role != SeamRole.Edge).Select(map.EdgeOf).Select(e => e.To - e.From);
        double c = 0;
        double s = 0;
        double all = 0;
        foreach (Vector<ClothSpace> side in sides)
        {
            double angle = 4 * Math.Atan2(side.Y, side.X);
            c += side.Norm * Math.Cos(angle);
            s += side.Norm * Math.Sin(angle);
            all += side.Norm;
        }

        if (!(all > 0 && Math.Sqrt(c * c + s * s) > Agreement * all))
        {
            return null;
        }

        double along = Math.Atan2(s, c) / 4;
        double across = along > 0 ? along - Math.PI / 4 : along + Math.PI / 4;

        // Where the box does not say it clearly, the seams' own direction stays.
        const double Clearly = 0.9;
        return BoxOf(map, across) < Clearly * BoxOf(map, along) ? across : along;
    }

    // Area of the seams' box in a direction, square inches.
    private static double BoxOf(QuiltMap map, double direction)
    {
        (double sin, double cos) = Math.SinCos(direction);
        Point<ClothSpace>[] ends =
        [
            .. map.Seams.Where(m => m.Role != SeamRole.Edge).Select(map.EdgeOf).SelectMany(e => new[] { e.From, e.To }),
        ];
        double[] x = [.. ends.Select(p => p.X * cos + p.Y * sin)];
        double[] y = [.. ends.Select(p => p.Y * cos - p.X * sin)];
        return ends.Length == 0 ? 0 : (x.Max() - x.Min()) * (y.Max() - y.Min());
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
