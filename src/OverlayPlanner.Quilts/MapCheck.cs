using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>What <see cref="MapCheck.Inspect"/> found.</summary>
/// <param name="Map">The map, repaired where that was safe.</param>
/// <param name="Findings">What was repaired, and what a person should look at.</param>
/// <param name="IsPlane">False where seams still cross or overlap: such a map can't be planned on.</param>
public sealed record MapInspection(QuiltMap Map, IReadOnlyList<Finding> Findings, bool IsPlane);

/// <summary>Checks that a map is a plane graph, and repairs what can be repaired without guessing.</summary>
public static class MapCheck
{
    // A junction this close to a seam's inside was meant to lie on it: a fifth of a thread (40 wt is about 0.2 mm).
    private const double OnSeamWithin = 0.002;

    /// <summary>
    /// Splits seams that run through a junction, drops seams of no length and second copies, finds patches where the file's
    /// do not fit the seams; reports seams that dangle, cross or overlap.
    /// </summary>
    public static MapInspection Inspect(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        List<Finding> findings = [];
        List<Seam> seams = DropEmptyAndCopies(map, findings);
        bool changed = seams.Count != map.Seams.Count;
        seams = SplitAtJunctions(map, seams, findings, ref changed);
        QuiltMap current = changed ? Rebuilt(map, seams) : map;

        PlaneGraph<ClothSpace> graph = current.ToPlaneGraph();
        bool plane = true;
        foreach ((int a, int b, EdgeRelation relation) in graph.FindConflicts())
        {
            // Splitting rounds the new ends; what then overlaps by less than a thread's width is no conflict to a needle.
            if (IsHairline(graph[a], graph[b], relation))
            {
                continue;
            }

            plane = false;
            string what = relation == EdgeRelation.Overlap ? "seams-overlap" : "seams-cross";
            findings.Add(
                new(what, Describe(current, a, b), "Move or remove one of the two, or put a point where they meet.")
            );
        }

        for (int v = 0; v < graph.Nodes.Count; v++)
        {
            if (graph.DegreeOf(v) == 1)
            {
                Junction j = current.Junctions[v];
                findings.Add(
                    new(
                        "seam-dangles",
                        $"{j.Id} at {At(j.Place)}",
                        "A seam ends here in the middle of a patch; lead it on or remove it."
                    )
                );
            }
        }

        if (plane && !PatchesFit(current))
        {
            IReadOnlyList<Patch> found = PatchFinder.FindPatches(current);
            QuiltMap bare = new(
                current.Width,
                current.Height,
                current.Junctions,
                current.Seams,
                found,
                unknown: current.Unknown
            );
            current = bare.With(blocks: PatchFinder.Assign(bare, current.Blocks));
            if (map.Patches.Count > 0)
            {
                findings.Add(
                    new(
                        "patches-found-again",
                        "patches",
                        "The file's patches did not fit its seams; they were found from the seams."
                    )
                );
            }
        }

        return new(current, findings, plane);
    }

    /// <summary>The map if it can be planned on.</summary>
    /// <exception cref="InputException">Seams cross or overlap; says where the first do.</exception>
    public static QuiltMap RequirePlane(MapInspection inspection, string name)
    {
        ArgumentNullException.ThrowIfNull(inspection);
        if (inspection.IsPlane)
        {
            return inspection.Map;
        }

        Finding first = inspection.Findings.First(f => f.What is "seams-cross" or "seams-overlap");
        string what =
            first.What == "seams-cross" ? "Seams of the map cross where there is no point" : "Seams of the map overlap";
        throw new InputException(what, $"{name}: {first.Where}", first.Remedy);
    }

    private static List<Seam> DropEmptyAndCopies(QuiltMap map, List<Finding> findings)
    {
        List<Seam> kept = new(map.Seams.Count);
        HashSet<(string, string, double)> seen = [];
        foreach (Seam s in map.Seams)
        {
            bool forward = string.CompareOrdinal(s.From, s.To) <= 0;
            if (map.JunctionOf(s.From).Place == map.JunctionOf(s.To).Place)
            {
                findings.Add(new("seam-of-no-length", $"seam {s.Id}", "It was left out."));
            }
            else if (!seen.Add(forward ? (s.From, s.To, s.Bulge) : (s.To, s.From, -s.Bulge)))
            {
                findings.Add(new("seam-stands-twice", $"seam {s.Id}", "The second copy was left out."));
            }
            else
            {
                kept.Add(s);
            }
        }

        return kept;
    }

