using OverlayPlanner.Calibration;
using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Quilts.Mending;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Workflows;

/// <summary>From a photograph to a quilt map.</summary>
public sealed record MapWishes
{
    /// <summary>The photograph's file.</summary>
    public required string Photo { get; init; }

    /// <summary>Corners of a rectangle of known size, photo pixels, clockwise from its top left.</summary>
    public required IReadOnlyList<Point<PhotoSpace>> Corners { get; init; }

    /// <summary>Width of that rectangle on the cloth; not asked for where <see cref="Tape"/> says it.</summary>
    public Length Width { get; init; }

    /// <summary>Height of that rectangle on the cloth; as the width.</summary>
    public Length Height { get; init; }

    /// <summary>
    /// Where the corners are one block's: its sides and diagonals. The map then reaches beyond the block, as far as its inches can
    /// be trusted and the photograph shows; null where the corners are those of the mapped area.
    /// </summary>
    public TapeWords? Tape { get; init; }

    /// <summary>The block of a known quilt that the corners are, or null.</summary>
    internal (QuiltMap Map, Block Block)? Known { get; init; }

    /// <summary>A lens profile's file, or null for a lens without distortion.</summary>
    public string? Lens { get; init; }

    /// <summary>What the rectangle's four sides are.</summary>
    public EdgeKind Outline { get; init; } = EdgeKind.Seam;

    /// <summary>What the user knows of the top, and edits to carry over.</summary>
    public MapHints Hints { get; init; } = MapHints.None;

    /// <summary>What is done with the map once it is found.</summary>
    public MapExtras Extras { get; init; } = new();
}

/// <summary>A map made from a photograph.</summary>
/// <param name="Map">The map.</param>
/// <param name="Rectified">The picture of the cloth, seen straight down.</param>
/// <param name="Margin">Cloth shown beyond the mapped area on each side.</param>
/// <param name="Findings">What a person should know.</param>
public sealed record MappedQuilt(QuiltMap Map, Picture Rectified, Length Margin, IReadOnlyList<Finding> Findings)
{
    /// <summary>Where a person should look first.</summary>
    public LookHere Look { get; init; } = new([], 0, 1);

    /// <summary>Photo pixels of the first photograph to the map's inches; null where it was not kept.</summary>
    public IMap<ClothSpace, PhotoSpace>? ClothFromPhoto { get; init; }

    /// <summary>
    /// Standard deviation, one axis, that the inches bring to a place on the cloth; infinite where no photograph shows it. Null
    /// where it was not kept.
    /// </summary>
    public Func<Point<ClothSpace>, Length>? Inches { get; init; }

    /// <summary>The cards that the inches come from; none where they come from measured corners.</summary>
    public IReadOnlyList<CardOnCloth> Cards { get; init; } = [];
}

/// <summary>Maps a quilt from a photograph: inches from the corners, then seams, patches and blocks.</summary>
public static class MapQuilt
{
    // Seams on the outline want cloth on both sides to be seen as seams.
    private static readonly Length Margin = Length.FromInches(1);

    /// <summary>Does the work in memory.</summary>
    /// <exception cref="InputException">The photograph or the corners can't be used.</exception>
    public static MappedQuilt Run(
        MapWishes wishes,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(wishes);
        bool fromBlock = wishes.Tape is not null || wishes.Known is not null;
        EditList edits = fromBlock ? wishes.Hints.Check() : wishes.Hints.Check(wishes.Width, wishes.Height);
        LensProfile? lens = wishes.Lens is { } path ? LensProfile.Read(InputFiles.ReadAll(path), path) : null;
        progress?.Report("Reading the photograph");
        Photo photo = PhotoReader.Read(wishes.Photo, cancellation);
        (PlaneFit plane, Length width, Length height) = fromBlock
            ? BlockScale.Frame(photo, lens, wishes)
            : (
                PlaneFromCorners.Solve(
                    wishes.Corners,
                    wishes.Width,
                    wishes.Height,
                    photo.Picture.Width,
                    photo.Picture.Height,
                    lens
                ),
                wishes.Width,
                wishes.Height
            );

        progress?.Report("Laying the cloth flat");
        double density = Rectification.ChooseDensity(width, height);
        Picture rectified = Rectification.Rectify(
            photo,
            plane.PhotoFromCloth,
            width,
            height,
            density,
            Margin,
            cancellation
        );
        cancellation.ThrowIfCancellationRequested();

        progress?.Report("Looking for seams");
        using SeamFinder finder = new();
        DetectionWishes wanted = wishes.Hints.AddTo(
            new DetectionWishes
            {
                Width = width,
                Height = height,
                Margin = Margin,
                Outline = wishes.Outline,
                ScaleSigma = plane.SigmaAt,
                PhotoPixelsPerInch = plane.PixelsPerInch,
                Progress = progress,
            },
            plane.ClothFromPhoto
        );
        DetectedQuilt found = finder.Find(rectified, wanted, cancellation);
        found = CarriedEdits.Apply(
            found,
            edits,
            wishes.Hints.Edits,
            CarriedEdits.TeacherOf(finder, rectified, wanted, cancellation)
        );
        MappedQuilt done = MapFinishing.Finish(found, rectified, Margin, wishes.Outline, wishes.Extras);
        return done with
        {
            Findings = [.. photo.Findings, .. plane.Findings, .. done.Findings],
            ClothFromPhoto = plane.ClothFromPhoto,
            Inches = at =>
                Shows(photo, plane.PhotoFromCloth.Apply(at))
                    ? plane.SigmaAt(at)
                    : Length.FromInches(double.PositiveInfinity),
        };
    }

    // The picture reaches half a pixel past the outer pixels' centres.
    private static bool Shows(Photo photo, Point<PhotoSpace> at) =>
        at.X >= -0.5 && at.Y >= -0.5 && at.X <= photo.Picture.Width - 0.5 && at.Y <= photo.Picture.Height - 0.5;

    /// <summary>Does the work and writes the map, and the preview where <paramref name="preview"/> is given.</summary>
    /// <exception cref="InputException">The photograph, the corners or a target can't be used.</exception>
    public static (Written Written, QuiltMap Map) Run(
        MapWishes wishes,
        string output,
        string? preview,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        if (preview is not null)
        {
            files.Claim(preview);
        }

        wishes.Extras.Claim(files);
        MappedQuilt mapped = Run(wishes, progress, cancellation);
        List<Finding> findings = [.. mapped.Findings];
        files.Add(output, QuiltMapFile.Write(mapped.Map));
        if (preview is not null)
        {
            progress?.Report("Drawing the preview");
            RenderedFile picture = MapPreview.Render(mapped.Rectified, mapped.Map, mapped.Margin, cancellation);
            findings.AddRange(picture.Findings);
            files.Add(preview, picture.Bytes);
        }

        wishes.Extras.Draw(mapped, files, progress, cancellation);
        files.Commit(cancellation);
        return (new(files.Paths, findings), mapped.Map);
    }
}
