using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A projector's profile with how well it fits.</summary>
/// <param name="Profile">The profile.</param>
/// <param name="RootMeanSquarePixels">
/// Root mean square distance of the points from where the profile puts them, projector px; 0 for four points, which fit exactly
/// and prove nothing.
/// </param>
/// <param name="Findings">Points that disagree with the others, and what else a person should know.</param>
public sealed record ProjectorFit(
    ProjectorProfile Profile,
    double RootMeanSquarePixels,
    IReadOnlyList<Finding> Findings
);

/// <summary>A projector's profile from matched points.</summary>
public static class ProjectorCalibration
{
    // A cross nudged by eye onto a tape mark sits within about two projector pixels (common practice, no source).
    private const double UsualErrorPixels = 2;

    /// <summary>Solves the map from cloth inches to projector pixels.</summary>
    /// <param name="points">At least four, no three on a line among four of them, well spread.</param>
    /// <param name="width">Projector pixels across.</param>
    /// <param name="height">Projector pixels down.</param>
    /// <exception cref="InputException">Too few points, points on a line, numbers that can't be.</exception>
    public static ProjectorFit FromPoints(
        IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> points,
        int width,
        int height
    )
    {
        ArgumentNullException.ThrowIfNull(points);
        Check(points, width, height);
        Homography<ProjectorSpace, ClothSpace> map = HomographyFit.Fit(points) ?? throw OnALine();
        CheckFront(map, points);
        double rms = points.Count == 4 ? 0 : HomographyFit.RootMeanSquare(map, points);
        List<Finding> findings = [];
        if (points.Count == 4)
        {
            findings.Add(
                new(
                    "no-spare-point",
                    "four points",
                    "Four points always fit; give a fifth near the middle, and a slip in any of them will show."
                )
            );
        }

        FindOutliers(points, rms, findings);
        return new(new(width, height, map), rms, findings);
    }

    private static void Check(
        IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> points,
        int width,
        int height
    )
    {
        if (width is < 64 or > 100_000 || height is < 64 or > 100_000)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"A projector of {width} × {height} pixels can't be"),
                "--pixels",
                "Give its own resolution, for example 1920x1080."
            );
        }

        if (points.Count < 4)
        {
            throw new InputException(
                string.Create(CultureInfo.InvariantCulture, $"There are {points.Count} points; four are needed"),
                "--points",
                "Give four or more cloth inches = projector pixels, for example \"0,0=112,80\"."
            );
        }

        for (int i = 0; i < points.Count; i++)
        {
            (Point<ClothSpace> cloth, Point<ProjectorSpace> projector) = points[i];
            if (!cloth.IsFinite || !projector.IsFinite || Math.Max(Math.Abs(cloth.X), Math.Abs(cloth.Y)) > 10_000)
            {
                throw new InputException("A point's numbers can't be", Name(i, cloth), "Give inches = pixels.");
            }

            if (
                projector.X < -0.5 * width
                || projector.X > 1.5 * width
                || projector.Y < -0.5 * height
                || projector.Y > 1.5 * height
            )
            {
                throw new InputException(
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"A point lies far outside the projector's picture of {width} × {height}"
                    ),
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{Name(i, cloth)} = {projector.X:0.#},{projector.Y:0.#}"
                    ),
                    "Give cloth inches first, then projector pixels."
                );
            }

            for (int j = 0; j < i; j++)
            {
                bool sameCloth = points[j].Cloth.DistanceTo(cloth) < 1e-6;
                bool samePixel = points[j].Projector.DistanceTo(projector) < 1e-6;
                if (sameCloth || samePixel)
                {
                    throw new InputException(
                        sameCloth ? "Two points are one place on the cloth" : "Two points are one projector pixel",
                        $"{Name(j, points[j].Cloth)} and {Name(i, cloth)}",
                        "Give each point once."
                    );
                }
            }
        }

        if (
            IsThin(points.Select(p => (p.Cloth.X, p.Cloth.Y)))
            || IsThin(points.Select(p => (p.Projector.X, p.Projector.Y)))
        )
        {
            throw OnALine();
        }
    }

    // The lesser spread is under a fiftieth of the greater one.
    private static bool IsThin(IEnumerable<(double X, double Y)> points)
    {
        List<(double X, double Y)> list = [.. points];
        double cx = list.Average(p => p.X);
        double cy = list.Average(p => p.Y);
        double xx = list.Sum(p => (p.X - cx) * (p.X - cx));
        double yy = list.Sum(p => (p.Y - cy) * (p.Y - cy));
        double xy = list.Sum(p => (p.X - cx) * (p.Y - cy));
        double mean = (xx + yy) / 2;
        double half = Math.Sqrt((xx - yy) * (xx - yy) / 4 + xy * xy);
        return mean - half < 1e-4 * 4 * (mean + half);
    }

    // A map that puts some of its points behind the projector is no projection of them.
    private static void CheckFront(
        Homography<ProjectorSpace, ClothSpace> map,
        IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> points
    )
    {
        IReadOnlyList<double> m = map.RowByRow;
        double[] w = [.. points.Select(p => m[6] * p.Cloth.X + m[7] * p.Cloth.Y + m[8])];
        if (w.Any(v => v > 0) && w.Any(v => v < 0))
        {
            throw new InputException(
                "No projector can throw these points so: their order on the cloth and in the picture disagrees",
                "--points",
                "Check which pixel belongs to which place; two of them are probably swapped."
            );
        }
    }

    private static void FindOutliers(
        IReadOnlyList<(Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)> points,
        double rms,
        List<Finding> findings
    )
    {
        if (points.Count < 5 || rms <= UsualErrorPixels)
        {
            return;
        }

        // With five points every four fit exactly, so none can be named.
        int worst = -1;
        double least = double.PositiveInfinity;
        double distance = 0;
        for (int i = 0; i < points.Count && points.Count > 5; i++)
        {
            (Point<ClothSpace> Cloth, Point<ProjectorSpace> Projector)[] others = [.. points.Where((_, k) => k != i)];
            if (HomographyFit.Fit(others) is not { } without)
            {
                continue;
            }

            // Per degree of freedom, or leaving one out would always seem to help.
            double rest =
                HomographyFit.RootMeanSquare(without, others) * Math.Sqrt(others.Length / (others.Length - 4.0));
            if (rest < least)
            {
                (worst, least) = (i, rest);
                distance = without.Apply(points[i].Cloth).DistanceTo(points[i].Projector);
            }
        }

        if (worst >= 0 && distance > 4 * Math.Max(least, UsualErrorPixels / 2))
        {
            findings.Add(
                new(
                    "point-disagrees",
                    string.Create(
                        CultureInfo.InvariantCulture,
                        $"{Name(worst, points[worst].Cloth)}: {distance:0.#} projector pixels from where the others put it"
                    ),
                    "Measure that point again; without it the rest fits "
                        + string.Create(CultureInfo.InvariantCulture, $"within {least:0.#} px.")
                )
            );
        }
        else
        {
            findings.Add(
                new(
                    "points-disagree",
                    string.Create(CultureInfo.InvariantCulture, $"{rms:0.#} projector pixels root mean square"),
                    "Measure the points again; the cloth must lie flat and the projector must not move."
                )
            );
        }
    }

    private static InputException OnALine() =>
        new(
            "The points lie on one line, or three of four do",
            "--points",
            "Give points spread over the whole picture, for example near its four corners."
        );

    private static string Name(int i, Point<ClothSpace> cloth) =>
        string.Create(CultureInfo.InvariantCulture, $"point {i + 1} at {cloth.X:0.###},{cloth.Y:0.###} in");
}
