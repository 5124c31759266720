using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Files;

namespace OverlayPlanner.Workflows;

/// <summary>Files that a verb reads.</summary>
public static class InputFiles
{
    // A quilt of 5,000 seams is about 2 MB; a file beyond this is something else.
    private const long LargestJson = 256L << 20;

    /// <summary>The bytes of a file; <c>-</c> reads standard input.</summary>
    /// <exception cref="InputException">Missing, unreadable, a folder, or absurdly large.</exception>
    public static ReadOnlyMemory<byte> ReadAll(string path)
    {
        ArgumentNullException.ThrowIfNull(path);
        try
        {
            if (path == "-")
            {
                using Stream input = Console.OpenStandardInput();
                using MemoryStream copy = new();
                input.CopyTo(copy);
                return copy.ToArray();
            }

            if (Directory.Exists(path))
            {
                throw new InputException("A folder stands where a file should", path, "Give the name of a file.");
            }

            FileInfo info = new(path);
            if (!info.Exists)
            {
                throw new InputException("The file does not exist", path, "Check its name and folder.");
            }

            if (info.Length > LargestJson)
            {
                throw new InputException(
                    "The file is too large for what it should be",
                    path,
                    "Give the file that the program wrote."
                );
            }

            return File.ReadAllBytes(path);
        }
        catch (Exception e)
            when (e is IOException or UnauthorizedAccessException or ArgumentException or NotSupportedException)
        {
            throw new InputException("The file can't be read", path, "Check its name and rights.", e);
        }
    }

    /// <summary>Reads a quilt map and checks that it can be planned on.</summary>
    /// <exception cref="InputException">The file can't be used; says where.</exception>
    public static (QuiltMap Map, IReadOnlyList<Finding> Findings) ReadPlaneMap(string path)
    {
        MapInspection inspection = MapCheck.Inspect(QuiltMapFile.Read(ReadAll(path), path));
        return (MapCheck.RequirePlane(inspection, path), inspection.Findings);
    }

    /// <summary>Reads a route and checks that its moves fit the map it carries.</summary>
    /// <exception cref="InputException">The file can't be used; says where.</exception>
    public static Route ReadRoute(string path)
    {
        Route route = RouteFile.Read(ReadAll(path), path);
        foreach (RouteCandidate candidate in route.Candidates)
        {
            foreach (Move move in candidate.AllMoves)
            {
                RequireOnMap(route.Quilt, move, path);
            }
        }

        return route;
    }

    // Coordinates of a move repeat the map's numbers; a route for another map would be drawn in the wrong place.
    private static void RequireOnMap(QuiltMap map, Move move, string path)
    {
        if (move.Seam is null)
        {
            return;
        }

        Edge<ClothSpace> edge = map.EdgeOf(map.SeamOf(move.Seam));
        bool fits =
            (edge.From == move.Path.From && edge.To == move.Path.To)
            || (edge.To == move.Path.From && edge.From == move.Path.To);
        if (!fits)
        {
            throw new InputException(
                $"A move along seam {move.Seam} does not lie on that seam: the route is for another map",
                path,
                "Plan the route again on this map."
            );
        }
    }
}
