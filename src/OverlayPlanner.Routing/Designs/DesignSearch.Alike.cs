using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing.Designs;

/// <content>Like patches: what makes them so, and designs that treat them alike.</content>
internal sealed partial class DesignSearch
{
    // More than this many lines in one patch, apart from one along each side, look busy; and the search stays small.
    private const int MostLinesInPatch = 2;
    private const int MostTreatments = 400;
    private const int MostAlike = 6;
    private LikeShapes? like;

    private LikeShapes Like => like ??= new(shapes, kinds.SelectMany(k => k.Cell.Shapes), IsMeasured(map));

    /// <summary>
    /// True where every two like patches of a block have the same lines, turned or mirrored: patches are alike where the
    /// block's own symmetry carries one into the other.
    /// </summary>
    private bool AreLikePatchesAlike(Design design)
    {
        ILookup<int, AddedLine> lines = design.Lines.ToLookup(l => l.Shape);
        foreach (Kind kind in kinds)
        {
            foreach (int s in kind.Cell.Shapes)
            {
                string key = KeyOf(s, lines[s]);
                foreach (CellMap g in kind.Group)
                {
                    int t = g.ShapeOf[s];
                    if (t > s && KeyOf(t, lines[t]) != key)
                    {
                        return false;
                    }
                }
            }
        }

        return true;
    }

    /// <summary>
    /// The orbits of arcs along seams that are pressed open, which every design has in place of the ditch; those in the way of
    /// an earlier one are left out.
    /// </summary>
    private int[] AlongOpen(Kind kind, Quotient q)
    {
        if (pressedOpen.Count == 0)
        {
            return [];
        }

        List<int> found = [];
        for (int o = 0; o < q.Orbits.Count; o++)
        {
            if (q.Orbits[o].Lines.Any(i => RunsAlongOpen(kind.Lines[i])) && !found.Any(q.Conflicts[o].Contains))
            {
                found.Add(o);
            }
        }

        return [.. found];
    }

    /// <summary>True where a design has every arc along seams that are pressed open, as far as they fit together.</summary>
    private bool HasArcsAlongOpen(Design design)
    {
        HashSet<(int, int, int, int)> has = [.. design.Lines.Select(l => (l.Shape, l.From, l.To, l.Bow))];
        return kinds.All(kind =>
        {
            Quotient q = FullQuotientOf(kind);
            return AlongOpen(kind, q)
                .SelectMany(o => LinesOf(kind, q.Orbits[o]))
                .All(l => has.Contains((l.Shape, l.From, l.To, l.Bow)));
        });
    }

    private readonly Dictionary<Kind, Quotient> fullQuotients = [];

    private Quotient FullQuotientOf(Kind kind)
    {
        if (!fullQuotients.TryGetValue(kind, out Quotient? q))
        {
            fullQuotients[kind] = q = new(kind, [.. kind.Group.Select(g => g.Element)], this);
        }

        return q;
    }

    private bool RunsAlongOpen(AddedLine line) =>
        line.Style == AddedStyle.AlongSide
        && shapes[line.Shape]
            .Sides.Any(s =>
                s.SeamIds.Any(pressedOpen.Contains)
                && (shapes[line.Shape].Corners[s.From], shapes[line.Shape].Corners[s.To]) is var (a, b)
                && ((a, b) == (line.From, line.To) || (b, a) == (line.From, line.To))
            );

