using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Workflows;

/// <summary>What is known beside photos of a projector's light, as typed.</summary>
public sealed record ProjectorQuestion
{
    /// <summary>Files of one or more photographs by one camera; each shows cards.</summary>
    public required IReadOnlyList<string> Photos { get; init; }

    /// <summary>A lens profile's file, or null.</summary>
    public string? Lens { get; init; }

    /// <summary>Tape-measured distances between cards: <c>3:7=40.25</c>.</summary>
    public IReadOnlyList<string> Tapes { get; init; } = [];

    /// <summary>The page's two long rulers as measured, <c>6.98x8.97</c>, or null.</summary>
    public string? Printed { get; init; }

    /// <summary>A quilt map that was made with the same cards where they lie now, or null.</summary>
    public string? Quilt { get; init; }

    /// <summary>Where cards' middles lie on the cloth, by number; takes the place of <see cref="Quilt"/>.</summary>
    public IReadOnlyList<(int Card, Point<ClothSpace> At)> Places { get; init; } = [];
}

/// <summary>What a calibration by photos came to.</summary>
/// <param name="Marks">Marks that entered.</param>
/// <param name="LeftOut">Marks that disagreed.</param>
/// <param name="RmsPixels">Root mean square distance of the marks from the profile, projector px.</param>
/// <param name="Rms">The same on the cloth.</param>
/// <param name="HeldOutPixels">The same for marks that were held out of the fit, projector px.</param>
/// <param name="IsBent">Whether more than the homography was kept.</param>
/// <param name="Within95">95 % of the light falls within this of its place.</param>
public sealed record ProjectorReport(
    int Marks,
    int LeftOut,
    double RmsPixels,
    Length Rms,
    double HeldOutPixels,
    bool IsBent,
    Length Within95
);

/// <summary>What a check of the light came to.</summary>
/// <param name="Marks">Marks measured.</param>
/// <param name="Within95">95 % of them fall within this of their place.</param>
/// <param name="Within95Pixels">The same, projector px.</param>
/// <param name="Worst">The greatest distance.</param>
/// <param name="WorstAt">Where on the cloth.</param>
/// <param name="ScalePercent">How much larger the light is than its inches.</param>
/// <param name="ByCards">Whether the cards lie as at the calibration, so that shift and turn count.</param>
/// <param name="Findings">What a person should know.</param>
public sealed record LightReport(
    int Marks,
    Length Within95,
    double Within95Pixels,
    Length Worst,
    Point<ClothSpace> WorstAt,
    double ScalePercent,
    bool ByCards,
    IReadOnlyList<Finding> Findings
);

/// <summary>
/// A projector's profile, from photos of its pattern among printed cards or from crosses that the user nudged onto tape-measured
/// places; the pictures for both; and the check that closes the loop.
/// </summary>
public static class CalibrateProjector
{
    /// <summary>The field of a quilt map that holds where the cards lay.</summary>
    internal const string CardsField = "cards";

    /// <summary>Solves a profile from nudged points and writes it.</summary>
    /// <param name="points">Four or more cloth points with the projector pixels that fall on them.</param>
    /// <returns>The files, and how far the points lie from the map that was found, projector pixels; 0 for four points.</returns>
    /// <exception cref="InputException">The points don't fix the map, or the target can't be written.</exception>
    public static (Written Written, double RootMeanSquarePixels) Run(
        IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> points,
        int width,
        int height,
        string output,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        ProjectorFit fit = ProjectorCalibration.FromPoints(points, width, height);
        files.Add(output, fit.Profile.Write());
        files.Commit(cancellation);
        return (new(files.Paths, fit.Findings), fit.RootMeanSquarePixels);
    }

    /// <summary>Solves a profile from photos and writes it.</summary>
    /// <exception cref="InputException">The photos, the cards, the map or the target can't be used.</exception>
    public static (Written Written, ProjectorReport Report) FromPhotos(
        ProjectorQuestion question,
        int width,
        int height,
        string output,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        IReadOnlyList<KnownCard> places = PlacesOf(question);
        (List<Photo> photos, CardWishes wishes) = Read(question, progress, cancellation);
        progress?.Report("Looking for cards and projected marks");
        PhotographedProjector found = ProjectorFromPhotos.Solve(photos, width, height, wishes, places, cancellation);
        files.Add(output, found.Profile.Write());
        files.Commit(cancellation);
        return (
            new(files.Paths, found.Findings),
            new(
                found.Marks - found.LeftOut,
                found.LeftOut,
                found.RootMeanSquarePixels,
                found.RootMeanSquare,
                found.HeldOutPixels,
                found.Profile.Bend is not null,
                found.Within95
            )
        );
    }

    /// <summary>Writes the pattern that a projector of so many pixels is calibrated with.</summary>
    /// <exception cref="InputException">The size can't be, or the target can't be written.</exception>
    public static Written Pattern(
        int width,
        int height,
        string output,
        OutputFiles files,
        CancellationToken cancellation = default
    ) => WritePicture(() => ThrownPicture.Pattern(width, height), output, files, cancellation);

