using OverlayPlanner.Detection;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Reports;
using OverlayPlanner.Workflows.Showing;

namespace OverlayPlanner.Workflows.Mending;

/// <summary>What is asked of a person at a place.</summary>
public enum LookQuestion
{
    /// <summary>Whether a doubtful seam is there.</summary>
    IsSeam,

    /// <summary>Whether a line that the map does not have is a seam.</summary>
    IsMissed,

    /// <summary>Whether a point lies where the map has it.</summary>
    IsPlaced,
}

/// <summary>One place to look at.</summary>
/// <param name="Key">Tells it from the others; the same as long as the question is.</param>
/// <param name="Question">What is asked.</param>
/// <param name="Part">The doubtful part; for a missed line its neighbour that the view can show, or null.</param>
/// <param name="Missed">The line that the map does not have, inches; or null.</param>
/// <param name="What">What it is, in a few words.</param>
/// <param name="Why">Why to look, in a sentence.</param>
public sealed record LookStep(
    string Key,
    LookQuestion Question,
    QuiltPart? Part,
    Edge<ClothSpace>? Missed,
    string What,
    string Why
);

/// <summary>The places of a map to look at first, one question each.</summary>
internal static class LookSteps
{
    // A line beside a seam of the map, inches, is that seam.
    private const double SameInches = 0.15;

    /// <summary>The questions, places in the chooser's order, so that the view need not jump to and fro.</summary>
    public static IReadOnlyList<LookStep> Of(
        QuiltMap map,
        IReadOnlyList<SeamLine> missed,
        IReadOnlyList<string> noSeams,
        LengthWords words
    )
    {
        SeamLine[] open = [.. missed.Where(l => !noSeams.Contains(KeyOf(l)) && !IsThere(map, l.Path))];
        return
        [
            .. LookHereChooser
                .Choose(map, open)
                .Places.SelectMany(p =>
                    p.Seams.Select(id => Doubtful(map.SeamOf(id)))
                        .Concat(p.Missing.Select(l => Missing(map, l)))
                        .Concat(p.Points.Select(id => Loose(map.JunctionOf(id), words)))
                ),
        ];
    }

    private static LookStep Doubtful(Seam seam) =>
        new(
            "seam " + seam.Id,
            LookQuestion.IsSeam,
            new(QuiltPartKind.Seam, seam.Id),
            null,
            "a doubtful seam",
            $"The photo shows it only faintly: of {Tens(seam.Confidence)} like it are seams."
        );

    private static LookStep Missing(QuiltMap map, SeamLine line)
    {
        Point<ClothSpace> middle = line.Path.PointAt(0.5);
        Seam? near = map.Seams.MinBy(s => map.EdgeOf(s).Nearest(middle).Distance);
        return new(
            KeyOf(line),
            LookQuestion.IsMissed,
            near is null ? null : new(QuiltPartKind.Seam, near.Id),
            line.Path,
            "a line that may be a seam",
            $"The photo shows a line here that the map does not have: of {Tens(line.Confidence)} like it are seams."
        );
    }

    private static LookStep Loose(Junction point, LengthWords words) =>
        new(
            "point " + point.Id,
            LookQuestion.IsPlaced,
            new(QuiltPartKind.Point, point.Id),
            null,
            "a point that is poorly known",
            $"Its place is known only within {words.SayError(point.At.Sigma)}."
        );

    private static string KeyOf(SeamLine line) => "line " + MissedLines.NameOf(line);

    private static string Tens(double confidence)
    {
        double tens = Math.Clamp(Math.Round(10 * confidence), 0, 9);
        return tens < 1
            ? "10, not even 1"
            : string.Create(System.Globalization.CultureInfo.InvariantCulture, $"10, about {tens:0}");
    }

    private static bool IsThere(QuiltMap map, Edge<ClothSpace> line)
    {
        double[] along = [0.2, 0.5, 0.8];
        return along.All(t =>
        {
            Point<ClothSpace> p = line.PointAt(t);
            return map.Seams.Any(s =>
            {
                Edge<ClothSpace> path = map.EdgeOf(s);
                return path.Bounds().Grown(SameInches).Holds(p) && path.Nearest(p).Distance <= SameInches;
            });
        });
    }
}
