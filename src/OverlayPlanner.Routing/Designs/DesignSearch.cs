using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>What could be added to a map's seams.</summary>
/// <param name="Lines">The added lines.</param>
/// <param name="Kept">How many of the block's own symmetries the design keeps.</param>
/// <param name="Full">How many the block has.</param>
/// <param name="Fills">True where arcs run along every side of every patch that takes them.</param>
/// <param name="Turns">How many of the symmetries kept are turns; the others are mirrors.</param>
internal sealed record Design(IReadOnlyList<AddedLine> Lines, int Kept, int Full, bool Fills, int Turns)
{
    /// <summary>True where the block has more symmetry and only a half turn, one mirror or nothing of it is kept.</summary>
    public bool IsHalfAPattern => Kept < Full && Kept <= 2;

    /// <summary>True where every two like patches have the same lines, turned or mirrored.</summary>
    public bool IsAlike { get; init; } = true;

    /// <summary>True for a whole pattern: like patches alike, and more kept than a half turn or one mirror.</summary>
    public bool IsWhole => IsAlike && !IsHalfAPattern;

    /// <summary>Length in inches.</summary>
    public double Inches { get; } = Lines.Sum(l => l.Inches);

    /// <summary>The same for the same lines in any order.</summary>
    public string Key { get; } =
        string.Join(
            ' ',
            Lines
                .Select(l =>
                    FormattableString.Invariant($"{l.From}-{l.To}{(l.Bow > 0 ? "+" : l.Bow < 0 ? "-" : "=")}{l.Shape}")
                )
                .Order(StringComparer.Ordinal)
        );
}

/// <summary>
/// Searches designs: orbits of lines under subgroups of the block's own symmetry, alike in every block of a kind.
/// </summary>
internal sealed partial class DesignSearch
{
    // Whole-map designs try all choices of up to this many orbits; the trial on twelve blocks never needed more than two.
    private const int MostOrbitsTogether = 3;
    private const int MostSubsets = 30_000;

    // Two arcs between the same points whose bulges differ by less are one.
    private const double LeastApart = 1e-3;
    private const int MostOrbitsInPairs = 200;

    // Steps of the exact search, a few hundred thousand to the tenth of a second. A block takes a tenth of this; a large map
    // without blocks is one great cell, and is searched as far as this goes.
    private const long MostEffort = 6_000_000;

    private readonly QuiltMap map;
    private readonly IReadOnlyList<StitchLine> seams;
    private readonly IReadOnlyList<Point<ClothSpace>> places;
    private readonly CancellationToken cancellation;
    private readonly Effort effort = new(MostEffort);
    private readonly List<PatchShape> shapes = [];
    private readonly List<Kind> kinds = [];
    private readonly RouteWishes wishes;
    private readonly IReadOnlySet<string> pressedOpen;
    private readonly bool[] oddNow;
    private readonly StitchGraph bare;

    public DesignSearch(LineSelection selection, RouteWishes wishes, StitchGraph bare, CancellationToken cancellation)
    {
        map = selection.Map;
        this.bare = bare;
        this.wishes = wishes;
        this.cancellation = cancellation;
        pressedOpen = selection.PressedOpen;
        seams = bare.Lines;
        places = bare.Plane.Nodes;
        oddNow = new bool[places.Count];
        foreach (int v in bare.Odd)
        {
            oddNow[v] = true;
        }

        Dictionary<string, int> shapeOf = [];
        foreach (Patch p in selection.Patches)
        {
            int? center = selection.CenterOf.TryGetValue(p.Id, out string? c) ? selection.JunctionIndex[c] : null;
            if (PatchShape.Of(map, p, selection.JunctionIndex, center) is { } shape)
            {
                shapeOf[p.Id] = shapes.Count;
                shapes.Add(shape);
            }
        }

        // A measured point is good to 1/8 in at worst; drafts are exact.
        bool measured = IsMeasured(map);
        CellMatcher matcher = new(shapes, places, measured ? 0.125 : 0.001, wishes.Match, pressedOpen);
        FindKinds(selection, wishes, shapeOf, matcher);
        AddedLines proposals = new(wishes, measured);
        ILookup<int, AddedLine> lines = proposals
            .Propose(shapes, [.. kinds.SelectMany(k => k.Cell.Shapes)], places)
            .ToLookup(l => l.Shape);
        foreach (Kind kind in kinds)
        {
            cancellation.ThrowIfCancellationRequested();
            kind.Lines.AddRange(
                kind.Cell.Shapes.SelectMany(s => lines[s]).Where(l => kind.Copies.All(c => CanCarry(c, l)))
            );
            kind.FindConflicts();
        }
    }