    /// <summary>One text for the same lines in like patches, however these lie.</summary>
    private string KeyOf(int shape, IEnumerable<AddedLine> lines)
    {
        PatchShape s = shapes[shape];
        int n = s.Corners.Count;
        Alignment lay = Like.OnModel(shape);
        (int I, int K, int Bow, int Style)[] own = [.. lines.Select(l => Placed(s, l))];
        if (own.Length == 0)
        {
            return "";
        }

        // One character for each line, in order.
        string? best = null;
        char[] letters = new char[own.Length];
        foreach (Alignment self in Like.SelfOf(Like.ClassOf(shape)))
        {
            for (int l = 0; l < own.Length; l++)
            {
                int i = Laid(self, Laid(lay, own[l].I));
                int k = Laid(self, Laid(lay, own[l].K));
                int bow = lay.Mirrored == self.Mirrored ? own[l].Bow : -own[l].Bow;
                (i, k, bow) = i < k ? (i, k, bow) : (k, i, -bow);
                letters[l] = (char)(((i * 2 * n + i + k) * 3 + bow + 1) * 8 + own[l].Style + 1);
            }

            Array.Sort(letters);
            string key = new(letters);
            best = best is null || string.CompareOrdinal(key, best) < 0 ? key : best;
        }

        return best!;

        // Corners from 0; the middle of side i is n + i; the centre is 2 n.
        int Laid(Alignment a, int place) =>
            place < n ? a.CornerOf(place, n)
            : place < 2 * n ? n + a.SideOf(place - n, n)
            : place;
    }

    private (int I, int K, int Bow, int Style) Placed(PatchShape s, AddedLine line)
    {
        return (PlaceOf(line.From), PlaceOf(line.To), line.Bow, (int)line.Style);

        int PlaceOf(int v)
        {
            int n = s.Corners.Count;
            for (int i = 0; i < n; i++)
            {
                if (s.Corners[i] == v)
                {
                    return i;
                }
            }

            if (v == s.Center)
            {
                return 2 * n;
            }

            // A point along a side.
            int side = 0;
            double least = double.PositiveInfinity;
            for (int i = 0; i < n; i++)
            {
                double d = s.Sides[i].Edges.Min(e => e.Nearest(places[v]).Distance);
                (side, least) = d < least ? (i, d) : (side, least);
            }

            return n + side;
        }
    }

    /// <summary>
    /// Designs under a subgroup that treat like patches alike, the ones with the fewest odd junctions; with a limit, only
    /// those that leave no wider circle in any patch, or the narrowest that the patch's lines can.
    /// </summary>
    /// <returns>True where one of them is one thread.</returns>
    private bool AddAlike(List<Design> pool, Kind kind, Quotient q, double? limit = null)
    {
        if (q.Odd.Count > 64)
        {
            return false;
        }

        ulong start = 0;
        for (int j = 0; j < q.Odd.Count; j++)
        {
            start |= q.Odd[j] ? 1UL << j : 0;
        }

        HashSet<int> seen = [];
        List<IReadOnlyList<PatchTreatment>> classes = [];
        foreach (int s in kind.Cell.Shapes)
        {
            if (seen.Add(s))
            {
                int[] members = [.. kind.Group.Select(g => g.ShapeOf[s]).Distinct()];
                seen.UnionWith(members);
                classes.Add(TreatmentsOf(members, kind, q, limit));
                effort.Spend(classes[^1].Count * 100);
            }
        }

        bool isOneThread = false;
        foreach (PatchTreatment found in AlikeChoice.Reach(start, classes, OddAt).Take(MostAlike))
        {
            pool.Add(MakeDesign([(kind, q.Orbits, [.. found.Orbits.Distinct().Order()])], q.Order, q.Turns));
            isOneThread |= OddAt(found.Parity) <= 2 && StartsOf(pool[^1]) == 1;
        }

        return isOneThread;

        int OddAt(ulong parity)
        {
            int odd = 0;
            for (int j = 0; j < q.Size.Count; j++)
            {
                odd += (parity >> j & 1) == 1 ? q.Size[j] : 0;
            }

            return odd;
        }
    }

