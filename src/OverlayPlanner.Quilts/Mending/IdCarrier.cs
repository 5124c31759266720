using OverlayPlanner.Geometry;

namespace OverlayPlanner.Quilts.Mending;

/// <summary>A map that took over the ids of an earlier one.</summary>
/// <param name="Map">The map.</param>
/// <param name="NewSeamIds">The ids that seams have now, by those that they had.</param>
public sealed record CarriedMap(QuiltMap Map, IReadOnlyDictionary<string, string> NewSeamIds);

/// <summary>
/// Gives a map that was made anew the ids of an earlier one: what lies where something of its kind lay is that, with what a
/// person said of it (low side, outline, left alone). The rest gets ids that nothing had.
/// </summary>
/// <remarks>O(n²) in cheap steps for n points or seams; greedy, the nearest pairs first.</remarks>
public static class IdCarrier
{
    private const double AlikeCosine = 0.966; // 15 degrees
    private const double AlikeLength = 0.8;

    /// <summary>Carries ids over.</summary>
    /// <param name="made">The map made anew; its blocks must have the earlier one's ids where they are the same.</param>
    /// <param name="earlier">The earlier map.</param>
    public static CarriedMap Carry(QuiltMap made, QuiltMap earlier)
    {
        ArgumentNullException.ThrowIfNull(made);
        ArgumentNullException.ThrowIfNull(earlier);
        FreshIds ids = new(earlier);
        Dictionary<string, string> points = Pair(
            made.Junctions,
            earlier.Junctions,
            j => j.Id,
            (a, b) => a.Place.DistanceTo(b.Place)
        );
        Complete(points, made.Junctions.Select(j => j.Id), () => ids.Next("j"));
        Dictionary<string, string> seams = PairSeams(made, earlier, points);
        Complete(seams, made.Seams.Select(s => s.Id), () => ids.Next("s"));
        Dictionary<string, string> patches = PairPatches(made, earlier);
        Complete(patches, made.Patches.Select(p => p.Id), () => ids.Next("p"));
        Dictionary<string, Patch> patchBefore = earlier.Patches.ToDictionary(p => p.Id);
        QuiltMap map = new(
            made.Width,
            made.Height,
            [.. made.Junctions.Select(j => j with { Id = points[j.Id] })],
            [.. made.Seams.Select(s => SeamOf(made, earlier, s, seams[s.Id], points))],
            [
                .. made.Patches.Select(p =>
                {
                    Patch? before = patchBefore.GetValueOrDefault(patches[p.Id]);
                    return p with
                    {
                        Id = patches[p.Id],
                        Seams = [.. p.Seams.Select(s => seams[s])],
                        Holes = [.. p.Holes.Select(h => (IReadOnlyList<string>)[.. h.Select(s => seams[s])])],
                        Leave = before?.Leave ?? p.Leave,
                        Unknown = before?.Unknown ?? p.Unknown,
                    };
                }),
            ],
            [.. made.Blocks.Select(b => b with { Patches = [.. b.Patches.Select(p => patches[p])] })],
            ids.Remember(earlier.Unknown)
        );
        return new(map, seams);
    }

    private static Seam SeamOf(QuiltMap made, QuiltMap earlier, Seam seam, string id, Dictionary<string, string> points)
    {
        Seam carried = seam with { Id = id, From = points[seam.From], To = points[seam.To] };
        if (earlier.FindSeam(id) is not { } before)
        {
            return carried;
        }

        (Edge<ClothSpace> now, Edge<ClothSpace> then) = (made.EdgeOf(seam), earlier.EdgeOf(before));
        bool along = (now.To - now.From).Dot(then.To - then.From) >= 0;
        Side? ditch =
            along || before.Ditch is not { } side ? before.Ditch
            : side == Side.Left ? Side.Right
            : Side.Left;
        return carried with
        {
            Ditch = before.DitchWhy is null ? ditch ?? carried.Ditch : ditch,
            DitchWhy = before.DitchWhy ?? carried.DitchWhy,
            DitchConfidence = before.DitchWhy is null ? carried.DitchConfidence : before.DitchConfidence,
            Edge = carried.Role == SeamRole.Edge ? before.Edge ?? carried.Edge : carried.Edge,
            Confidence = Math.Max(before.Confidence, carried.Confidence),
            Unknown = before.Unknown,
        };
    }

