using OpenCvSharp;
using OpenCvSharp.Aruco;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Finds markers and their outer corners, which serve to predict the corners that are measured and for nothing else.</summary>
internal static class MarkerFinder
{
    /// <summary>Each marker's four corners, clockwise from its own top left; of two with one id, neither.</summary>
    public static Dictionary<int, Point<PhotoSpace>[]> Find(Mat grey)
    {
        Dictionary<int, Point<PhotoSpace>[]> found = [];
        HashSet<int> twice = [];
        foreach ((int id, Point<PhotoSpace>[] corners) in FindAll(grey))
        {
            if (!found.TryAdd(id, corners))
            {
                twice.Add(id);
            }
        }

        foreach (int id in twice)
        {
            found.Remove(id);
        }

        return found;
    }

    /// <summary>All markers, in the order of their ids, then from the top.</summary>
    /// <remarks>
    /// The picture is searched twice, as it is and sharpened: of 40 cards with modules of 4 to 6 px and 1.2 to 1.9 px of blur
    /// the first search finds 31, the second 38.
    /// </remarks>
    public static IReadOnlyList<(int Id, Point<PhotoSpace>[] Corners)> FindAll(Mat grey) =>
        FindAll(grey, Markers.Dictionary);

    /// <summary>The same for markers of another dictionary.</summary>
    public static IReadOnlyList<(int Id, Point<PhotoSpace>[] Corners)> FindAll(Mat grey, Dictionary dictionary)
    {
        using Mat soft = new();
        Cv2.GaussianBlur(grey, soft, new Size(0, 0), 1.6);
        using Mat sharp = new();
        Cv2.AddWeighted(grey, 2.5, soft, -1.5, 0, sharp);
        List<(int Id, Point<PhotoSpace>[] Corners)> found = [.. Search(grey, dictionary)];
        foreach ((int id, Point<PhotoSpace>[] corners) in Search(sharp, dictionary))
        {
            double side = corners[0].DistanceTo(corners[1]);
            if (!found.Any(f => f.Id == id && f.Corners[0].DistanceTo(corners[0]) < side / 2))
            {
                found.Add((id, corners));
            }
        }

        return [.. found.OrderBy(m => m.Id).ThenBy(m => m.Corners[0].Y)];
    }

    private static IEnumerable<(int Id, Point<PhotoSpace>[] Corners)> Search(Mat picture, Dictionary dictionary)
    {
        using ArucoDetector detector = new(dictionary, Parameters(picture), new RefineParameters());
        detector.DetectMarkers(picture, out Point2f[][] corners, out int[] ids, out _);
        return ids.Select((id, i) => (id, corners[i].Select(c => new Point<PhotoSpace>(c.X, c.Y)).ToArray()));
    }

    private static DetectorParameters Parameters(Mat grey) =>
        new()
        {
            CornerRefinementMethod = CornerRefineMethod.None,

            // A card of 2 in at 25 px/in has a marker of 19 px.
            MinMarkerPerimeterRate = Math.Min(0.03, 60.0 / Math.Max(grey.Width, grey.Height)),
        };
}
