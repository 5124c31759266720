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
    private readonly Dictionary<SeamOrigin, string> names = [];

    // A place well inside each patch that was found again.
    private readonly Dictionary<string, Point<ClothSpace>> inner = [];

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

    /// <summary>As <see cref="Assemble(LooseMap, IReadOnlyList{Block})"/>; says which ids new seams have got.</summary>
    public static QuiltMap Assemble(
        LooseMap loose,
        IReadOnlyList<Block> blocks,
        out IReadOnlyDictionary<SeamOrigin, string> names
    )
    {
        LooseMapAssembly assembly = new(loose);
        QuiltMap map = assembly.Build(blocks);
        names = assembly.names;
        return map;
    }

    private QuiltMap Build(IReadOnlyList<Block> blocks)
    {
        IReadOnlyList<TracedFace> faces = FaceTracer.Trace(loose);
        Junction[] junctions = [.. loose.LivePoints.Select(Make)];
        Seam[] seams = MakeSeams();
        List<Patch> patches = MakePatches(faces);
        QuiltMap map = loose.Map;
        HashSet<string> gone = [.. loose.Dirty.Select(p => map.Patches[p].Id)];
        Block[] kept =
        [
            .. blocks.Select(b =>
                b.Patches.Any(p => gone.Contains(p) || inner.ContainsKey(p))
                    ? b with
                    {
                        Patches = [.. b.Patches.Where(p => !gone.Contains(p) && !inner.ContainsKey(p))],
                    }
                    : b
            ),
        ];
        return new(
            map.Width,
            map.Height,
            junctions,
            seams,
            patches,
            BlockPatches.Enter(patches, kept, inner),
            ids.Remember(map.Unknown)
        );
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
        // Most have stayed whole; pieces stand together where their seam stood.
        SortedDictionary<int, List<LooseSeam>> byRank = [];
        List<Seam> made = new(loose.Seams.Count);
        foreach (LooseSeam s in loose.Seams.Where(s => s is { IsGone: false, IsPiece: true } || IsNew(s.Origin)))
        {
            if (!s.IsGone)
            {
                (
                    byRank.TryGetValue(s.Origin.Rank, out List<LooseSeam>? there) ? there : byRank[s.Origin.Rank] = []
                ).Add(s);
            }
        }

        for (int rank = 0; rank < loose.Map.Seams.Count; rank++)
        {
            LooseSeam s = loose.Seams[rank];
            if (byRank.TryGetValue(rank, out List<LooseSeam>? pieces))
            {
                made.AddRange(MakePieces(pieces));
            }
            else if (!s.IsGone)
            {
                made.Add(Make(s, s.Origin.Id!));
            }
        }

        foreach ((_, List<LooseSeam> pieces) in byRank.Where(r => r.Key >= loose.Map.Seams.Count))
        {
            made.AddRange(MakePieces(pieces));
        }

        return [.. made];
    }

    private bool IsNew(SeamOrigin origin) => origin.Rank >= loose.Map.Seams.Count;

    private IEnumerable<Seam> MakePieces(List<LooseSeam> pieces)
    {
        SeamOrigin origin = pieces[0].Origin;
        string id = IsNew(origin)
            ? (origin.Id is { } wished && !ids.IsTaken(wished) ? ids.Take(wished) : ids.Next("s"))
            : origin.Id!;
        if (IsNew(origin))
        {
            names[origin] = id;
        }

        LooseSeam[] inOrder = [.. pieces.OrderBy(s => s.Begins).ThenBy(s => s.Ends)];
        for (int i = 0; i < inOrder.Length; i++)
        {
            yield return Make(
                inOrder[i],
                inOrder.Length == 1 ? id : ids.Take($"{id}.{(i + 1).ToString(CultureInfo.InvariantCulture)}")
            );
        }
    }

    private Seam Make(LooseSeam s, string id)
    {
        seamId[s] = id;
        (string from, string to) = (pointId[s.From], pointId[s.To]);
        Seam t = s.Template;
        return t.Id == id && t.From == from && t.To == to && t.Bulge == s.Bulge
            ? t
            : t with
            {
                Id = id,
                From = from,
                To = to,
                Bulge = s.Bulge,
            };
    }

    private List<Patch> MakePatches(IReadOnlyList<TracedFace> faces)
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
                inner[id] = own[i].InnerPoint();
            }
        }

        foreach (TracedFace f in strangers)
        {
            int around =
                AroundOf(f) is var inside and >= 0 ? inside
                : f.Holder is { } holder ? OwnerOf(holder)
                : -1;
            Patch blank = new(ids.Next("p"), [])
            {
                Color = around < 0 ? null : before[around].Color,
                Leave = around >= 0 && before[around].Leave,
            };
            patches.Add(Make(f, blank, blank));
            inner[blank.Id] = f.InnerPoint();
        }

        return patches;
    }

    // The old patch inside which a shape was closed by a seam that dangled or floated there.
    private static int AroundOf(TracedFace face) =>
        face.Ring.Steps.Select(s => s.Label).Where(l => l >= 0).DefaultIfEmpty(-1).First();

    // The old patch that lies along most of the ring; none along new seams alone, and none along seams that bordered nothing.
    private static int OwnerOf(TracedFace face)
    {
        Dictionary<int, double> along = [];
        foreach (LooseStep s in face.Ring.Steps)
        {
            if (s.Label >= 0 && s.Seam.Left != s.Seam.Right)
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