    // A point that is no corner may lack its twin in a copy, and a measured copy may be too wide for a ruler.
    private bool CanCarry(CellMap copy, AddedLine line) =>
        copy.JunctionOf.TryGetValue(line.From, out int from)
        && copy.JunctionOf.TryGetValue(line.To, out int to)
        && (line.Path.IsLine || places[from].DistanceTo(places[to]) < 1.9 * line.Path.Radius);

    /// <summary>The patches' shapes, by index.</summary>
    public IReadOnlyList<PatchShape> Shapes => shapes;

    /// <summary>True where no patch takes any line at all.</summary>
    public bool IsEmpty => kinds.All(k => k.Lines.Count == 0);

    /// <summary>True where the search ended before it had tried all: a shorter or more even design may exist.</summary>
    public bool IsCutShort => effort.IsSpent;

    /// <summary>Where each shape lies in its block: its middle from the block's, and the block's half width.</summary>
    public IReadOnlyDictionary<int, DesignCell> CellOf { get; private set; } = new Dictionary<int, DesignCell>();

    /// <summary>True for a map of sewn cloth, false for a draft.</summary>
    public static bool IsMeasured(QuiltMap map) =>
        map.Junctions.Any(j => j.At.Sigma > Length.Zero) || map.Seams.Any(s => s.Confidence < 1);

    /// <summary>Designs worth comparing; the bare seams first.</summary>
    public IReadOnlyList<Design> Find()
    {
        List<Design> pool = [new([], FullOrder(), FullOrder(), false, FullTurns())];
        if (IsEmpty)
        {
            return pool;
        }

        if (kinds.Count == 1 && kinds[0].Copies.Count == 1)
        {
            FindInOneCell(pool);
        }
        else
        {
            FindInMany(pool);
        }

        if (wishes.Fill is { } fill)
        {
            AddEvenFills(pool, fill.Inches);
        }

        AddFills(pool);
        if (pressedOpen.Count > 0)
        {
            pool = [.. pool.Where(d => d.Lines.Count == 0 || HasArcsAlongOpen(d))];
        }

        Dictionary<string, Design> distinct = [];
        foreach (Design found in pool.Where(d => !HasTwins(d)))
        {
            Design d = found with { IsAlike = AreLikePatchesAlike(found) };
            if (!distinct.TryGetValue(d.Key, out Design? known) || d.Kept > known.Kept)
            {
                distinct[d.Key] = d;
            }
        }

        return [.. distinct.Values];
    }

    // On sewn cloth two patches may propose one and the same line; stitched twice, it is no design.
    private static bool HasTwins(Design design) =>
        design
            .Lines.GroupBy(l => (l.From, l.To))
            .Any(g => g.Count() > 1 && HasTwins([.. g.Select(l => l.Path.Bulge).Order()]));

    private static bool HasTwins(double[] bulges) =>
        Enumerable.Range(1, bulges.Length - 1).Any(i => bulges[i] - bulges[i - 1] < LeastApart);

    private int FullTurns() =>
        kinds.Count == 0 ? 1 : kinds.Max(k => k.Group.Count(g => !SquareTurns.IsMirror(g.Element)));

    private int FullOrder() => kinds.Count == 0 ? 1 : kinds.Max(k => k.Group.Count);