    private static Dictionary<string, string> PairSeams(
        QuiltMap made,
        QuiltMap earlier,
        Dictionary<string, string> points
    )
    {
        // Between the same points first; what is left by where it runs.
        Dictionary<(string, string), List<Seam>> between = [];
        foreach (Seam s in earlier.Seams)
        {
            (string, string) ends = Ends(s.From, s.To);
            (between.TryGetValue(ends, out List<Seam>? there) ? there : between[ends] = []).Add(s);
        }

        Dictionary<string, string> pairs = [];
        HashSet<string> taken = [];
        foreach (Seam s in made.Seams)
        {
            Point<ClothSpace> middle = made.EdgeOf(s).PointAt(0.5);
            Seam? same = between
                .GetValueOrDefault(Ends(points[s.From], points[s.To]))
                ?.Where(o => !taken.Contains(o.Id))
                .MinBy(o => earlier.EdgeOf(o).PointAt(0.5).DistanceTo(middle));
            if (same is not null && earlier.EdgeOf(same).PointAt(0.5).DistanceTo(middle) <= Spots.ReachInches)
            {
                pairs[s.Id] = same.Id;
                taken.Add(same.Id);
            }
        }

        foreach (
            (string id, string other) in Pair(
                [.. made.Seams.Where(s => !pairs.ContainsKey(s.Id))],
                [.. earlier.Seams.Where(s => !taken.Contains(s.Id))],
                s => s.Id,
                (a, b) => Apart(made.EdgeOf(a), earlier.EdgeOf(b))
            )
        )
        {
            pairs[id] = other;
        }

        return pairs;

        static (string, string) Ends(string a, string b) => string.CompareOrdinal(a, b) <= 0 ? (a, b) : (b, a);
    }

    private static double Apart(Edge<ClothSpace> a, Edge<ClothSpace> b)
    {
        double shorter = Math.Min(a.Length, b.Length);
        bool alike =
            shorter >= AlikeLength * Math.Max(a.Length, b.Length)
            && Math.Abs((a.To - a.From).Unit.Dot((b.To - b.From).Unit)) >= AlikeCosine;
        return alike ? a.PointAt(0.5).DistanceTo(b.PointAt(0.5)) : double.PositiveInfinity;
    }

    private static Dictionary<string, string> PairPatches(QuiltMap made, QuiltMap earlier)
    {
        // A patch is the one in whose middle its own middle lies, both ways.
        Dictionary<string, string> pairs = [];
        HashSet<string> taken = [];
        foreach (Patch p in made.Patches)
        {
            Patch? there = Spots.PatchAt(earlier, PatchFinder.InteriorPoint(made, p));
            if (
                there is not null
                && !taken.Contains(there.Id)
                && Spots.PatchAt(made, PatchFinder.InteriorPoint(earlier, there))?.Id == p.Id
            )
            {
                pairs[p.Id] = there.Id;
                taken.Add(there.Id);
            }
        }

        return pairs;
    }

    private static Dictionary<string, string> Pair<T>(
        IReadOnlyList<T> made,
        IReadOnlyList<T> earlier,
        Func<T, string> idOf,
        Func<T, T, double> distance
    )
    {
        List<(double Distance, int Made, int Earlier)> near = [];
        for (int a = 0; a < made.Count; a++)
        {
            for (int b = 0; b < earlier.Count; b++)
            {
                double d = distance(made[a], earlier[b]);
                if (d <= Spots.ReachInches)
                {
                    near.Add((d, a, b));
                }
            }
        }

        near.Sort();
        Dictionary<string, string> pairs = [];
        HashSet<int> taken = [];
        foreach ((_, int a, int b) in near)
        {
            if (!taken.Contains(b) && pairs.TryAdd(idOf(made[a]), idOf(earlier[b])))
            {
                taken.Add(b);
            }
        }

        return pairs;
    }

    private static void Complete(Dictionary<string, string> pairs, IEnumerable<string> ids, Func<string> fresh)
    {
        foreach (string id in ids)
        {
            if (!pairs.ContainsKey(id))
            {
                pairs[id] = fresh();
            }
        }
    }
}