    /// <summary>Writes crosses to be nudged onto tape-measured places.</summary>
    /// <exception cref="InputException">A cross lies outside the picture, or the target can't be written.</exception>
    public static Written Crosses(
        IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> points,
        int width,
        int height,
        string output,
        OutputFiles files,
        CancellationToken cancellation = default
    ) =>
        WritePicture(
            () => ThrownPicture.Crosses([.. points.Select(p => p.Projector)], width, height),
            output,
            files,
            cancellation
        );

    /// <summary>Writes a profile's check picture: marks at simple inches of the cloth.</summary>
    /// <exception cref="InputException">The profile or the target can't be used.</exception>
    public static Written CheckPicture(
        string projector,
        string output,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        ProjectorProfile profile = ProjectorProfile.Read(InputFiles.ReadAll(projector), projector);
        return WritePicture(() => ThrownPicture.Check(profile, cancellation), output, files, cancellation);
    }

    /// <summary>Measures a photo of a profile's check picture.</summary>
    /// <exception cref="InputException">The photos or the profile can't be used.</exception>
    public static LightReport Check(
        ProjectorQuestion question,
        string projector,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(question);
        ProjectorProfile profile = ProjectorProfile.Read(InputFiles.ReadAll(projector), projector);
        (List<Photo> photos, CardWishes wishes) = Read(question, progress, cancellation);
        progress?.Report("Measuring the light");
        ProjectorCheckResult r = ProjectorCheck.Measure(photos, profile, wishes, cancellation);
        return new(r.Marks, r.Within95, r.Within95Pixels, r.Worst, r.WorstAt, r.ScalePercent, r.ByCards, r.Findings);
    }

    /// <summary>Points as typed; where a file of that name exists, its lines without what follows a number sign.</summary>
    /// <exception cref="InputException">The file can't be read.</exception>
    public static string PointsText(string typedOrFile)
    {
        ArgumentNullException.ThrowIfNull(typedOrFile);
        return typedOrFile.Contains('=', StringComparison.Ordinal) && !File.Exists(typedOrFile)
            ? typedOrFile
            : string.Join(
                '\n',
                System
                    .Text.Encoding.UTF8.GetString(InputFiles.ReadAll(typedOrFile).Span)
                    .Split('\n')
                    .Select(l => l.Split('#')[0].Replace(" = ", "=", StringComparison.Ordinal))
            );
    }

    /// <summary>A map with the places of its cards, so that a projector's photo can be laid on it.</summary>
    internal static QuiltMap WithCards(QuiltMap map, CardsPlane plane) =>
        new(
            map.Width,
            map.Height,
            map.Junctions,
            map.Seams,
            map.Patches,
            map.Blocks,
            map.Unknown.With(
                CardsField,
                KnownCard.ToJson(plane.Cards.Where(c => c.Used).Select(c => new KnownCard(c.Card.Number, c.Middle)))
            )
        );

    private static IReadOnlyList<KnownCard> PlacesOf(ProjectorQuestion question)
    {
        if (question.Places.Count > 0)
        {
            return [.. question.Places.Select(p => new KnownCard(p.Card, p.At))];
        }

        if (question.Quilt is not { } path)
        {
            return [];
        }

        QuiltMap map = QuiltMapFile.Read(InputFiles.ReadAll(path), path);
        IReadOnlyList<KnownCard> cards = KnownCard.FromJson(
            map.Unknown.Values.TryGetValue(CardsField, out System.Text.Json.JsonElement list) ? list : null
        );
        return cards.Count >= 2
            ? cards
            : throw new InputException(
                "The quilt map does not say where its cards lay",
                path,
                "Map the quilt again from a photo with cards, or say where two cards' middles lie on it: --at \"3=0,0 7=40,0\"."
            );
    }

    private static (List<Photo> Photos, CardWishes Wishes) Read(
        ProjectorQuestion question,
        IProgress<string>? progress,
        CancellationToken cancellation
    )
    {
        LensProfile? lens = question.Lens is { } path ? LensProfile.Read(InputFiles.ReadAll(path), path) : null;
        List<Photo> photos = [];
        foreach (string photo in question.Photos)
        {
            progress?.Report($"Reading {Path.GetFileName(photo)}");
            photos.Add(PhotoReader.Read(photo, cancellation));
        }

        return (
            photos,
            new()
            {
                Lens = lens,
                Tapes = [.. question.Tapes.Select(TapeDistance.Parse)],
                Printed = question.Printed is { } printed ? PrintedSize.Parse(printed) : null,
            }
        );
    }

    private static Written WritePicture(
        Func<Picture> draw,
        string output,
        OutputFiles files,
        CancellationToken cancellation
    )
    {
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        files.Add(output, Rendering.Targets.PlainPicture.Png(draw()));
        files.Commit(cancellation);
        return new(files.Paths, []);
    }
}