    private void FindKinds(
        LineSelection selection,
        RouteWishes wishes,
        Dictionary<string, int> shapeOf,
        CellMatcher matcher
    )
    {
        List<DesignCell> cells = [];
        HashSet<int> taken = [];
        foreach (Block b in map.Blocks.Where(b => wishes.Block is null || b.Id == wishes.Block))
        {
            int[] own = [.. b.Patches.Where(shapeOf.ContainsKey).Select(p => shapeOf[p]).Where(taken.Add)];
            if (own.Length == 0)
            {
                continue;
            }

            Box<ClothSpace> box = Box<ClothSpace>.Around(b.Corners);
            Point<ClothSpace> middle = new(b.Corners.Average(c => c.X), b.Corners.Average(c => c.Y));
            cells.Add(new(own, middle, box.Width, box.Height, (b.Turn & 3) | (b.Mirror ? 4 : 0)));
        }

        int[] rest = [.. Enumerable.Range(0, shapes.Count).Where(s => !taken.Contains(s))];
        if (cells.Count == 0 && rest.Length > 0)
        {
            cells.Add(CellAround(rest));
        }
        else
        {
            cells.AddRange(rest.Select(s => CellAround([s])));
        }

        Dictionary<int, DesignCell> cellOf = [];
        foreach (DesignCell cell in cells)
        {
            foreach (int s in cell.Shapes)
            {
                cellOf[s] = cell;
            }

            CellMap? lay = null;
            foreach (Kind kind in kinds)
            {
                int likely = SquareTurns.Compose(cell.Turned, SquareTurns.Inverse(kind.Cell.Turned));
                foreach (int e in Enumerable.Range(0, SquareTurns.Count).OrderBy(e => e == likely ? -1 : e))
                {
                    lay = matcher.Lay(kind.Cell, cell, e);
                    if (lay is not null)
                    {
                        break;
                    }
                }

                if (lay is not null)
                {
                    kind.Copies.Add(lay);
                    break;
                }
            }

            if (lay is null)
            {
                CellMap[] group =
                [
                    .. Enumerable.Range(0, SquareTurns.Count).Select(e => matcher.Lay(cell, cell, e)).OfType<CellMap>(),
                ];

                // Of sewn cloth a quarter turn may fit where its half turn just does not: only what is closed is a symmetry.
                IReadOnlyList<int> closed = SquareTurns.SubgroupsOf([.. group.Select(g => g.Element)])[0];
                group = [.. group.Where(g => closed.Contains(g.Element))];
                Kind kind = new(cell, group);
                kind.Copies.Add(group.First(g => g.Element == 0));
                kinds.Add(kind);
            }
        }

        CellOf = cellOf;
    }

    private DesignCell CellAround(int[] of)
    {
        Box<ClothSpace> box = Box<ClothSpace>.Around(of.SelectMany(s => shapes[s].Corners).Select(v => places[v]));
        return new(of, box.Center, box.Width, box.Height, 0);
    }

    private void FindInOneCell(List<Design> pool)
    {
        Kind kind = kinds[0];
        int solvedOrder = 0;
        bool isAlikeFound = false;
        foreach (IReadOnlyList<int> subgroup in SquareTurns.SubgroupsOf([.. kind.Group.Select(g => g.Element)]))
        {
            cancellation.ThrowIfCancellationRequested();
            if (subgroup.Count < solvedOrder || effort.IsSpent)
            {
                break;
            }

            Quotient q = new(kind, subgroup, this);
            bool full = subgroup.Count == kind.Group.Count;
            foreach (IReadOnlyList<int> choice in q.Choice.Shortest(full ? 4 : 2, AlongOpen(kind, q), []))
            {
                solvedOrder = Math.Max(solvedOrder, subgroup.Count);
                pool.Add(MakeDesign([(kind, q.Orbits, choice)], subgroup.Count, q.Turns));
            }

            if (full && solvedOrder == 0)
            {
                pool.AddRange(
                    FewestStarts([(kind, q)], subgroup.Count, [.. AlongOpen(kind, q).Select(o => (kind, o))])
                );
            }

            if (solvedOrder < kind.Group.Count && !isAlikeFound && (full || subgroup.Count >= 4))
            {
                isAlikeFound = AddAlike(pool, kind, q);
            }
        }
    }

    private void FindInMany(List<Design> pool)
    {
        // The full symmetry of every kind; then only their turns.
        foreach (bool turnsOnly in new[] { false, true })
        {
            List<(Kind, Quotient)> level = [];
            int order = 0;
            foreach (Kind kind in kinds)
            {
                int[] subgroup =
                [
                    .. kind.Group.Select(g => g.Element).Where(e => !turnsOnly || !SquareTurns.IsMirror(e)),
                ];
                order = Math.Max(order, subgroup.Length);
                level.Add((kind, new(kind, subgroup, this)));
            }

            if (turnsOnly && order == FullOrder())
            {
                break;
            }

            pool.AddRange(
                FewestStarts(
                    level,
                    order,
                    [.. level.SelectMany(l => AlongOpen(l.Item1, l.Item2).Select(o => (l.Item1, o)))]
                )
            );
        }
    }

