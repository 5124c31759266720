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
    public static IReadOnlyList<(int Id, Point<PhotoSpace>[] Corners)> FindAll(Mat grey)
    {
        using ArucoDetector detector = new(Markers.Dictionary, Parameters(grey), new RefineParameters());
        detector.DetectMarkers(grey, out Point2f[][] corners, out int[] ids, out _);
        return
        [
            .. ids.Select((id, i) => (id, corners[i].Select(c => new Point<PhotoSpace>(c.X, c.Y)).ToArray()))
                .OrderBy(m => m.id)
                .ThenBy(m => m.Item2[0].Y),
        ];
    }

    private static DetectorParameters Parameters(Mat grey) =>
        new()
        {
            CornerRefinementMethod = CornerRefineMethod.None,

            // A card of 2 in at 25 px/in has a marker of 19 px.
            MinMarkerPerimeterRate = Math.Min(0.03, 60.0 / Math.Max(grey.Width, grey.Height)),
        };
}