    // Every way to treat the patches of one class alike, the shortest for each parity.
    private List<PatchTreatment> TreatmentsOf(int[] members, Kind kind, Quotient q, double? limit)
    {
        // Under the subgroup the class falls apart into orbits of patches; each has its own orbits of lines.
        Dictionary<int, List<int>> orbitsOf = [];
        foreach (int o in Enumerable.Range(0, q.Orbits.Count))
        {
            foreach (int s in q.Orbits[o].Lines.Select(i => kind.Lines[i].Shape).Distinct())
            {
                if (members.Contains(s))
                {
                    if (!orbitsOf.TryGetValue(s, out List<int>? list))
                    {
                        orbitsOf[s] = list = [];
                    }

                    list.Add(o);
                }
            }
        }

        List<PatchTreatment> none = [new(0, 0, [])];
        List<int> parts = [];
        HashSet<int> covered = [];
        foreach (int s in members.Order())
        {
            if (!covered.Add(s))
            {
                continue;
            }

            if (!orbitsOf.ContainsKey(s))
            {
                return none;
            }

            parts.Add(s);
            covered.UnionWith(q.PatchesWith(s));
        }

        int[] along = AlongOpen(kind, q);

        // For each part: by the look of one patch, the parities that it can turn.
        Dictionary<string, Dictionary<ulong, PatchTreatment>>? together = null;
        foreach (int s in parts)
        {
            Dictionary<string, Dictionary<ulong, PatchTreatment>> here = [];
            IEnumerable<int[]> choices = Subsets(s, orbitsOf[s], kind, q);
            if (along.Where(orbitsOf[s].Contains).ToArray() is { Length: > 0 } must)
            {
                choices = [must, .. choices.Concat(Crowded(s, orbitsOf[s], kind, q)).Where(c => must.All(c.Contains))];
            }

            if (limit is { } widest && GapOf(s, []) > widest)
            {
                choices = Filling(s, [.. choices, .. Crowded(s, orbitsOf[s], kind, q)], kind, q, widest);
            }

            foreach (int[] choice in choices)
            {
                string key = KeyOf(s, LinesIn(s, choice, kind, q));
                ulong parity = choice.SelectMany(o => q.Turned[o]).Aggregate(0UL, (p, j) => p ^ (1UL << j));
                double inches = choice.Sum(o => q.Orbits[o].Inches);
                if (!here.TryGetValue(key, out Dictionary<ulong, PatchTreatment>? known))
                {
                    here[key] = known = [];
                }

                if (!known.TryGetValue(parity, out PatchTreatment? old) || inches < old.Inches - 1e-9)
                {
                    known[parity] = new(parity, inches, choice);
                }
            }

            if (together is null)
            {
                together = here;
                continue;
            }

            Dictionary<string, Dictionary<ulong, PatchTreatment>> both = [];
            foreach ((string key, Dictionary<ulong, PatchTreatment> first) in together)
            {
                if (here.TryGetValue(key, out Dictionary<ulong, PatchTreatment>? second))
                {
                    Dictionary<ulong, PatchTreatment> sum = [];
                    foreach (PatchTreatment a in first.Values)
                    {
                        foreach (PatchTreatment b in second.Values)
                        {
                            ulong parity = a.Parity ^ b.Parity;
                            double inches = a.Inches + b.Inches;
                            if (!sum.TryGetValue(parity, out PatchTreatment? old) || inches < old.Inches - 1e-9)
                            {
                                sum[parity] = new(parity, inches, [.. a.Orbits, .. b.Orbits]);
                            }
                        }
                    }

                    both[key] = sum;
                }
            }

            together = both;
        }

        return
        [
            .. (together ?? [])
                .Values.SelectMany(v => v.Values)
                .GroupBy(t => t.Parity)
                .Select(g => g.MinBy(t => t.Inches)!)
                .OrderBy(t => t.Inches)
                .Take(MostTreatments),
        ];
    }

    private static IEnumerable<AddedLine> LinesIn(int shape, int[] choice, Kind kind, Quotient q) =>
        choice.SelectMany(o => q.Orbits[o].Lines).Select(i => kind.Lines[i]).Where(l => l.Shape == shape);

    private readonly Dictionary<(int, string), double> gaps = [];

