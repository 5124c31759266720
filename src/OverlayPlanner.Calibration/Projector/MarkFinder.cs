using OpenCvSharp;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>A marker as a photo shows it, its corners clockwise from its own top left.</summary>
internal sealed record SeenMarker(int Id, Point<PhotoSpace>[] Corners)
{
    /// <summary>Where its diagonals meet.</summary>
    public Point<PhotoSpace> Middle => new(Corners.Average(c => c.X), Corners.Average(c => c.Y));

    /// <summary>Shortest of its sides, px.</summary>
    public double Side => Enumerable.Range(0, 4).Min(k => Corners[k].DistanceTo(Corners[(k + 1) % 4]));
}

/// <summary>What a photo shows of a field of marks.</summary>
/// <param name="Markers">Markers that agree on where the field lies.</param>
/// <param name="Corners">Measured corners.</param>
/// <param name="Others">Markers of the field's own numbers that lie where the field does not, and agree with each other.</param>
internal sealed record SeenField(
    int Markers,
    IReadOnlyList<(Point<MarkSpace> Mark, Point<PhotoSpace> Seen)> Corners,
    int Others
);

/// <summary>Finds projected marks in photos and measures their corners.</summary>
internal static class MarkFinder
{
    /// <summary>Markers that must agree before a field is believed.</summary>
    public const int LeastMarkers = 6;

    // A corner is predicted from so many of its nearest markers, none further away, squares.
    private const int Nearest = 6;
    private const double Near = 3.2;

    // Of all marks seen, so many must agree: two projectors' patterns have half each.
    private const double LeastShare = 0.3;

    private const int Tries = 400;

    // A corner is predicted from so many measured ones beside it, in so many rounds of growth.
    private const int LeastNeighbours = 6;
    private const int MostNeighbours = 12;
    private const int MostRounds = 20;

    /// <summary>All markers of the projected make.</summary>
    public static IReadOnlyList<SeenMarker> FindMarkers(Mat grey) =>
        [.. MarkerFinder.FindAll(grey, MarkField.Dictionary).Select(m => new SeenMarker(m.Id, m.Corners))];

    /// <summary>The field among the markers seen; null where fewer than <see cref="LeastMarkers"/> agree.</summary>
    public static SeenField? Find(Mat grey, IReadOnlyList<SeenMarker> markers, MarkField field)
    {
        List<(SeenMarker Seen, Point<MarkSpace> Middle)> own =
        [
            .. markers.Where(m => field.MiddleOf(m.Id) is not null).Select(m => (m, field.MiddleOf(m.Id)!.Value)),
        ];
        List<(SeenMarker Seen, Point<MarkSpace> Middle)> agreed = Agreeing(own);
        if (!IsBelieved(agreed.Count, markers.Count))
        {
            return null;
        }

        List<(SeenMarker, Point<MarkSpace>)> second = Agreeing([.. own.Except(agreed)]);
        int others = second.Count >= Math.Max(LeastMarkers, agreed.Count / 10) ? second.Count : 0;
        return new(agreed.Count, Measure(grey, field, agreed), others);
    }

    /// <summary>How many markers agree on where a field lies, without measuring anything.</summary>
    /// <returns>0 where too few agree for the field to be believed.</returns>
    public static int CountOf(IReadOnlyList<SeenMarker> markers, MarkField field)
    {
        int agreed = Agreeing([
            .. markers.Where(m => field.MiddleOf(m.Id) is not null).Select(m => (m, field.MiddleOf(m.Id)!.Value)),
        ]).Count;
        return IsBelieved(agreed, markers.Count) ? agreed : 0;
    }

    // Numbers follow each other along rows in every field, so a row or two of another field's marks always agree.
    private static bool IsBelieved(int agreed, int seen) => agreed >= LeastMarkers && agreed >= LeastShare * seen;

    /// <summary>The picture seen in a mirror; the caller disposes of it.</summary>
    public static Mat Mirrored(Mat grey)
    {
        Mat turned = new();
        Cv2.Flip(grey, turned, FlipMode.Y);
        return turned;
    }

