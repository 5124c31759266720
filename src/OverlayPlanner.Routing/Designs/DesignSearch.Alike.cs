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

    private LikeShapes Like =>
        like ??= new(shapes, kinds.SelectMany(k => k.Cell.Shapes), IsMeasured(map));

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

        string? best = null;
        foreach (Alignment self in Like.SelfOf(Like.ClassOf(shape)))
        {
            string key = string.Join(
                ' ',
                own.Select(l =>
                    {
                        int i = Laid(self, Laid(lay, l.I));
                        int k = Laid(self, Laid(lay, l.K));
                        int bow = lay.Mirrored == self.Mirrored ? l.Bow : -l.Bow;
                        return i < k ? (i, k, bow, l.Style) : (k, i, -bow, l.Style);
                    })
                    .Order()
            );
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

    /// <summary>Designs under a subgroup that treat like patches alike, the ones with the fewest odd junctions.</summary>
    private void AddAlike(List<Design> pool, Kind kind, Quotient q)
    {
        if (q.Odd.Count > 64)
        {
            return;
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
                classes.Add(TreatmentsOf(members, kind, q));
                effort.Spend(classes[^1].Count * 100);
            }
        }

        foreach (PatchTreatment found in AlikeChoice.Reach(start, classes, OddAt).Take(MostAlike))
        {
            pool.Add(MakeDesign([(kind, q.Orbits, [.. found.Orbits.Distinct().Order()])], q.Order, q.Turns));
        }

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
    private List<PatchTreatment> TreatmentsOf(int[] members, Kind kind, Quotient q)
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

        // For each part: by the look of one patch, the parities that it can turn.
        Dictionary<string, Dictionary<ulong, PatchTreatment>>? together = null;
        foreach (int s in parts)
        {
            Dictionary<string, Dictionary<ulong, PatchTreatment>> here = [];
            foreach (int[] choice in Subsets(s, orbitsOf[s], kind, q))
            {
                string key = KeyOf(s, choice.SelectMany(o => q.Orbits[o].Lines).Select(i => kind.Lines[i]).Where(l => l.Shape == s));
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

    // Choices of a patch's orbits that put at most two lines into it, or one along each side.
    private IEnumerable<int[]> Subsets(int shape, List<int> orbits, Kind kind, Quotient q)
    {
        yield return [];
        int[] count = [.. orbits.Select(o => q.Orbits[o].Lines.Count(i => kind.Lines[i].Shape == shape))];
        for (int a = 0; a < orbits.Count; a++)
        {
            if (count[a] <= Math.Max(MostLinesInPatch, shapes[shape].Corners.Count))
            {
                yield return [orbits[a]];
            }

            for (int b = a + 1; b < orbits.Count; b++)
            {
                if (count[a] + count[b] <= MostLinesInPatch && !q.Conflicts[orbits[a]].Contains(orbits[b]))
                {
                    yield return [orbits[a], orbits[b]];
                }
            }
        }

        int[] sides =
        [
            .. orbits.Where(o => kind.Lines[q.Orbits[o].Lines[0]].Style == AddedStyle.AlongSide),
        ];
        int along = sides.Sum(o => q.Orbits[o].Lines.Count(i => kind.Lines[i].Shape == shape));
        if (sides.Length > 1 && along == shapes[shape].Sides.Count && !sides.Any(o => q.Conflicts[o].Overlaps(sides)))
        {
            yield return sides;
        }
    }
}