    /// <summary>Diameter of the widest circle that a patch's seams and these lines leave.</summary>
    private double GapOf(int shape, IReadOnlyList<AddedLine> lines)
    {
        (int, string) key = (Like.ClassOf(shape), KeyOf(shape, lines));
        if (!gaps.TryGetValue(key, out double gap))
        {
            PatchShape s = shapes[shape];
            Edge<ClothSpace>[] bounds = [.. s.Ring, .. s.HoleEdges];
            gap =
                2
                * (
                    WidestGap
                        .Widest(
                            [.. bounds, .. lines.Select(l => l.Path)],
                            bounds,
                            Box<ClothSpace>.Around(
                                s.Ring.SelectMany(e =>
                                    new[] { e.From, e.PointAt(0.25), e.PointAt(0.5), e.PointAt(0.75) }
                                )
                            ),
                            0
                        )
                        ?.Radius
                    ?? 0
                );
            gaps[key] = gap;
            effort.Spend(2000);
        }

        return gap;
    }

    // Of the choices those that leave no circle wider than the limit; where none does, those that leave the narrowest.
    private List<int[]> Filling(int shape, List<int[]> choices, Kind kind, Quotient q, double limit)
    {
        const int Looked = 240;
        const int Enough = 40;
        List<(double Gap, int[] Choice)> found = [];
        int met = 0;
        foreach (
            int[] choice in choices
                .OrderBy(c => LinesIn(shape, c, kind, q).Sum(l => l.Inches))
                .Take(Looked)
                .TakeWhile(_ => met < Enough)
        )
        {
            double gap = GapOf(shape, [.. LinesIn(shape, choice, kind, q)]);
            met += gap <= limit ? 1 : 0;
            found.Add((gap, choice));
        }

        double most = Math.Max(limit, found.Min(f => f.Gap) + 1.0 / 32);
        return [.. found.Where(f => f.Gap <= most).Select(f => f.Choice)];
    }

    // Fuller choices: three orbits together, and those along all sides with one more.
    private static IEnumerable<int[]> Crowded(int shape, List<int> orbits, Kind kind, Quotient q)
    {
        const int MostLines = 8;
        int[] count = [.. orbits.Select(o => q.Orbits[o].Lines.Count(i => kind.Lines[i].Shape == shape))];
        for (int a = 0; a < orbits.Count; a++)
        {
            for (int b = a + 1; b < orbits.Count; b++)
            {
                if (q.Conflicts[orbits[a]].Contains(orbits[b]) || count[a] + count[b] > MostLines)
                {
                    continue;
                }

                if (count[a] + count[b] > MostLinesInPatch)
                {
                    yield return [orbits[a], orbits[b]];
                }

                for (int c = b + 1; c < orbits.Count; c++)
                {
                    if (
                        count[a] + count[b] + count[c] <= MostLines
                        && !q.Conflicts[orbits[a]].Contains(orbits[c])
                        && !q.Conflicts[orbits[b]].Contains(orbits[c])
                    )
                    {
                        yield return [orbits[a], orbits[b], orbits[c]];
                    }
                }
            }
        }

        int[] sides = [.. orbits.Where(o => kind.Lines[q.Orbits[o].Lines[0]].Style == AddedStyle.AlongSide)];
        if (sides.Length > 1 && !sides.Any(o => q.Conflicts[o].Overlaps(sides)))
        {
            foreach (int o in orbits.Except(sides).Where(o => !sides.Any(s => q.Conflicts[o].Contains(s))))
            {
                yield return [.. sides, o];
            }

            int[] centers = [.. orbits.Where(o => kind.Lines[q.Orbits[o].Lines[0]].Style == AddedStyle.LineToCenter)];
            if (centers.Length > 1 && !centers.Any(o => sides.Any(s => q.Conflicts[o].Contains(s))))
            {
                yield return [.. sides, .. centers];
                yield return centers;
            }
        }
    }

