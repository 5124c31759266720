using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Finishing;

/// <summary>One line of what is stitched so far.</summary>
/// <param name="Seam">Id of the seam on the split map, or null for a line added by hand.</param>
/// <param name="Path">In the direction of travel, whole.</param>
internal sealed record BegunMove(string? Seam, Edge<ClothSpace> Path);

/// <summary>What is stitched so far, in whole lines of a map that is split where stitching begins or ends part-way.</summary>
internal sealed class BegunRoute
{
    private BegunRoute(
        QuiltMap map,
        IReadOnlyList<IReadOnlyList<BegunMove>> threads,
        Point<ClothSpace> needleAt,
        Length unpicked,
        Length stray,
        NeedleThread needle
    )
    {
        Map = map;
        Threads = threads;
        NeedleAt = needleAt;
        Unpicked = unpicked;
        Stray = stray;
        Needle = needle;
        Dictionary<Point<ClothSpace>, int> index = [];
        for (int v = 0; v < map.Junctions.Count; v++)
        {
            index.TryAdd(map.Junctions[v].Place, v);
        }

        IndexOfPlace = index;
        HashSet<(string?, Point<ClothSpace>)> seen = [];
        Doubled = Length.FromInches(
            threads.SelectMany(t => t).Where(m => !seen.Add((m.Seam, m.Path.PointAt(0.5)))).Sum(m => m.Path.Length)
        );
    }

    /// <summary>The map, split where a thread's end lies part-way along a seam.</summary>
    public QuiltMap Map { get; }

    /// <summary>Moves of each thread; a move begins where the last one ended.</summary>
    public IReadOnlyList<IReadOnlyList<BegunMove>> Threads { get; }

    /// <summary>Where the needle is, inches.</summary>
    public Point<ClothSpace> NeedleAt { get; }

    /// <summary>Length to unpick because a broken thread can't tie in part-way along a seam.</summary>
    public Length Unpicked { get; }

    /// <summary>Length drawn that follows no line.</summary>
    public Length Stray { get; }

    /// <summary>Length that is stitched twice already.</summary>
    public Length Doubled { get; }

    /// <summary>True where a line was added by hand.</summary>
    public bool AddsLines => Threads.Any(t => t.Any(m => m.Seam is null));

    /// <summary>Whether the thread still runs through the needle.</summary>
    public NeedleThread Needle { get; }

    /// <summary>Index of the junction at each place.</summary>
    public Dictionary<Point<ClothSpace>, int> IndexOfPlace { get; }

    /// <summary>Lays the drawn stretches on whole lines.</summary>
    public static BegunRoute On(QuiltMap map, DrawnPath drawn, NeedleThread needle)
    {
        List<List<DrawnStretch>> threads = [.. drawn.Threads.Where(t => t.Count > 0).Select(t => t.ToList())];
        Point<ClothSpace> needleAt = threads[^1][^1].Path.To;
        Length unpicked = Length.Zero;
        if (needle == NeedleThread.Broken && threads[^1][^1] is { Seam: not null, To: not (0 or 1) } cut)
        {
            unpicked = Length.FromInches(cut.Path.Length);
            needleAt = cut.Path.From;
            threads[^1].RemoveAt(threads[^1].Count - 1);
        }

        SeamSplits splits = new(map);
        foreach (DrawnStretch s in threads.SelectMany(t => t).Where(s => s.Seam is not null))
        {
            splits.CutAt(s.Seam!, s.From);
            splits.CutAt(s.Seam!, s.To);
        }

        List<List<BegunMove>> moves = [];
        List<Edge<ClothSpace>> own = [];
        double across = 0;
        foreach (List<DrawnStretch> thread in threads)
        {
            List<BegunMove> now = [];
            foreach (DrawnStretch s in thread)
            {
                // A line of one's own that crosses a seam, or another such line, is no line inside a patch: it is left out.
                if (s.Seam is null && !MayBeAdded(splits.Map, own, s.Path))
                {
                    across += s.Path.Length;
                    continue;
                }

                foreach (
                    BegunMove m in s.Seam is { } id ? splits.Along(id, s.From, s.To) : [new BegunMove(null, s.Path)]
                )
                {
                    // A stretch that does not begin where the last one ended was drawn with a gap: the pen was lifted.
                    if (now.Count > 0 && now[^1].Path.To != m.Path.From)
                    {
                        moves.Add(now);
                        now = [];
                    }

                    now.Add(m);
                }
            }

            if (now.Count > 0)
            {
                moves.Add(now);
            }
        }

        return new(
            splits.Map,
            moves,
            moves.Count > 0 ? moves[^1][^1].Path.To : needleAt,
            unpicked,
            drawn.Stray,
            needle
        );
    }