    /// <summary>
    /// Tries every choice of up to three orbits and keeps the ones with the fewest starts, then the least added length; the
    /// best of them is then improved by taking orbits in and out.
    /// </summary>
    /// <param name="level">The kinds, with their orbits.</param>
    /// <param name="order">How many symmetries the designs keep.</param>
    /// <param name="given">Orbits that every design has; those in the way of an earlier one are left out.</param>
    private List<Design> FewestStarts(
        IReadOnlyList<(Kind Kind, Quotient Quotient)> level,
        int order,
        IReadOnlyList<(Kind Kind, int Orbit)>? given = null
    )
    {
        List<(Kind Kind, Quotient Q, int Orbit, ulong[] Parity, double Inches)> all = [];
        int words = (places.Count + 63) / 64;
        foreach ((Kind kind, Quotient q) in level)
        {
            for (int o = 0; o < q.Orbits.Count; o++)
            {
                ulong[] bits = new ulong[words];
                double inches = 0;
                foreach (AddedLine line in LinesOf(kind, q.Orbits[o]))
                {
                    bits[line.From >> 6] ^= 1UL << (line.From & 63);
                    bits[line.To >> 6] ^= 1UL << (line.To & 63);
                    inches += line.Inches;
                }

                all.Add((kind, q, o, bits, inches));
            }
        }

        ulong[] now = new ulong[words];
        for (int v = 0; v < places.Count; v++)
        {
            now[v >> 6] |= oddNow[v] ? 1UL << (v & 63) : 0;
        }

        // What is given first; the others are tried beside it.
        List<int> fixedFirst = [];
        foreach ((Kind kind, int orbit) in given ?? [])
        {
            int i = all.FindIndex(a => a.Kind == kind && a.Orbit == orbit);
            if (i >= 0 && !fixedFirst.Contains(i) && IsFree([.. fixedFirst], i))
            {
                fixedFirst.Add(i);
                for (int w = 0; w < words; w++)
                {
                    now[w] ^= all[i].Parity[w];
                }
            }
        }

        int[] held = [.. fixedFirst];
        bool[] isHeld = new bool[all.Count];
        foreach (int i in held)
        {
            isHeld[i] = true;
        }

        double heldInches = held.Sum(i => all[i].Inches);
        PriorityQueue<int[], (int, double)> best = new(Comparer<(int, double)>.Create((a, b) => b.CompareTo(a)));
        const int Kept = 24;
        int tried = 0;
        Extend(held, now, heldInches, 0);
        if (held.Length > 0)
        {
            best.Enqueue(held, (Math.Max(1, now.Sum(w => System.Numerics.BitOperations.PopCount(w)) / 2), heldInches));
        }

        List<(int Starts, double Inches, int[] Choice)> ranked = [];
        while (best.TryDequeue(out int[]? choice, out (int Starts, double Inches) key))
        {
            // The count so far took the map for one piece; now in truth.
            ranked.Add((StartsOf(MakeDesign(choice)), key.Inches, choice));
        }

        if (ranked.Count > 0)
        {
            (int _, double _, int[] first) = ranked.MinBy(r => (r.Starts, r.Inches));
            int[] better = Improve(first);
            ranked.Add((StartsOf(MakeDesign(better)), better.Sum(i => all[i].Inches), better));
        }

        return [.. ranked.OrderBy(r => r.Starts).ThenBy(r => r.Inches).Take(3).Select(r => MakeDesign(r.Choice))];

        Design MakeDesign(int[] choice) =>
            this.MakeDesign(
                [
                    .. choice
                        .GroupBy(i => all[i].Q)
                        .Select(g =>
                            (all[g.First()].Kind, g.Key.Orbits, (IReadOnlyList<int>)[.. g.Select(i => all[i].Orbit)])
                        ),
                ],
                order,
                level.Max(l => l.Quotient.Turns)
            );

        void Extend(int[] chosen, ulong[] parity, double inches, int from)
        {
            for (int i = from; i < all.Count; i++)
            {
                if (tried++ > MostSubsets || isHeld[i] || !IsFree(chosen, i))
                {
                    continue;
                }

                ulong[] next = new ulong[words];
                int odd = 0;
                for (int w = 0; w < words; w++)
                {
                    next[w] = parity[w] ^ all[i].Parity[w];
                    odd += System.Numerics.BitOperations.PopCount(next[w]);
                }

                int[] more = [.. chosen, i];
                (int, double) key = (Math.Max(1, odd / 2), inches + all[i].Inches);
                if (best.Count < Kept)
                {
                    best.Enqueue(more, key);
                }
                else if (best.TryPeek(out _, out (int, double) worst) && key.CompareTo(worst) < 0)
                {
                    best.EnqueueDequeue(more, key);
                }

                if (more.Length < MostOrbitsTogether + held.Length)
                {
                    Extend(more, next, key.Item2, i + 1);
                }
            }
        }

        // Takes orbits in or out, one or two at a time, as long as fewer points stay odd, or as few with less length.
        int[] Improve(int[] from)
        {
            bool[] chosen = new bool[all.Count];
            ulong[] parity = [.. now];
            double inches = heldInches;
            foreach (int i in held)
            {
                chosen[i] = true;
            }

            foreach (int i in from.Except(held))
            {
                Turn(i);
            }

            bool pairs = all.Count <= MostOrbitsInPairs;
            (int Starts, double Inches) reached = (StartsAt(-1, -1), inches);
            while (true)
            {
                cancellation.ThrowIfCancellationRequested();
                (int, int) move = (-1, -1);
                (int Starts, double Inches) next = reached;
                for (int i = 0; i < all.Count; i++)
                {
                    for (int k = i; k < (pairs ? all.Count : i + 1); k++)
                    {
                        if (isHeld[i] || isHeld[k])
                        {
                            continue;
                        }

                        int second = k == i ? -1 : k;
                        double length = inches + Gain(i) + (second < 0 ? 0 : Gain(k));
                        (int, double) key = (StartsAt(i, second), length);
                        if (IsBetter(key, next) && IsFreeTo(i, second))
                        {
                            (next, move) = (key, (i, second));
                        }
                    }
                }

                if (move.Item1 < 0)
                {
                    return [.. Enumerable.Range(0, all.Count).Where(i => chosen[i])];
                }

                Turn(move.Item1);
                if (move.Item2 >= 0)
                {
                    Turn(move.Item2);
                }

                reached = next;
            }

            bool IsBetter((int Starts, double Inches) a, (int Starts, double Inches) b) =>
                a.Starts < b.Starts || (a.Starts == b.Starts && a.Inches < b.Inches - 1e-9);

            double Gain(int i) => chosen[i] ? -all[i].Inches : all[i].Inches;

            void Turn(int i)
            {
                inches += Gain(i);
                chosen[i] = !chosen[i];
                for (int w = 0; w < words; w++)
                {
                    parity[w] ^= all[i].Parity[w];
                }
            }

            int StartsAt(int i, int k)
            {
                int odd = 0;
                for (int w = 0; w < words; w++)
                {
                    odd += System.Numerics.BitOperations.PopCount(
                        parity[w] ^ (i < 0 ? 0 : all[i].Parity[w]) ^ (k < 0 ? 0 : all[k].Parity[w])
                    );
                }

                return Math.Max(1, odd / 2);
            }

            bool IsFreeTo(int i, int k)
            {
                int[] after = [.. Enumerable.Range(0, all.Count).Where(o => chosen[o] != (o == i || o == k))];
                return (!after.Contains(i) || IsFree([.. after.Where(o => o != i)], i))
                    && (k < 0 || !after.Contains(k) || IsFree([.. after.Where(o => o != k)], k));
            }
        }

        bool IsFree(int[] chosen, int i) =>
            chosen.All(c => all[c].Q != all[i].Q || !all[i].Q.Conflicts[all[i].Orbit].Contains(all[c].Orbit));
    }

