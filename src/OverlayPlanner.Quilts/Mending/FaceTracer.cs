using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>A patch as it is now.</summary>
/// <param name="Ring">Round it, with the patch to the left of travel.</param>
internal sealed record TracedFace(SeamRing Ring)
{
    /// <summary>Outsides of what floats in it, each with this face to the left of travel.</summary>
    public List<SeamRing> Holes { get; } = [];

    /// <summary>The face that it floats in, or null.</summary>
    public TracedFace? Holder { get; set; }

    /// <summary>A place well inside it, as <see cref="PatchFinder.InteriorPoint(QuiltMap, Patch)"/> finds it.</summary>
    public Point<ClothSpace> InnerPoint() =>
        PatchFinder.InteriorPoint(
            [.. Ring.Steps.Reverse().Select(s => s.Back.Path)],
            [.. Holes.Select(h => (IReadOnlyList<Edge<ClothSpace>>)[.. h.Steps.Select(s => s.Path)])]
        );
}

/// <summary>Finds the patches round what has changed in a loose map, and no others.</summary>
internal sealed class FaceTracer
{
    private readonly LooseMap map;
    private readonly Dictionary<LoosePoint, LooseStep[]> around = [];
    private readonly HashSet<LooseStep> seen = [];
    private readonly Queue<LooseStep> open = new();
    private readonly HashSet<int> queued = [];
    private readonly List<LooseStep>?[] byPatch;

    private FaceTracer(LooseMap map)
    {
        this.map = map;
        byPatch = new List<LooseStep>?[map.Map.Patches.Count];
    }

    /// <summary>The faces that replace the dirty patches of the map, whose set grows where more turn out to be.</summary>
    public static IReadOnlyList<TracedFace> Trace(LooseMap map)
    {
        FaceTracer tracer = new(map);
        return tracer.Run();
    }

    private List<TracedFace> Run()
    {
        foreach (LooseSeam s in map.LiveSeams)
        {
            Index(new(s, true));
            Index(new(s, false));
            if (s.IsReshaped)
            {
                open.Enqueue(new(s, true));
                open.Enqueue(new(s, false));
            }
        }

        Dictionary<LoosePoint, int> pieceOf = FindPieces(out int pieces, out HashSet<int> trees);
        List<SeamRing> rings = [];
        while (true)
        {
            TraceOpen(rings);
            List<TracedFace> faces = [];
            List<SeamRing> outsides = [];
            foreach (SeamRing r in rings)
            {
                bool outside = r.Area < 0 || trees.Contains(pieceOf[r.Steps[0].Start]);
                if (outside)
                {
                    outsides.Add(r);
                }
                else
                {
                    faces.Add(new(r));
                }
            }

            if (pieces == 1 || PutIntoHolders(faces, outsides, pieceOf))
            {
                return faces;
            }
        }
    }

    private void Index(LooseStep step)
    {
        if (step.Label >= 0)
        {
            (byPatch[step.Label] ??= new(6)).Add(step);
        }
    }

    private void TraceOpen(List<SeamRing> rings)
    {
        foreach (int p in map.Dirty)
        {
            Enqueue(p);
        }

        while (open.TryDequeue(out LooseStep first))
        {
            if (seen.Contains(first))
            {
                continue;
            }

            List<LooseStep> ring = [];
            for (LooseStep s = first; seen.Add(s); s = Next(s))
            {
                ring.Add(s);
                if (s.Label >= 0 && map.Dirty.Add(s.Label))
                {
                    Enqueue(s.Label);
                }
            }

            rings.Add(new(ring));
        }
    }

    private void Enqueue(int patch)
    {
        if (queued.Add(patch))
        {
            foreach (LooseStep s in byPatch[patch] ?? [])
            {
                open.Enqueue(s);
            }
        }
    }

    // Arrive, then turn as far left as possible: the way on just clockwise of the one that led here.
    private LooseStep Next(LooseStep step)
    {
        LooseStep[] ways = Around(step.End);
        int at = Array.IndexOf(ways, step.Back);
        return ways[(at + ways.Length - 1) % ways.Length];
    }

