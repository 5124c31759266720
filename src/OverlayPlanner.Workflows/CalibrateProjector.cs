using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Workflows;

/// <summary>A projector's profile from matched points: crosses that the user nudged onto tape-measured places.</summary>
public static class CalibrateProjector
{
    /// <summary>Solves and writes.</summary>
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
}