    private int StartsOf(Design d)
    {
        Pieces pieces = new(places.Count);
        int[] degree = new int[places.Count];
        foreach ((int from, int to) in seams.Select(s => (s.From, s.To)).Concat(d.Lines.Select(l => (l.From, l.To))))
        {
            pieces.Join(from, to);
            degree[from]++;
            degree[to]++;
        }

        Dictionary<int, int> odd = [];
        for (int v = 0; v < degree.Length; v++)
        {
            if (degree[v] > 0)
            {
                int p = pieces.Of(v);
                odd[p] = odd.GetValueOrDefault(p) + degree[v] % 2;
            }
        }

        return odd.Values.Sum(k => Math.Max(1, k / 2));
    }

    /// <summary>Arcs along all sides of all patches, of each class of patches, and what mends the parity beside them.</summary>
    private void AddFills(List<Design> pool)
    {
        List<(Kind Kind, Quotient Quotient)> level =
        [
            .. kinds.Select(k => (k, new Quotient(k, [.. k.Group.Select(g => g.Element)], this))),
        ];
        List<(Kind, IReadOnlyList<Orbit>, IReadOnlyList<int>)> everywhere = [];
        foreach ((Kind kind, Quotient q) in level)
        {
            // Orbits of whole patches: every side has its arc, and none is in another's way.
            List<IReadOnlyList<int>> classes = q.SidesByPatch(shapes);
            everywhere.Add((kind, q.Orbits, [.. classes.SelectMany(c => c)]));
            if (kinds.Count == 1)
            {
                foreach (IReadOnlyList<int> c in classes)
                {
                    pool.Add(MakeDesign([(kind, q.Orbits, c)], q.Order, q.Turns));
                }
            }
        }

        if (everywhere.Sum(e => e.Item3.Count) == 0)
        {
            return;
        }

        pool.Add(MakeDesign(everywhere, FullOrder(), FullTurns()) with { Fills = true });
        if (kinds.Count == 1 && kinds[0].Copies.Count == 1 && bare.LeastStarts > 1)
        {
            (Kind kind, Quotient q) = level[0];
            foreach (IReadOnlyList<int> choice in q.Choice.Shortest(1, [.. everywhere[0].Item3], []))
            {
                pool.Add(MakeDesign([(kind, q.Orbits, choice)], q.Order, q.Turns) with { Fills = true });
            }
        }
    }

