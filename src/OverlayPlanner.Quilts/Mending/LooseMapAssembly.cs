using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>Makes a map of a loose map: ids, patches, and which patches lie in which block.</summary>
internal sealed class LooseMapAssembly
{
    // Patches whose boxes' middles differ by less stand in one row.
    private const double RowWithin = 1e-3;

    private readonly LooseMap loose;
    private readonly FreshIds ids;
    private readonly Dictionary<LoosePoint, string> pointId = [];
    private readonly Dictionary<LooseSeam, string> seamId = [];

    private LooseMapAssembly(LooseMap loose)
    {
        this.loose = loose;
        ids = new(loose.Map);
    }

    /// <summary>The map. What has not changed keeps its record, its id and its place in the lists.</summary>
    /// <param name="blocks">Blocks as they are now; their patches are found again where patches changed.</param>
    public static QuiltMap Assemble(LooseMap loose, IReadOnlyList<Block> blocks)
    {
        LooseMapAssembly assembly = new(loose);
        return assembly.Build(blocks);
    }

    private QuiltMap Build(IReadOnlyList<Block> blocks)
    {
        IReadOnlyList<TracedFace> faces = FaceTracer.Trace(loose);
        Junction[] junctions = [.. loose.LivePoints.Select(Make)];
        Seam[] seams = MakeSeams();
        (List<Patch> patches, HashSet<string> found) = MakePatches(faces);
        QuiltMap map = loose.Map;
        HashSet<string> left = [.. patches.Select(p => p.Id)];
        Block[] kept =
        [
            .. blocks.Select(b =>
                b.Patches.All(p => left.Contains(p) && !found.Contains(p))
                    ? b
                    : b with
                    {
                        Patches = [.. b.Patches.Where(p => left.Contains(p) && !found.Contains(p))],
                    }
            ),
        ];
        QuiltMap bare = new(map.Width, map.Height, junctions, seams, patches, kept, ids.Remember(map.Unknown));
        return found.Count == 0 || blocks.Count == 0 ? bare : bare.With(blocks: BlockPatches.Enter(bare, kept, found));
    }

    private Junction Make(LoosePoint p)
    {
        string id = pointId[p] = p.Source?.Id ?? ids.Next("j");
        if (p.Source is { } j)
        {
            return j.Place == p.Place ? j : j with { At = new(p.Place, p.Sigma) };
        }

        return new(id, new(p.Place, p.Sigma));
    }

    private Seam[] MakeSeams()
    {
        List<(SeamOrigin Origin, Seam Seam)> made = new(loose.Seams.Count);
        foreach (
            IGrouping<SeamOrigin, LooseSeam> origin in loose
                .LiveSeams.GroupBy(s => s.Origin)
                .OrderBy(g => g.Key.Rank)
        )
        {
            LooseSeam[] pieces = [.. origin.OrderBy(s => s.Begins).ThenBy(s => s.Ends)];
            string id = origin.Key.Id ?? ids.Next("s");
            bool isNew = origin.Key.Rank >= loose.Map.Seams.Count;
            for (int i = 0; i < pieces.Length; i++)
            {
                LooseSeam s = pieces[i];
                string own =
                    pieces.Length > 1 ? ids.Take($"{id}.{(i + 1).ToString(CultureInfo.InvariantCulture)}")
                    : isNew && origin.Key.Id is not null ? ids.Take(id)
                    : id;
                seamId[s] = own;
                (string from, string to) = (pointId[s.From], pointId[s.To]);
                Seam t = s.Template;
                bool same = t.Id == own && t.From == from && t.To == to && t.Bulge == s.Bulge;
                made.Add(
                    (
                        origin.Key,
                        same ? t
                        : t with
                        {
                            Id = own,
                            From = from,
                            To = to,
                            Bulge = s.Bulge,
                        }
                    )
                );
            }
        }

        return [.. made.Select(m => m.Seam)];
    }

    private (List<Patch> Patches, HashSet<string> Found) MakePatches(IReadOnlyList<TracedFace> faces)
    {
        IReadOnlyList<Patch> before = loose.Map.Patches;
        Dictionary<int, List<TracedFace>> heirs = [];
        List<TracedFace> strangers = [];
        foreach (TracedFace f in ReadingOrder.Sort(faces, f => f.Ring.Box.Center, RowWithin))
        {
            int owner = OwnerOf(f);
            if (owner < 0)
            {
                strangers.Add(f);
            }
            else if (heirs.TryGetValue(owner, out List<TracedFace>? others))
            {
                others.Add(f);
            }
            else
            {
                heirs[owner] = [f];
            }
        }

        List<Patch> patches = new(before.Count + 8);
        HashSet<string> found = [];
        for (int p = 0; p < before.Count; p++)
        {
            if (!loose.Dirty.Contains(p))
            {
                patches.Add(before[p]);
                continue;
            }

            List<TracedFace> own = heirs.GetValueOrDefault(p) ?? [];
            for (int i = 0; i < own.Count; i++)
            {
                string id =
                    own.Count == 1
                        ? before[p].Id
                        : ids.Take($"{before[p].Id}.{(i + 1).ToString(CultureInfo.InvariantCulture)}");
                patches.Add(Make(own[i], before[p] with { Id = id }, before[p]));
                found.Add(id);
            }
        }

        foreach (TracedFace f in strangers)
        {
            int around = f.Holder is { } holder ? OwnerOf(holder) : -1;
            Patch blank = new(ids.Next("p"), [])
            {
                Color = around < 0 ? null : before[around].Color,
                Leave = around >= 0 && before[around].Leave,
            };
            patches.Add(Make(f, blank, blank));
            found.Add(blank.Id);
        }

        return (patches, found);
    }

    // The old patch that lies along most of the ring; none along new seams alone.
    private static int OwnerOf(TracedFace face)
    {
        Dictionary<int, double> along = [];
        foreach (LooseStep s in face.Ring.Steps)
        {
            if (s.Label >= 0)
            {
                along[s.Label] = along.GetValueOrDefault(s.Label) + s.Path.Length;
            }
        }

        return along.Count == 0 ? -1 : along.OrderByDescending(a => a.Value).ThenBy(a => a.Key).First().Key;
    }

    // The lists begin where they began before, so that a patch that has not changed reads the same.
    private Patch Make(TracedFace face, Patch patch, Patch before)
    {
        List<string> ring = [.. face.Ring.Steps.Reverse().Select(s => seamId[s.Seam])];
        IReadOnlyList<string> seams = StartAt(ring, before.Seams);
        IReadOnlyList<string>[] holes =
        [
            .. face.Holes.Select(h =>
            {
                List<string> own = [.. h.Steps.Select(s => seamId[s.Seam])];
                return StartAt(own, before.Holes.FirstOrDefault(o => own.Contains(o[0])) ?? []);
            }),
        ];
        bool same =
            seams.SequenceEqual(before.Seams)
            && holes.Length == before.Holes.Count
            && holes.Index().All(h => h.Item.SequenceEqual(before.Holes[h.Index]));
        return same ? before with { Id = patch.Id } : patch with { Seams = seams, Holes = holes };
    }

    private static IReadOnlyList<string> StartAt(List<string> ring, IReadOnlyList<string> before)
    {
        int n = ring.Count;
        for (int start = 0; n == before.Count && start < n; start++)
        {
            if (Enumerable.Range(0, n).All(i => ring[(start + i) % n] == before[i]))
            {
                return before;
            }
        }

        int at = before.Count == 0 ? -1 : ring.IndexOf(before[0]);
        return at <= 0 ? ring : [.. ring.Skip(at), .. ring.Take(at)];
    }
}