    // The largest set that one projective map explains, by random pairs of markers (M. Fischler and R. Bolles, 1981). The lens
    // and the projector bend the field by less than the tolerance, a quarter of a marker.
    private static List<(SeenMarker Seen, Point<MarkSpace> Middle)> Agreeing(
        List<(SeenMarker Seen, Point<MarkSpace> Middle)> own
    )
    {
        List<(SeenMarker Seen, Point<MarkSpace> Middle)> best = [];
        if (own.Count < 3)
        {
            return best;
        }

        Random random = new(20250117);
        for (int n = 0; n < Tries && best.Count < 0.95 * own.Count; n++)
        {
            HashSet<int> drawn = [];
            while (drawn.Count < 3)
            {
                drawn.Add(random.Next(own.Count));
            }

            Take([.. drawn.Select(k => own[k])]);
        }

        for (int n = 0; n < 3 && best.Count >= LeastMarkers; n++)
        {
            Take(best);
        }

        return best;

        void Take(IReadOnlyList<(SeenMarker Seen, Point<MarkSpace> Middle)> from)
        {
            if (MapOf(from) is not { } map)
            {
                return;
            }

            List<(SeenMarker, Point<MarkSpace>)> within =
            [
                .. own.Where(m => map.Apply(m.Middle).DistanceTo(m.Seen.Middle) < 0.25 * m.Seen.Side),
            ];
            if (within.Count > best.Count)
            {
                best = within;
            }
        }
    }

    private static Homography<PhotoSpace, MarkSpace>? MapOf(
        IReadOnlyList<(SeenMarker Seen, Point<MarkSpace> Middle)> markers
    ) =>
        HomographyFit.Fit<PhotoSpace, MarkSpace>([
            .. markers.SelectMany(m => MarkField.OutlineAt(m.Middle).Zip(m.Seen.Corners)),
        ]);

    // Corners beside markers first; then, round by round, those beside corners that are measured: a print or a dark patch hides
    // many a marker's bits, but hardly a corner.
    private static IReadOnlyList<(Point<MarkSpace> Mark, Point<PhotoSpace> Seen)> Measure(
        Mat grey,
        MarkField field,
        List<(SeenMarker Seen, Point<MarkSpace> Middle)> markers
    )
    {
        Dictionary<Point<MarkSpace>, Point<PhotoSpace>> measured = [];
        Grow(grey, field, measured, corner => NearMarkers(markers, corner));
        for (int round = 0; round < MostRounds; round++)
        {
            int before = measured.Count;
            Grow(grey, field, measured, corner => NearCorners(measured, corner));
            if (measured.Count == before)
            {
                break;
            }
        }

        return [.. measured.Select(m => (m.Key, m.Value)).OrderBy(m => m.Key.Y).ThenBy(m => m.Key.X)];
    }

    private static void Grow(
        Mat grey,
        MarkField field,
        Dictionary<Point<MarkSpace>, Point<PhotoSpace>> measured,
        Func<Point<MarkSpace>, Homography<PhotoSpace, MarkSpace>?> mapNear
    )
    {
        List<Point<MarkSpace>> wanted = [];
        List<(Point<PhotoSpace>, Vector<PhotoSpace>, Vector<PhotoSpace>)> predicted = [];
        foreach (Point<MarkSpace> corner in field.Corners.Where(c => !measured.ContainsKey(c)))
        {
            if (mapNear(corner) is not { } map)
            {
                continue;
            }

            Point<PhotoSpace> at = map.Apply(corner);
            wanted.Add(corner);
            predicted.Add(
                (
                    at,
                    (map.Apply(corner + new Vector<MarkSpace>(0.1, 0)) - at) * 10,
                    (map.Apply(corner + new Vector<MarkSpace>(0, 0.1)) - at) * 10
                )
            );
        }

        MeasuredCorner?[] refined = CornerRefiner.Refine(grey, predicted, MarkField.Window);
        for (int k = 0; k < wanted.Count; k++)
        {
            if (refined[k] is { } found)
            {
                measured[wanted[k]] = found.At;
            }
        }
    }

    private static Homography<PhotoSpace, MarkSpace>? NearMarkers(
        List<(SeenMarker Seen, Point<MarkSpace> Middle)> markers,
        Point<MarkSpace> corner
    )
    {
        (SeenMarker, Point<MarkSpace>)[] near =
        [
            .. markers
                .Where(m => m.Middle.DistanceTo(corner) < Near)
                .OrderBy(m => m.Middle.DistanceTo(corner))
                .Take(Nearest),
        ];
        return near.Length < 2 ? null : MapOf(near);
    }

    private static Homography<PhotoSpace, MarkSpace>? NearCorners(
        Dictionary<Point<MarkSpace>, Point<PhotoSpace>> measured,
        Point<MarkSpace> corner
    )
    {
        (Point<MarkSpace>, Point<PhotoSpace>)[] near =
        [
            .. from dy in Enumerable.Range(-2, 5)
            from dx in Enumerable.Range(-2, 5)
            let at = corner + new Vector<MarkSpace>(dx, dy)
            where measured.ContainsKey(at)
            orderby dx * dx + dy * dy
            select (at, measured[at]),
        ];
        return near.Length < LeastNeighbours
            ? null
            : HomographyFit.Fit<PhotoSpace, MarkSpace>([.. near.Take(MostNeighbours)]);
    }
}