    private Design MakeDesign(
        IReadOnlyList<(Kind Kind, IReadOnlyList<Orbit> Orbits, IReadOnlyList<int> Choice)> parts,
        int kept,
        int turns
    ) =>
        new(
            [.. parts.SelectMany(p => p.Choice.SelectMany(o => LinesOf(p.Kind, p.Orbits[o])))],
            kept,
            FullOrder(),
            false,
            turns
        );

    /// <summary>An orbit's lines in every cell of its kind; all with the radius of the orbit's first.</summary>
    private IEnumerable<AddedLine> LinesOf(Kind kind, Orbit orbit)
    {
        AddedLine model = kind.Lines[orbit.Lines[0]];
        foreach (CellMap copy in kind.Copies)
        {
            foreach (int i in orbit.Lines)
            {
                AddedLine line = kind.Lines[i];
                int from = copy.JunctionOf[line.From];
                int to = copy.JunctionOf[line.To];
                int bow = SquareTurns.IsMirror(copy.Element) ? -line.Bow : line.Bow;
                if (from > to)
                {
                    (from, to, bow) = (to, from, -bow);
                }

                double bulge = 0;
                if (bow != 0)
                {
                    double chord = places[from].DistanceTo(places[to]);
                    double rise = ArcShape
                        .RiseOf(Length.FromInches(chord), Length.FromInches(model.Path.Radius))
                        .Inches;
                    bulge = bow * 2 * rise / chord;
                }

                yield return new(
                    copy.ShapeOf[line.Shape],
                    from,
                    to,
                    new(places[from], places[to], bulge),
                    line.Style,
                    line.Ruler
                );
            }
        }
    }

    /// <summary>Cells that lie on one another, and the lines that could be added to the first.</summary>
    private sealed class Kind(DesignCell cell, IReadOnlyList<CellMap> group)
    {
        public DesignCell Cell { get; } = cell;

        /// <summary>The cell's own symmetries.</summary>
        public IReadOnlyList<CellMap> Group { get; } = group;

        /// <summary>How the first cell lies on each cell of the kind, itself first.</summary>
        public List<CellMap> Copies { get; } = [];

        public List<AddedLine> Lines { get; } = [];

        public List<int>[] Conflicts { get; private set; } = [];

        public void FindConflicts()
        {
            Conflicts = [.. Lines.Select(_ => new List<int>())];
            foreach (IGrouping<int, int> patch in Enumerable.Range(0, Lines.Count).GroupBy(i => Lines[i].Shape))
            {
                int[] here = [.. patch];
                for (int i = 0; i < here.Length; i++)
                {
                    for (int k = i + 1; k < here.Length; k++)
                    {
                        if (AddedLines.Conflict(Lines[here[i]], Lines[here[k]]))
                        {
                            Conflicts[here[i]].Add(here[k]);
                            Conflicts[here[k]].Add(here[i]);
                        }
                    }
                }
            }
        }
    }

    /// <summary>A kind's lines and junctions up to a subgroup of its symmetry.</summary>
    private sealed class Quotient
    {
        private readonly Kind kind;
        private readonly CellMap[] maps;