    private static List<Seam> SplitAtJunctions(QuiltMap map, List<Seam> seams, List<Finding> findings, ref bool changed)
    {
        NetTopologySuite.Index.Strtree.STRtree<Junction> tree = new();
        foreach (Junction j in map.Junctions)
        {
            tree.Insert(new(j.Place.X, j.Place.X, j.Place.Y, j.Place.Y), j);
        }

        List<Seam> result = new(seams.Count);
        foreach (Seam s in seams)
        {
            Edge<ClothSpace> path = map.EdgeOf(s);
            Box<ClothSpace> box = path.Bounds().Grown(OnSeamWithin);
            List<(double T, Junction J)> stops = [];
            foreach (Junction j in tree.Query(new(box.Left, box.Right, box.Top, box.Bottom)))
            {
                if (j.Id == s.From || j.Id == s.To)
                {
                    continue;
                }

                (double t, double distance) = path.Nearest(j.Place);
                if (distance <= OnSeamWithin && t * path.Length > OnSeamWithin && (1 - t) * path.Length > OnSeamWithin)
                {
                    stops.Add((t, j));
                }
            }

            if (stops.Count == 0)
            {
                result.Add(s);
                continue;
            }

            changed = true;
            stops.Sort((a, b) => a.T.CompareTo(b.T));
            findings.Add(
                new(
                    "seam-split",
                    $"seam {s.Id} at {string.Join(", ", stops.Select(x => x.J.Id))}",
                    "It ran through a point; it was split there."
                )
            );
            string from = s.From;
            double last = 0;
            int n = 0;
            foreach ((double t, string to) in stops.Select(x => (x.T, x.J.Id)).Append((1.0, s.To)))
            {
                n++;
                double bulge = s.Bulge == 0 ? 0 : Math.Tan((t - last) * path.Sweep / 4);
                result.Add(
                    s with
                    {
                        Id = $"{s.Id}.{n.ToString(CultureInfo.InvariantCulture)}",
                        From = from,
                        To = to,
                        Bulge = bulge,
                    }
                );
                from = to;
                last = t;
            }
        }

        return result;
    }

    private static QuiltMap Rebuilt(QuiltMap map, List<Seam> seams) =>
        new(
            map.Width,
            map.Height,
            map.Junctions,
            seams,
            patches: null,
            blocks: [.. map.Blocks.Select(b => b with { Patches = [] })],
            map.Unknown
        );

    // Every seam of a ring leads on to the next, and each bounded face is one patch's ring.
    private static bool PatchesFit(QuiltMap map)
    {
        static string Key(IEnumerable<string> ids) => string.Join(' ', ids.Order(StringComparer.Ordinal));
        HashSet<string> found = [.. PatchFinder.FindPatches(map).Select(p => Key(p.Seams))];
        return map.Patches.Count == found.Count && map.Patches.All(p => found.Contains(Key(p.Seams)));
    }

    private static bool IsHairline(Edge<ClothSpace> a, Edge<ClothSpace> b, EdgeRelation relation)
    {
        if (relation == EdgeRelation.Touch)
        {
            // The end that touches must be within a hair of an end of the other.
            return Ends(a).Any(p => Ends(b).Any(q => p.DistanceTo(q) <= OnSeamWithin));
        }

        if (!a.IsLine || !b.IsLine || relation != EdgeRelation.Cross)
        {
            return false;
        }

        Vector<ClothSpace> da = a.To - a.From;
        Vector<ClothSpace> db = b.To - b.From;
        Point<ClothSpace> x = a.From.Toward(a.To, (b.From - a.From).Cross(db) / da.Cross(db));
        return Ends(a).Any(p => p.DistanceTo(x) <= OnSeamWithin) && Ends(b).Any(p => p.DistanceTo(x) <= OnSeamWithin);

        static Point<ClothSpace>[] Ends(Edge<ClothSpace> e) => [e.From, e.To];
    }

    private static string Describe(QuiltMap map, int a, int b)
    {
        (double T, double Distance) near = (0, double.PositiveInfinity);
        Edge<ClothSpace> ea = map.EdgeOf(map.Seams[a]);
        Edge<ClothSpace> eb = map.EdgeOf(map.Seams[b]);
        for (int i = 0; i <= 64; i++)
        {
            double d = eb.Nearest(ea.PointAt(i / 64.0)).Distance;
            near = d < near.Distance ? (i / 64.0, d) : near;
        }

        return $"seams {map.Seams[a].Id} and {map.Seams[b].Id} near {At(ea.PointAt(near.T))}";
    }

    private static string At(Point<ClothSpace> p) =>
        string.Create(CultureInfo.InvariantCulture, $"({p.X:0.##}, {p.Y:0.##}) in");
}