    // A small plane graph of the point alone puts its seams in order, nearly tangent ones as everywhere else.
    private LooseStep[] Around(LoosePoint point)
    {
        if (around.TryGetValue(point, out LooseStep[]? known))
        {
            return known;
        }

        LooseStep[] ways = [.. point.Seams.Select(s => new LooseStep(s, s.From == point))];
        PlaneGraph<ClothSpace> star = new(
            [point.Place, .. ways.Select(w => w.End.Place)],
            [.. ways.Select((w, i) => (0, i + 1, w.Path.Bulge))]
        );
        return around[point] = [.. star.Around(0).Select(h => ways[h >> 1])];
    }

    private Dictionary<LoosePoint, int> FindPieces(out int count, out HashSet<int> trees)
    {
        Dictionary<LoosePoint, int> pieceOf = new(map.Points.Count);
        trees = [];
        count = 0;
        Stack<LoosePoint> stack = new();
        foreach (LoosePoint start in map.LivePoints)
        {
            if (!pieceOf.TryAdd(start, count))
            {
                continue;
            }

            int points = 0;
            int ends = 0;
            stack.Push(start);
            while (stack.TryPop(out LoosePoint? p))
            {
                points++;
                ends += p.Seams.Count;
                foreach (LooseSeam s in p.Seams)
                {
                    LoosePoint other = s.Other(p);
                    if (pieceOf.TryAdd(other, count))
                    {
                        stack.Push(other);
                    }
                }
            }

            if (ends / 2 < points)
            {
                trees.Add(count);
            }

            count++;
        }

        return pieceOf;
    }

    // False where a patch that was thought untouched holds one of the outsides: it is dirty now and has to be traced as well.
    private bool PutIntoHolders(List<TracedFace> faces, List<SeamRing> outsides, Dictionary<LoosePoint, int> pieceOf)
    {
        bool whole = true;
        Dictionary<int, TracedFace?> holderOf = [];
        foreach (SeamRing outside in outsides)
        {
            LoosePoint start = outside.Steps[0].Start;
            TracedFace? best = null;
            foreach (TracedFace f in faces)
            {
                bool other = pieceOf[f.Ring.Steps[0].Start] != pieceOf[start];
                if (other && (best is null || f.Ring.Area < best.Ring.Area) && f.Ring.Holds(start.Place))
                {
                    best = f;
                }
            }

            foreach ((int patch, SeamRing ring) in UntouchedAt(start.Place))
            {
                bool other = pieceOf[ring.Steps[0].Start] != pieceOf[start];
                if (other && (best is null || ring.Area < best.Ring.Area) && ring.Holds(start.Place))
                {
                    map.Dirty.Add(patch);
                    whole = false;
                }
            }

            best?.Holes.Add(outside);
            holderOf[pieceOf[start]] = best;
        }

        foreach (TracedFace f in faces)
        {
            f.Holder = holderOf.GetValueOrDefault(pieceOf[f.Ring.Steps[0].Start]);
        }

        return whole;
    }

    private IEnumerable<(int Patch, SeamRing Ring)> UntouchedAt(Point<ClothSpace> place)
    {
        for (int p = 0; p < byPatch.Length; p++)
        {
            if (map.Dirty.Contains(p) || byPatch[p] is not { } steps)
            {
                continue;
            }

            Box<ClothSpace> box = steps[0].Seam.Bounds;
            foreach (LooseStep s in steps)
            {
                box = box.With(s.Seam.Bounds);
            }

            if (!box.Holds(place))
            {
                continue;
            }

            // Its steps are of its outer ring and of its holes: the outer one is the one with a positive area.
            HashSet<LooseStep> left = [.. steps];
            while (left.Count > 0)
            {
                List<LooseStep> walk = [];
                for (LooseStep s = left.First(); left.Remove(s); s = Next(s))
                {
                    walk.Add(s);
                }

                SeamRing ring = new(walk);
                if (ring.Area > 0)
                {
                    yield return (p, ring);
                }
            }
        }
    }
}
