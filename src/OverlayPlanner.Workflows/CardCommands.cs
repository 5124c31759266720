using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;
using OverlayPlanner.Rendering;
using OverlayPlanner.Rendering.Pictures;

namespace OverlayPlanner.Workflows;

/// <summary>What a lens calibration came to.</summary>
/// <param name="Model">The distortion terms that were kept, in words.</param>
/// <param name="RmsPixels">Root mean square of the 2-D reprojection distances, photo pixels.</param>
/// <param name="HeldOutRmsPixels">The same in photos that the lens was not fitted to.</param>
/// <param name="PhotosUsed">Photos that entered.</param>
/// <param name="PhotosGiven">Photos that were given.</param>
public sealed record LensReport(
    string Model,
    double RmsPixels,
    double HeldOutRmsPixels,
    int PhotosUsed,
    int PhotosGiven
);

/// <summary>What a user asks of a map from marker cards, as typed.</summary>
public sealed record CardMapQuestion
{
    /// <summary>Files of one or more photographs by one camera.</summary>
    public required IReadOnlyList<string> Photos { get; init; }

    /// <summary>A lens profile's file, or null.</summary>
    public string? Lens { get; init; }

    /// <summary>Tape-measured distances between cards: <c>3:7=40.25</c>.</summary>
    public IReadOnlyList<string> Tapes { get; init; } = [];

    /// <summary>The page's two long rulers as measured, <c>6.98x8.97</c>, or null.</summary>
    public string? Printed { get; init; }

    /// <summary>What the mapped area's sides are.</summary>
    public EdgeKind Outline { get; init; } = EdgeKind.Cut;

    /// <summary>What the user knows of the top, and edits to carry over.</summary>
    public MapHints Hints { get; init; } = MapHints.None;

    /// <summary>What is done with the map once it is found.</summary>
    public MapExtras Extras { get; init; } = new();

    /// <summary>The same, read.</summary>
    /// <exception cref="InputException">A tape or the printed size can't be read.</exception>
    internal CardMapWishes ToWishes() =>
        new()
        {
            Photos = Photos,
            Lens = Lens,
            Tapes = [.. Tapes.Select(TapeDistance.Parse)],
            Printed = Printed is { } printed ? PrintedSize.Parse(printed) : null,
            Outline = Outline,
            Hints = Hints,
            Extras = Extras,
        };
}

/// <summary>Cards, lens and maps from cards, with the user's words for arguments.</summary>
public static class CardCommands
{
    /// <summary>Writes the printable cards and the lens board into a folder, which is made where it does not exist.</summary>
    /// <param name="paper">letter or a4.</param>
    /// <param name="fit">Width and height of a top for which a layout is drawn, or null.</param>
    /// <exception cref="InputException">The paper, the size or the folder can't be used.</exception>
    public static Written Targets(
        string paper,
        string folder,
        (Length Width, Length Height)? fit,
        OutputFiles files,
        CancellationToken cancellation = default
    )
    {
        TargetWishes wishes = new()
        {
            Paper = PaperSize.Parse(paper),
            Folder = folder,
            FitWidth = fit?.Width,
            FitHeight = fit?.Height,
        };
        OutputFiles.MakeFolder(folder);
        return MakeTargets.Run(wishes, files, cancellation);
    }

    /// <summary>Solves a camera profile and writes it.</summary>
    /// <param name="chessboard">Inner corners across and down of a plain chessboard, or null for the printed lens board.</param>
    /// <param name="square">Side of a square as measured; the board's own where null.</param>
    /// <exception cref="InputException">The photos can't be used, or a target can't be written.</exception>
    public static (Written Written, LensReport Report) Lens(
        IReadOnlyList<string> photos,
        (int Across, int Down)? chessboard,
        Length? square,
        string output,
        string? picture,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        CalibrationBoard board =
            chessboard is { } inner
                ? CalibrationBoard.Chessboard(inner.Across, inner.Down, square ?? Length.FromInches(1))
            : square is { } measured ? CalibrationBoard.Printed with { Square = measured }
            : CalibrationBoard.Printed;
        (Written written, LensCalibrationResult result) = CalibrateLens.Run(
            photos,
            board,
            output,
            picture,
            files,
            progress,
            cancellation
        );
        int used = result.Photos.Count(p => p.Use == BoardPhotoUse.Used);
        return (written, new(result.Model, result.RmsPixels, result.HeldOutRmsPixels, used, photos.Count));
    }

    /// <summary>Maps a quilt from photographs with cards, and writes the map, and the preview where wanted.</summary>
    /// <returns>The files, the map, and the distance within which 95 % of its points lie from where it puts them.</returns>
    /// <exception cref="InputException">The photographs, the cards or a target can't be used.</exception>
    public static (Written Written, QuiltMap Map, Length Within95) Map(
        CardMapQuestion question,
        string output,
        string? preview,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(question);
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        if (preview is not null)
        {
            files.Claim(preview);
        }

        question.Extras.Claim(files);
        CardMappedQuilt mapped = MapFromCards.Run(question.ToWishes(), progress, cancellation);
        List<Finding> findings = [.. mapped.Quilt.Findings];
        files.Add(output, QuiltMapFile.Write(CalibrateProjector.WithCards(mapped.Quilt.Map, mapped.Plane)));
        if (preview is not null)
        {
            RenderedFile drawn = MapPreview.Render(
                mapped.Quilt.Rectified,
                mapped.Quilt.Map,
                mapped.Quilt.Margin,
                cancellation
            );
            findings.AddRange(drawn.Findings);
            files.Add(preview, drawn.Bytes);
        }

        question.Extras.Draw(mapped.Quilt, files, progress, cancellation);
        files.Commit(cancellation);
        return (new(files.Paths, findings), mapped.Quilt.Map, mapped.ErrorWithin95);
    }
}
