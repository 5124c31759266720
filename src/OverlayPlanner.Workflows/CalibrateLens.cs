using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Targets;

namespace OverlayPlanner.Workflows;

/// <summary>A camera profile from photos of the lens board or of a chessboard.</summary>
public static class CalibrateLens
{
    /// <summary>Solves and writes the profile, and the picture of coverage and residuals where <paramref name="picture"/> is given.</summary>
    /// <param name="photos">Files of photos by one camera.</param>
    /// <param name="board">The printed lens board or a chessboard.</param>
    /// <exception cref="InputException">The photos can't be used, or a target can't be written.</exception>
    public static (Written Written, LensCalibrationResult Result) Run(
        IReadOnlyList<string> photos,
        CalibrationBoard board,
        string output,
        string? picture,
        OutputFiles files,
        IProgress<string>? progress = null,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(photos);
        ArgumentNullException.ThrowIfNull(files);
        files.Claim(output);
        if (picture is not null)
        {
            files.Claim(picture);
        }

        List<Photo> read = [];
        foreach (string photo in photos)
        {
            progress?.Report($"Reading {photo}");
            read.Add(PhotoReader.Read(photo, cancellation));
        }

        progress?.Report("Solving the lens");
        LensCalibrationResult result = LensCalibration.Solve(read, board, cancellation);
        files.Add(output, result.Lens.Write());
        if (picture is not null)
        {
            files.Add(picture, PlainPicture.Png(result.Picture));
        }

        files.Commit(cancellation);
        return (new(files.Paths, result.Findings), result);
    }
}