    private static bool MayBeAdded(QuiltMap map, List<Edge<ClothSpace>> own, Edge<ClothSpace> path)
    {
        if (own.Any(o => o == path || o.Reversed == path))
        {
            return true;
        }

        bool free = map
            .Seams.Select(map.EdgeOf)
            .Concat(own)
            .All(e => Exact.Relate(e, path) is not (EdgeRelation.Cross or EdgeRelation.Overlap));
        if (free)
        {
            own.Add(path);
        }

        return free;
    }

    /// <summary>
    /// A design's lines together with those added by hand, or null where the two get in each other's way: a line added by
    /// hand that the design also has is taken from the design.
    /// </summary>
    public IReadOnlyList<StitchLine>? With(IReadOnlyList<StitchLine> design)
    {
        List<StitchLine> lines = [.. design];
        HashSet<string> seams = [.. design.Select(l => l.Seam).OfType<string>()];
        foreach (BegunMove m in Threads.SelectMany(t => t))
        {
            if (m.Seam is { } id)
            {
                // Stitched although the wishes leave it out, as an outline seam: it is part of the design now.
                if (seams.Add(id))
                {
                    Seam seam = Map.SeamOf(id);
                    lines.Add(
                        new(
                            IndexOfPlace[m.Path.From],
                            IndexOfPlace[m.Path.To],
                            m.Path,
                            seam.Role == SeamRole.Edge ? MoveKind.Frame : MoveKind.Ditch,
                            id,
                            null
                        )
                        {
                            IsRaw = seam.Edge == EdgeKind.Raw,
                        }
                    );
                }

                continue;
            }

            if (Find(lines, m) is not null)
            {
                continue;
            }

            if (lines.Any(l => Exact.Relate(l.Path, m.Path) is EdgeRelation.Cross or EdgeRelation.Overlap))
            {
                return null;
            }

            lines.Add(
                new(
                    IndexOfPlace[m.Path.From],
                    IndexOfPlace[m.Path.To],
                    m.Path,
                    m.Path.IsLine ? MoveKind.Line : MoveKind.Arc,
                    null,
                    null
                )
            );
        }

        return lines;
    }

    /// <summary>The line that a move means and whether it travels it forward; null where there is none.</summary>
    public static (int Line, bool Forward)? Find(IReadOnlyList<StitchLine> lines, BegunMove m)
    {
        for (int i = 0; i < lines.Count; i++)
        {
            StitchLine l = lines[i];
            if (l.Seam != m.Seam)
            {
                continue;
            }

            foreach (bool forward in new[] { true, false })
            {
                Edge<ClothSpace> p = forward ? l.Path : l.Path.Reversed;

                // A hand-drawn arc means the design's where both bow the same way between the same points.
                if (
                    p.From == m.Path.From
                    && p.To == m.Path.To
                    && (m.Seam is not null || Math.Sign(p.Bulge) == Math.Sign(m.Path.Bulge))
                )
                {
                    return (i, forward);
                }
            }
        }

        return null;
    }

    /// <summary>A map whose seams are cut at places along them, and which piece is where.</summary>
    private sealed class SeamSplits(QuiltMap map)
    {
        private readonly Dictionary<string, List<(double From, double To, string Id)>> pieces = [];

        public QuiltMap Map { get; private set; } = map;

        public void CutAt(string seam, double t)
        {
            List<(double From, double To, string Id)> parts = PiecesOf(seam);
            int i = parts.FindIndex(p => t > p.From + 1e-9 && t < p.To - 1e-9);
            if (i < 0)
            {
                return;
            }

            (double from, double to, string id) = parts[i];
            double at = (t - from) / (to - from);
            int before = Map.Seams.Count;
            int index = Map.Seams.ToList().FindIndex(s => s.Id == id);
            (Map, _) = PointWish.Split(Map, Map.SeamOf(id), at);
            System.Diagnostics.Debug.Assert(Map.Seams.Count == before + 1, "A split makes one seam two.");
            parts[i] = (from, t, Map.Seams[index].Id);
            parts.Insert(i + 1, (t, to, Map.Seams[index + 1].Id));
        }

        /// <summary>The pieces between two fractions, in the direction of travel.</summary>
        public IEnumerable<BegunMove> Along(string seam, double from, double to)
        {
            (double low, double high) = from < to ? (from, to) : (to, from);
            IEnumerable<(double From, double To, string Id)> parts = PiecesOf(seam)
                .Where(p => p.From > low - 1e-9 && p.To < high + 1e-9);
            foreach ((_, _, string id) in from < to ? parts : parts.Reverse())
            {
                Edge<ClothSpace> path = Map.EdgeOf(Map.SeamOf(id));
                yield return new(id, from < to ? path : path.Reversed);
            }
        }

        private List<(double From, double To, string Id)> PiecesOf(string seam)
        {
            if (!pieces.TryGetValue(seam, out List<(double, double, string)>? known))
            {
                pieces[seam] = known = [(0, 1, seam)];
            }

            return known;
        }
    }
}