        public Quotient(Kind kind, IReadOnlyCollection<int> subgroup, DesignSearch search)
        {
            this.kind = kind;
            Order = subgroup.Count;
            Turns = subgroup.Count(e => !SquareTurns.IsMirror(e));
            maps = [.. kind.Group.Where(g => subgroup.Contains(g.Element))];
            Orbits = FindOrbits(maps);
            Conflicts = [.. Orbits.Select(_ => new HashSet<int>())];
            Dictionary<int, int> orbitOfLine = [];
            for (int o = 0; o < Orbits.Count; o++)
            {
                foreach (int i in Orbits[o].Lines)
                {
                    orbitOfLine[i] = o;
                }
            }

            for (int o = 0; o < Orbits.Count; o++)
            {
                foreach (int other in Orbits[o].Lines.SelectMany(i => kind.Conflicts[i]))
                {
                    if (orbitOfLine.TryGetValue(other, out int p))
                    {
                        Conflicts[o].Add(p);
                        Conflicts[p].Add(o);
                    }
                }
            }

            Choice = MakeChoice(maps, search);
        }

        public int Order { get; }

        /// <summary>How many of the subgroup's elements are turns.</summary>
        public int Turns { get; }

        public List<Orbit> Orbits { get; }

        public HashSet<int>[] Conflicts { get; }

        public OrbitChoice Choice { get; }

        /// <summary>For each orbit the junction orbits whose parity it turns.</summary>
        public IReadOnlyList<IReadOnlyList<int>> Turned { get; private set; } = [];

        /// <summary>For each junction orbit: odd without added lines.</summary>
        public IReadOnlyList<bool> Odd { get; private set; } = [];

        /// <summary>For each junction orbit: how many junctions it has.</summary>
        public IReadOnlyList<int> Size { get; private set; } = [];

        /// <summary>The patches that the subgroup carries one into.</summary>
        public IEnumerable<int> PatchesWith(int shape) => maps.Select(m => m.ShapeOf[shape]);

        /// <summary>
        /// For each class of patches that the symmetry carries into one another and that takes an arc along every side: the
        /// orbits of those arcs.
        /// </summary>
        public List<IReadOnlyList<int>> SidesByPatch(List<PatchShape> shapes)
        {
            List<IReadOnlyList<int>> classes = [];
            HashSet<int> seen = [];
            foreach (int s in kind.Cell.Shapes)
            {
                if (!seen.Add(s))
                {
                    continue;
                }

                foreach (CellMap m in kind.Group)
                {
                    seen.Add(m.ShapeOf[s]);
                }

                int[] orbits =
                [
                    .. Enumerable
                        .Range(0, Orbits.Count)
                        .Where(o => kind.Lines[Orbits[o].Lines[0]].Style == AddedStyle.AlongSide)
                        .Where(o => Orbits[o].Lines.Any(i => kind.Lines[i].Shape == s)),
                ];
                int sides = orbits.Sum(o => Orbits[o].Lines.Count(i => kind.Lines[i].Shape == s));
                if (sides == shapes[s].Sides.Count && !orbits.Any(o => Conflicts[o].Overlaps(orbits)))
                {
                    classes.Add(orbits);
                }
            }

            return classes;
        }

        private List<Orbit> FindOrbits(CellMap[] maps)
        {
            Dictionary<(int, int, int, int, AddedStyle), int> index = [];
            for (int i = 0; i < kind.Lines.Count; i++)
            {
                AddedLine l = kind.Lines[i];
                index[(l.Shape, l.From, l.To, l.Bow, l.Style)] = i;
            }

            List<Orbit> orbits = [];
            bool[] seen = new bool[kind.Lines.Count];
            for (int i = 0; i < kind.Lines.Count; i++)
            {
                if (seen[i])
                {
                    continue;
                }

                AddedLine l = kind.Lines[i];
                SortedSet<int> members = [i];
                bool whole = true;
                foreach (CellMap m in maps)
                {
                    if (!m.JunctionOf.TryGetValue(l.From, out int from) || !m.JunctionOf.TryGetValue(l.To, out int to))
                    {
                        whole = false;
                        continue;
                    }

                    int bow = SquareTurns.IsMirror(m.Element) ? -l.Bow : l.Bow;
                    if (from > to)
                    {
                        (from, to, bow) = (to, from, -bow);
                    }

                    // A measured patch may be too thin for what its twin takes; then neither gets it.
                    if (index.TryGetValue((m.ShapeOf[l.Shape], from, to, bow, l.Style), out int image))
                    {
                        members.Add(image);
                    }
                    else
                    {
                        whole = false;
                    }
                }

                foreach (int k in members)
                {
                    seen[k] = true;
                }

                if (whole && !members.Any(k => kind.Conflicts[k].Any(members.Contains)))
                {
                    orbits.Add(new([.. members], members.Sum(k => kind.Lines[k].Inches)));
                }
            }

            return orbits;
        }

