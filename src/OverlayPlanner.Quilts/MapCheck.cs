using System.Globalization;
using OverlayPlanner.Geometry;
using Outline = NetTopologySuite.Geometries.Geometry;

namespace OverlayPlanner.Quilts;

/// <summary>What <see cref="MapCheck.Inspect"/> found.</summary>
/// <param name="Map">The map, repaired where that was safe.</param>
/// <param name="Findings">What was repaired, and what a person should look at.</param>
/// <param name="IsPlane">False where seams still cross or overlap: such a map can't be planned on.</param>
public sealed record MapInspection(QuiltMap Map, IReadOnlyList<Finding> Findings, bool IsPlane);

/// <summary>Checks that a map is a plane graph, and repairs what can be repaired without guessing.</summary>
public static class MapCheck
{
    /// <summary>Points closer than this are one, inches: a quarter of a thread (40 wt is about 0.2 mm, 0.008 in).</summary>
    internal const double OneWithinInches = 0.002;

    private const double OneWithin = OneWithinInches;

    /// <summary>
    /// Joins points that lie on each other, splits seams that run through a point, drops seams of no length and second copies,
    /// finds the patches where the file's do not fit the seams; reports seams that dangle, cross or overlap. What needs no repair
    /// keeps its ids, order, colours and unknown fields.
    /// </summary>
    /// <remarks>O(m log m) for m seams, by R-trees.</remarks>
    public static MapInspection Inspect(QuiltMap map)
    {
        ArgumentNullException.ThrowIfNull(map);
        List<Finding> findings = [];
        Dictionary<string, string> oldIdOf = [];
        QuiltMap current = JoinPoints(map, findings);
        List<Seam> seams = DropEmptyAndCopies(current, current.Seams, findings, oldIdOf);
        int whole = seams.Count;
        seams = SplitAtJunctions(current, seams, findings, oldIdOf);
        if (seams.Count != whole)
        {
            seams = DropEmptyAndCopies(current, seams, findings, oldIdOf);
        }

        if (current != map || oldIdOf.Count > 0)
        {
            current = new(
                map.Width,
                map.Height,
                current.Junctions,
                seams,
                patches: null,
                [.. map.Blocks.Select(b => b with { Patches = [] })],
                map.Unknown
            );
        }

        PlaneGraph<ClothSpace> graph = current.ToPlaneGraph();
        bool plane = true;
        foreach ((int a, int b, EdgeRelation relation) in graph.FindConflicts())
        {
            // Rounded ends and bulges make neighbours cross by less than a thread's width: no conflict to a needle.
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

        if (plane)
        {
            IReadOnlyList<Patch> found = PatchFinder.FindPatches(current);
            if (!Fit(current.Patches, found))
            {
                current = WithPatches(current, map, found, oldIdOf);
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

    private static QuiltMap JoinPoints(QuiltMap map, List<Finding> findings)
    {
        NetTopologySuite.Index.Strtree.STRtree<int> tree = new();
        for (int i = 0; i < map.Junctions.Count; i++)
        {
            Point<ClothSpace> p = map.Junctions[i].Place;
            tree.Insert(new(p.X, p.X, p.Y, p.Y), i);
        }

        List<Junction> kept = new(map.Junctions.Count);
        Dictionary<string, string> joined = [];
        foreach (Junction j in map.Junctions)
        {
            Box<ClothSpace> box = Box<ClothSpace>.Around(j.Place, j.Place).Grown(OneWithin);
            int first = tree.Query(new(box.Left, box.Right, box.Top, box.Bottom))
                .Where(i => map.Junctions[i].Place.DistanceTo(j.Place) <= OneWithin)
                .Min();
            string keeper = map.Junctions[first].Id;
            if (keeper == j.Id || joined.ContainsKey(keeper))
            {
                kept.Add(j);
            }
            else
            {
                joined[j.Id] = keeper;
                findings.Add(new("points-coincide", $"{keeper} and {j.Id} at {At(j.Place)}", "They were made one."));
            }
        }

        string Of(string id) => joined.GetValueOrDefault(id, id);
        return joined.Count == 0
            ? map
            : map.With(junctions: kept, seams: [.. map.Seams.Select(s => s with { From = Of(s.From), To = Of(s.To) })]);
    }

    private static List<Seam> DropEmptyAndCopies(
        QuiltMap map,
        IReadOnlyList<Seam> seams,
        List<Finding> findings,
        Dictionary<string, string> oldIdOf
    )
    {
        List<Seam> kept = new(seams.Count);
        Dictionary<(string, string), List<Seam>> between = [];
        foreach (Seam s in seams)
        {
            double half = map.JunctionOf(s.From).Place.DistanceTo(map.JunctionOf(s.To).Place) / 2;
            if (half == 0)
            {
                findings.Add(new("seam-of-no-length", $"seam {s.Id}", "It was left out."));
                oldIdOf[s.Id] = "";
                continue;
            }

            (string, string) ends = string.CompareOrdinal(s.From, s.To) <= 0 ? (s.From, s.To) : (s.To, s.From);
            if (!between.TryGetValue(ends, out List<Seam>? others))
            {
                between[ends] = others = [];
            }

            Seam? first = others.Find(o =>
                Math.Abs((o.From == s.From ? o.Bulge : -o.Bulge) - s.Bulge) * half <= OneWithin
            );
            if (first is null)
            {
                others.Add(s);
                kept.Add(s);
            }
            else
            {
                findings.Add(new("seam-stands-twice", $"seam {s.Id}", $"It was left out; seam {first.Id} lies there."));
                oldIdOf[s.Id] = first.Id;
            }
        }

        return kept;
    }

    private static List<Seam> SplitAtJunctions(
        QuiltMap map,
        List<Seam> seams,
        List<Finding> findings,
        Dictionary<string, string> oldIdOf
    )
    {
        NetTopologySuite.Index.Strtree.STRtree<Junction> tree = new();
        foreach (Junction j in map.Junctions)
        {
            tree.Insert(new(j.Place.X, j.Place.X, j.Place.Y, j.Place.Y), j);
        }

        HashSet<string> ids = [.. map.Seams.Select(s => s.Id)];
        List<Seam> result = new(seams.Count);
        foreach (Seam s in seams)
        {
            Edge<ClothSpace> path = map.EdgeOf(s);
            Box<ClothSpace> box = path.Bounds().Grown(OneWithin);
            List<(double T, string Id)> stops = [];
            foreach (Junction j in tree.Query(new(box.Left, box.Right, box.Top, box.Bottom)))
            {
                (double t, double distance) = path.Nearest(j.Place);
                if (j.Id != s.From && j.Id != s.To && distance <= OneWithin && t is > 0 and < 1)
                {
                    stops.Add((t, j.Id));
                }
            }

            if (stops.Count == 0)
            {
                result.Add(s);
                continue;
            }

            stops.Sort();
            findings.Add(
                new(
                    "seam-split",
                    $"seam {s.Id} at {string.Join(", ", stops.Select(x => x.Id))}",
                    "It ran through a point; it was split there."
                )
            );
            string from = s.From;
            double last = 0;
            int n = 0;
            foreach ((double t, string to) in stops.Append((1.0, s.To)))
            {
                string id;
                do
                {
                    n++;
                    id = $"{s.Id}.{n.ToString(CultureInfo.InvariantCulture)}";
                } while (!ids.Add(id));

                oldIdOf[id] = s.Id;
                double bulge = s.Bulge == 0 ? 0 : Math.Tan((t - last) * path.Sweep / 4);
                result.Add(s with { Id = id, From = from, To = to, Bulge = bulge });
                from = to;
                last = t;
            }
        }

        return result;
    }

    // True where the listed patches are the faces of the seams: rings in the same clockwise order from whatever start, holes in
    // any order.
    private static bool Fit(IReadOnlyList<Patch> listed, IReadOnlyList<Patch> found)
    {
        if (listed.Count != found.Count)
        {
            return false;
        }

        HashSet<string> rings = [.. found.Select(Key)];
        return rings.SetEquals(listed.Select(Key));

        static string Key(Patch p) =>
            string.Join(
                '\n',
                [
                    .. FromLeast(p.Seams),
                    .. p
                        .Holes.Select(h => "\t" + string.Join('\t', h.Order(StringComparer.Ordinal)))
                        .Order(StringComparer.Ordinal),
                ]
            );

        static IEnumerable<string> FromLeast(IReadOnlyList<string> ring)
        {
            // A seam that dangles into the face stands twice; the lesser follower decides then.
            if (ring.Count == 0)
            {
                return ring;
            }

            int start = Enumerable
                .Range(0, ring.Count)
                .MinBy(i => ring[i] + "\n" + ring[(i + 1) % ring.Count], StringComparer.Ordinal);
            return ring.Skip(start).Concat(ring.Take(start));
        }
    }

    // The found patches, each with the id, colour and fields of the listed one that has the same seams; a new patch that lies
    // inside a listed one takes its colour.
    private static QuiltMap WithPatches(
        QuiltMap current,
        QuiltMap original,
        IReadOnlyList<Patch> found,
        Dictionary<string, string> oldIdOf
    )
    {
        string Old(string id)
        {
            while (oldIdOf.TryGetValue(id, out string? older))
            {
                id = older;
            }

            return id;
        }

        string Key(IEnumerable<string> ring) =>
            string.Join('\n', ring.Select(Old).Where(id => id.Length > 0).Distinct().Order(StringComparer.Ordinal));

        Dictionary<string, Patch> listed = [];
        foreach (Patch p in original.Patches)
        {
            listed.TryAdd(Key(p.Seams), p);
        }

        HashSet<string> taken = [.. original.Patches.Select(p => p.Id)];
        QuiltMap bare = new(current.Width, current.Height, current.Junctions, current.Seams, found);
        Lazy<NetTopologySuite.Index.Strtree.STRtree<(Patch, Outline)>> outlines = new(() => OutlinesOf(original));
        List<Patch> patches = new(found.Count);
        int next = 0;
        foreach (Patch p in found)
        {
            if (listed.Remove(Key(p.Seams), out Patch? same))
            {
                patches.Add(same with { Seams = p.Seams, Holes = p.Holes });
                continue;
            }

            string id;
            do
            {
                next++;
                id = "p" + next.ToString(CultureInfo.InvariantCulture);
            } while (!taken.Add(id));

            Patch? around = HolderOf(outlines.Value, PatchFinder.InteriorPoint(bare, p));
            patches.Add(p with { Id = id, Color = around?.Color, Leave = around?.Leave ?? false });
        }

        QuiltMap whole = new(
            current.Width,
            current.Height,
            current.Junctions,
            current.Seams,
            patches,
            unknown: current.Unknown
        );
        return whole.With(blocks: PatchFinder.Assign(whole, current.Blocks));
    }

    private static Patch? HolderOf(
        NetTopologySuite.Index.Strtree.STRtree<(Patch Patch, Outline Shape)> outlines,
        Point<ClothSpace> inside
    )
    {
        NetTopologySuite.Geometries.Point p = new(inside.X, inside.Y);
        return outlines.Query(p.EnvelopeInternal).FirstOrDefault(o => o.Shape.Contains(p)).Patch;
    }

    private static NetTopologySuite.Index.Strtree.STRtree<(Patch, Outline)> OutlinesOf(QuiltMap map)
    {
        NetTopologySuite.Index.Strtree.STRtree<(Patch, Outline)> tree = new();
        foreach (Patch patch in map.Patches)
        {
            try
            {
                Outline outline = PatchFinder.ToPolygon(map, patch, 0.01);
                tree.Insert(outline.EnvelopeInternal, (patch, outline));
            }
            catch (Exception e) when (e is InputException or ArgumentException)
            {
                // This patch's seams make no ring: it holds nothing.
            }
        }

        return tree;
    }

    /// <summary>True where two edges meet by no more than rounding does: no conflict to a needle.</summary>
    internal static bool IsHairline(Edge<ClothSpace> a, Edge<ClothSpace> b, EdgeRelation relation)
    {
        Point<ClothSpace>[] endsA = [a.From, a.To];
        Point<ClothSpace>[] endsB = [b.From, b.To];
        if (relation == EdgeRelation.Touch)
        {
            // The end that touches must be within a hair of an end of the other.
            return endsA.Any(p => endsB.Any(q => p.DistanceTo(q) <= OneWithin));
        }

        if (relation != EdgeRelation.Cross)
        {
            return false;
        }

        IReadOnlyList<Point<ClothSpace>> meetings = a.FindMeetings(b, OneWithin);
        return meetings.Count > 0
            && meetings.All(x =>
                (endsA.Any(p => p.DistanceTo(x) <= OneWithin) && endsB.Any(p => p.DistanceTo(x) <= OneWithin))
                || endsA.Any(p => endsB.Contains(p) && RunTogether(a, b, p, x))
            );
    }

    // Edges that leave a point tangent to each other cross again close by where a bulge was rounded. That is no crossing while
    // they stay within a hair of each other on the way there, and the way is short against both.
    private static bool RunTogether(
        Edge<ClothSpace> a,
        Edge<ClothSpace> b,
        Point<ClothSpace> from,
        Point<ClothSpace> to
    )
    {
        const double most = 0.1;
        a = a.From == from ? a : a.Reversed;
        b = b.From == from ? b : b.Reversed;
        double t = a.Nearest(to).T;
        return t <= most
            && b.Nearest(to).T <= most
            && Enumerable.Range(1, 8).All(i => b.Nearest(a.PointAt(t * i / 8)).Distance <= OneWithin);
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
