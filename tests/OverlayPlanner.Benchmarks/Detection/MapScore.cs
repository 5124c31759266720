using NetTopologySuite.Geometries;
using NetTopologySuite.Operation.Overlay;
using NetTopologySuite.Operation.OverlayNG;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using Face = NetTopologySuite.Geometries.Geometry;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>How well a found map agrees with the true one, in inches on the rectified plane.</summary>
/// <remarks>
/// Points are matched one to one within a tolerance, the four corners of the mapped area left out, since they are given. A
/// seam piece is found where both its ends are within the tolerance of the ends of a true piece (and an arc's middle too); the
/// outline is left out. A patch is found where the intersection over union is at least 0.7. Pieces are compared after points
/// that only pass a straight seam on are taken out of both maps.
/// <para>
/// Published protocols: the Berkeley segmentation benchmark (BSDS; D. Martin, C. Fowlkes, J. Malik, "Learning to detect natural
/// image boundaries", 2004) matches boundary pixels one to one by least-cost assignment within 0.75 % of the image's diagonal
/// and gives precision, recall and F; the same is done here with points and whole pieces, in inches on the cloth, and with the
/// most pairs rather than the least cost, which gives the same count (a test holds both against each other). Its best threshold
/// over the set is not used: a map has no threshold. The line segment detector (LSD; R. Grompone von Gioi and others, 2010) is
/// published with a test on noise instead of a truth, at most one false detection a picture on average; the tests of hard
/// photographs follow that.
/// </para>
/// </remarks>
/// <param name="Points">Points.</param>
/// <param name="Seams">Seam pieces.</param>
/// <param name="Patches">Patches.</param>
/// <param name="PointErrors">Distances of the matched points, inches.</param>
public sealed record MapScore(Tally Points, Tally Seams, Tally Patches, IReadOnlyList<double> PointErrors)
{
    private const double LeastOverlap = 0.7;

    /// <summary>Compares two maps of the same area.</summary>
    public static MapScore Compare(QuiltMap found, QuiltMap truth, double tolerance = 0.125)
    {
        ArgumentNullException.ThrowIfNull(found);
        ArgumentNullException.ThrowIfNull(truth);
        (List<Point<ClothSpace>> foundPoints, List<Edge<ClothSpace>> foundSeams) = Simplify(found);
        (List<Point<ClothSpace>> truePoints, List<Edge<ClothSpace>> trueSeams) = Simplify(truth);
        int[] points = OneToOne.Match(
            foundPoints.Count,
            truePoints.Count,
            (f, t) => foundPoints[f].DistanceTo(truePoints[t]),
            tolerance
        );
        int[] seams = OneToOne.Match(
            foundSeams.Count,
            trueSeams.Count,
            (f, t) => Distance(foundSeams[f], trueSeams[t]),
            tolerance
        );
        Face[] foundPatches = [.. found.Patches.Select(p => Shape(found, p))];
        Face[] truePatches = [.. truth.Patches.Select(p => Shape(truth, p))];
        int[] patches = OneToOne.Match(
            foundPatches.Length,
            truePatches.Length,
            (f, t) => 1 - Overlap(foundPatches[f], truePatches[t]),
            1 - LeastOverlap
        );
        return new(
            Count(points, truePoints.Count),
            Count(seams, trueSeams.Count),
            Count(patches, truePatches.Length),
            [.. points.Index().Where(m => m.Item >= 0).Select(m => foundPoints[m.Index].DistanceTo(truePoints[m.Item]))]
        );
    }