        private OrbitChoice MakeChoice(CellMap[] maps, DesignSearch search)
        {
            // Junction orbits; an odd junction that no patch has for a corner stands alone.
            Dictionary<int, int> orbitOf = [];
            List<int> size = [];
            List<bool> odd = [];
            foreach (int v in maps[0].JunctionOf.Keys.Order())
            {
                if (orbitOf.ContainsKey(v))
                {
                    continue;
                }

                int[] members = [.. maps.Select(m => m.JunctionOf.GetValueOrDefault(v, v)).Distinct()];
                foreach (int w in members)
                {
                    orbitOf[w] = size.Count;
                }

                size.Add(members.Length);
                odd.Add(search.oddNow[v]);
            }

            foreach (int v in search.bare.Odd.Where(v => !orbitOf.ContainsKey(v)))
            {
                orbitOf[v] = size.Count;
                size.Add(1);
                odd.Add(true);
            }

            List<IReadOnlyList<int>> turns = [];
            foreach (Orbit o in Orbits)
            {
                // Every junction of an orbit meets equally many of its lines: their number at one tells the parity at all.
                Dictionary<int, int> ends = [];
                foreach (int i in o.Lines)
                {
                    ends[kind.Lines[i].From] = ends.GetValueOrDefault(kind.Lines[i].From) + 1;
                    ends[kind.Lines[i].To] = ends.GetValueOrDefault(kind.Lines[i].To) + 1;
                }

                turns.Add([.. ends.Where(e => e.Value % 2 == 1).Select(e => orbitOf[e.Key]).Distinct().Order()]);
            }

            (Turned, Odd, Size) = (turns, odd, size);
            Pieces all = search.PiecesOf(Orbits.SelectMany(o => o.Lines).Select(i => kind.Lines[i]));
            return new(Orbits, turns, Conflicts, [.. odd], [.. size], Needed, search.effort, search.cancellation);

            IReadOnlyList<int>? Needed(IReadOnlyCollection<int> chosen)
            {
                Pieces now = search.PiecesOf(chosen.SelectMany(o => Orbits[o].Lines).Select(i => kind.Lines[i]));
                search.effort.Spend(search.places.Count + search.seams.Count);

                // Of pieces that could hang together the first that does not.
                Dictionary<int, int> whole = [];
                IEnumerable<int> ends = search
                    .seams.Select(s => s.From)
                    .Concat(chosen.SelectMany(o => Orbits[o].Lines).Select(i => kind.Lines[i].From));
                foreach (int v in ends)
                {
                    int piece = now.Of(v);
                    if (!whole.TryAdd(all.Of(v), piece) && whole[all.Of(v)] != piece)
                    {
                        return
                        [
                            .. Enumerable
                                .Range(0, Orbits.Count)
                                .Where(o =>
                                    Orbits[o]
                                        .Lines.Any(i =>
                                            now.Of(kind.Lines[i].From) == piece != (now.Of(kind.Lines[i].To) == piece)
                                        )
                                ),
                        ];
                    }
                }

                return null;
            }
        }
    }

    private Pieces PiecesOf(IEnumerable<AddedLine> lines)
    {
        Pieces pieces = new(places.Count);
        foreach (StitchLine s in seams)
        {
            pieces.Join(s.From, s.To);
        }

        foreach (AddedLine l in lines)
        {
            pieces.Join(l.From, l.To);
        }

        return pieces;
    }

    /// <summary>Which junctions hang together (Tarjan's disjoint sets, with path halving).</summary>
    private sealed class Pieces(int count)
    {
        private readonly int[] above = [.. Enumerable.Range(0, count)];

        public int Of(int v)
        {
            while (above[v] != v)
            {
                above[v] = above[above[v]];
                v = above[v];
            }

            return v;
        }

        public void Join(int a, int b) => above[Of(a)] = Of(b);
    }
}