    /// <summary>
    /// Designs that leave no circle wider than the batting allows, as far as the patches' lines can: in each class of like
    /// patches the shortest lines that do, and what mends the parity.
    /// </summary>
    private void AddEvenFills(List<Design> pool, double limit)
    {
        if (kinds.Count == 1 && kinds[0].Copies.Count == 1)
        {
            Kind only = kinds[0];
            foreach (IReadOnlyList<int> subgroup in SquareTurns.SubgroupsOf([.. only.Group.Select(g => g.Element)]))
            {
                if (subgroup.Count == only.Group.Count || subgroup.Count >= 4)
                {
                    AddAlike(pool, only, new(only, subgroup, this), limit);
                }
            }

            return;
        }

        Design fewest = pool.Where(d => !d.IsHalfAPattern).MinBy(d => (StartsOf(d), d.Inches))!;
        HashSet<(int, int, int, int)> has = [.. fewest.Lines.Select(l => (l.Shape, l.From, l.To, l.Bow))];
        List<(Kind, Quotient)> level = [];
        List<(Kind, int)> given = [];
        foreach (Kind kind in kinds)
        {
            Quotient q = new(kind, [.. kind.Group.Select(g => g.Element)], this);
            level.Add((kind, q));
            // The cell's own junctions come first; those of the rest of the map turn with none of its lines.
            if (q.Turned.SelectMany(t => t).DefaultIfEmpty(0).Max() >= 64)
            {
                continue;
            }

            HashSet<int> seen = [];
            List<IReadOnlyList<PatchTreatment>> classes = [];
            foreach (int s in kind.Cell.Shapes)
            {
                int[] members = [.. kind.Group.Select(g => g.ShapeOf[s]).Distinct()];
                if (seen.Add(members.Min()))
                {
                    classes.Add(TreatmentsOf(members, kind, q, limit));
                }
            }

            // The points are left as the design with the fewest starts leaves them, by lines that fill as well.
            ulong wanted = 0;
            for (int o = 0; o < q.Orbits.Count; o++)
            {
                AddedLine line = kind.Lines[q.Orbits[o].Lines[0]];
                if (has.Contains((line.Shape, line.From, line.To, line.Bow)))
                {
                    wanted = q.Turned[o].Aggregate(wanted, (p, j) => p ^ (1UL << j));
                }
            }

            given.AddRange(
                AlikeChoice
                    .Reach(wanted, classes, p => System.Numerics.BitOperations.PopCount(p))[0]
                    .Orbits.Distinct()
                    .Select(o => (kind, o))
            );
        }

        pool.AddRange(FewestStarts(level, FullOrder(), given));
    }

    // Choices of a patch's orbits that put at most two lines into it, or one along each side.
    private IEnumerable<int[]> Subsets(int shape, List<int> orbits, Kind kind, Quotient q)
    {
        yield return [];

        // Of a patch with many corners only arcs along its sides are paired.
        const int MostPaired = 14;
        bool isSmall = orbits.Count <= MostPaired;
        bool[] isSide = [.. orbits.Select(o => kind.Lines[q.Orbits[o].Lines[0]].Style == AddedStyle.AlongSide)];
        int[] count = [.. orbits.Select(o => q.Orbits[o].Lines.Count(i => kind.Lines[i].Shape == shape))];
        for (int a = 0; a < orbits.Count; a++)
        {
            if (count[a] <= Math.Max(MostLinesInPatch, shapes[shape].Corners.Count))
            {
                yield return [orbits[a]];
            }

            for (int b = a + 1; b < orbits.Count && (isSmall || isSide[a]); b++)
            {
                if (
                    (isSmall || isSide[b])
                    && count[a] + count[b] <= MostLinesInPatch
                    && !q.Conflicts[orbits[a]].Contains(orbits[b])
                )
                {
                    yield return [orbits[a], orbits[b]];
                }
            }
        }

        int[] sides = [.. orbits.Where(o => kind.Lines[q.Orbits[o].Lines[0]].Style == AddedStyle.AlongSide)];
        int along = sides.Sum(o => q.Orbits[o].Lines.Count(i => kind.Lines[i].Shape == shape));
        if (sides.Length > 1 && along == shapes[shape].Sides.Count && !sides.Any(o => q.Conflicts[o].Overlaps(sides)))
        {
            yield return sides;
        }
    }
}