    /// <summary>Points alone, in a part of the area where <paramref name="isIn"/> is given: all are matched, those in it count.</summary>
    public static Tally ComparePoints(
        QuiltMap found,
        QuiltMap truth,
        double tolerance,
        Func<Point<ClothSpace>, bool>? isIn = null
    )
    {
        ArgumentNullException.ThrowIfNull(found);
        ArgumentNullException.ThrowIfNull(truth);
        List<Point<ClothSpace>> foundPoints = Simplify(found).Points;
        List<Point<ClothSpace>> truePoints = Simplify(truth).Points;
        int[] matches = OneToOne.Match(
            foundPoints.Count,
            truePoints.Count,
            (f, t) => foundPoints[f].DistanceTo(truePoints[t]),
            tolerance
        );
        HashSet<int> hit = [.. matches.Where(m => m >= 0)];
        bool Counts(Point<ClothSpace> p) => isIn is null || isIn(p);
        return new(
            hit.Count(t => Counts(truePoints[t])),
            truePoints.Index().Count(t => !hit.Contains(t.Index) && Counts(t.Item)),
            matches.Index().Count(f => f.Item < 0 && Counts(foundPoints[f.Index]))
        );
    }

    private static Tally Count(int[] matches, int truth)
    {
        int hits = matches.Count(m => m >= 0);
        return new(hits, truth - hits, matches.Length - hits);
    }

    private static double Distance(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        double ends = Math.Min(
            Math.Max(a.From.DistanceTo(b.From), a.To.DistanceTo(b.To)),
            Math.Max(a.From.DistanceTo(b.To), a.To.DistanceTo(b.From))
        );
        return a.IsLine && b.IsLine ? ends : Math.Max(ends, a.PointAt(0.5).DistanceTo(b.PointAt(0.5)));
    }

    // A peer's map may be no plane graph: its patches are mended first.
    private static Face Shape(QuiltMap map, Patch patch)
    {
        Polygon polygon = PatchFinder.ToPolygon(map, patch, 0.02);
        return polygon.IsValid ? polygon : NetTopologySuite.Geometries.Utilities.GeometryFixer.Fix(polygon);
    }

    private static double Overlap(Face a, Face b)
    {
        if (!a.EnvelopeInternal.Intersects(b.EnvelopeInternal))
        {
            return 0;
        }

        double shared = OverlayNGRobust.Overlay(a, b, SpatialFunction.Intersection).Area;
        return shared / (a.Area + b.Area - shared);
    }

    // Points and inner seams; a point that only passes a straight seam on is none.
    private static (List<Point<ClothSpace>> Points, List<Edge<ClothSpace>> Seams) Simplify(QuiltMap map)
    {
        const double StraightCosine = 0.9962; // 5 degrees
        Dictionary<string, List<Seam>> around = map.Junctions.ToDictionary(j => j.Id, _ => new List<Seam>());
        List<Seam> seams = [.. map.Seams];
        foreach (Seam s in seams)
        {
            around[s.From].Add(s);
            around[s.To].Add(s);
        }

        foreach (Junction j in map.Junctions)
        {
            List<Seam> at = around[j.Id];
            if (at.Count != 2 || at[0].Bulge != 0 || at[1].Bulge != 0)
            {
                continue;
            }

            (string a, string b) = (Other(at[0], j.Id), Other(at[1], j.Id));
            Vector<ClothSpace> da = (map.JunctionOf(a).Place - j.Place).Unit;
            Vector<ClothSpace> db = (map.JunctionOf(b).Place - j.Place).Unit;
            if (a == b || da.Dot(db) > -StraightCosine)
            {
                continue;
            }

            Seam joined = new(at[0].Id, a, b, 0, at[0].Role);
            foreach (Seam s in at.ToArray())
            {
                seams.Remove(s);
                around[s.From].Remove(s);
                around[s.To].Remove(s);
            }

            seams.Add(joined);
            around[a].Add(joined);
            around[b].Add(joined);
        }

        bool IsCorner(Point<ClothSpace> p) =>
            (p.X == 0 || p.X == map.Width.Inches) && (p.Y == 0 || p.Y == map.Height.Inches);
        return (
            [.. map.Junctions.Where(j => around[j.Id].Count > 0 && !IsCorner(j.Place)).Select(j => j.Place)],
            [
                .. seams
                    .Where(s => s.Role != SeamRole.Edge)
                    .Select(s => new Edge<ClothSpace>(
                        map.JunctionOf(s.From).Place,
                        map.JunctionOf(s.To).Place,
                        s.Bulge
                    )),
            ]
        );
    }

    private static string Other(Seam s, string id) => s.From == id ? s.To : s.From;
}
