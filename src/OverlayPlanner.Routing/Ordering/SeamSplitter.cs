using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>Puts new points on seams, many at once.</summary>
internal static class SeamSplitter
{
    // A side shorter than this has no middle that a hand could aim at.
    private const double ShortestSide = 1;
    private const double TurnsFrom = 12 * Math.PI / 180;

    /// <summary>
    /// Splits seams at fractions of their length; the pieces keep the seam's id with .1, .2 and so on. Junctions keep their
    /// places in the list, new ones follow. O(map).
    /// </summary>
    public static QuiltMap Split(QuiltMap map, IReadOnlyDictionary<string, IReadOnlyCollection<double>> at)
    {
        if (at.Count == 0)
        {
            return map;
        }

        HashSet<string> taken = [.. map.Junctions.Select(j => j.Id), .. map.Seams.Select(s => s.Id)];
        List<Junction> junctions = [.. map.Junctions];
        List<Seam> seams = [];
        Dictionary<string, List<string>> pieces = [];
        foreach (Seam seam in map.Seams)
        {
            double[] cuts = [.. at.GetValueOrDefault(seam.Id, []).Where(t => t is > 0 and < 1).Distinct().Order()];
            if (cuts.Length == 0)
            {
                seams.Add(seam);
                continue;
            }

            Edge<ClothSpace> path = map.EdgeOf(seam);
            (Estimate<Point<ClothSpace>> from, Estimate<Point<ClothSpace>> to) = (
                map.JunctionOf(seam.From).At,
                map.JunctionOf(seam.To).At
            );
            List<string> made = [];
            string last = seam.From;
            for (int i = 0; i <= cuts.Length; i++)
            {
                double t0 = i == 0 ? 0 : cuts[i - 1];
                double t1 = i == cuts.Length ? 1 : cuts[i];
                string next = seam.To;
                if (i < cuts.Length)
                {
                    next = Free("j" + Number(junctions.Count + 1));
                    double sigma = (from.Sigma.Inches * (1 - t1)) + (to.Sigma.Inches * t1);
                    junctions.Add(new(next, new(path.PointAt(t1), Length.FromInches(sigma))));
                }

                string id = Free($"{seam.Id}.{Number(i + 1)}");
                seams.Add(
                    seam with
                    {
                        Id = id,
                        From = last,
                        To = next,
                        Bulge = seam.Bulge == 0 ? 0 : Math.Tan((t1 - t0) * path.Sweep / 4),
                    }
                );
                made.Add(id);
                last = next;
            }

            pieces[seam.Id] = made;
        }

        return map.With(
            junctions,
            seams,
            [.. map.Patches.Select(p => p with { Seams = InRing(p.Seams), Holes = [.. p.Holes.Select(InRing)] })]
        );

        string Free(string wanted)
        {
            while (!taken.Add(wanted))
            {
                wanted += "+";
            }

            return wanted;
        }

        IReadOnlyList<string> InRing(IReadOnlyList<string> ring)
        {
            if (!ring.Any(pieces.ContainsKey))
            {
                return ring;
            }

            IReadOnlyList<Edge<ClothSpace>> around = [.. PatchFinder.RingOf(map, ring)];
            List<string> now = [];
            for (int i = 0; i < ring.Count; i++)
            {
                if (!pieces.TryGetValue(ring[i], out List<string>? made))
                {
                    now.Add(ring[i]);
                    continue;
                }

                // Clockwise the ring may run along the seam or against it.
                bool along = around[i].From == map.EdgeOf(map.SeamOf(ring[i])).From;
                now.AddRange(along ? made : made.AsEnumerable().Reverse());
            }

            return now;
        }
    }

    /// <summary>
    /// Makes the middle of every side of every patch a point, where none is yet within 1/8 in and the side is at least 1 in
    /// long.
    /// </summary>
    public static QuiltMap SplitAtMidpoints(QuiltMap map)
    {
        Dictionary<string, HashSet<double>> cuts = [];
        foreach (Patch patch in map.Patches)
        {
            foreach (IReadOnlyList<string> side in SidesOf(map, patch.Seams))
            {
                AddMiddle(map, side, patch.Seams, cuts);
            }
        }

        // A map without patches, or with seams that border none, has its seams for sides.
        HashSet<string> bordering = [.. map.Patches.SelectMany(p => p.Seams.Concat(p.Holes.SelectMany(h => h)))];
        foreach (Seam s in map.Seams.Where(s => !bordering.Contains(s.Id)))
        {
            if (map.EdgeOf(s).Length >= ShortestSide)
            {
                cuts[s.Id] = [0.5];
            }
        }

        return Split(map, cuts.ToDictionary(c => c.Key, c => (IReadOnlyCollection<double>)c.Value));
    }

    private static void AddMiddle(
        QuiltMap map,
        IReadOnlyList<string> side,
        IReadOnlyList<string> ring,
        Dictionary<string, HashSet<double>> cuts
    )
    {
        const double Near = 0.125;
        double total = side.Sum(s => map.EdgeOf(map.SeamOf(s)).Length);
        if (total < ShortestSide)
        {
            return;
        }

        List<Edge<ClothSpace>> around = [.. PatchFinder.RingOf(map, ring)];
        double left = total / 2;
        foreach (string id in side)
        {
            Seam seam = map.SeamOf(id);
            Edge<ClothSpace> path = map.EdgeOf(seam);
            if (left > path.Length)
            {
                left -= path.Length;
                continue;
            }

            if (left > Near && left < path.Length - Near)
            {
                bool along = around[ring.ToList().IndexOf(id)].From == path.From;
                double t = along ? left / path.Length : 1 - left / path.Length;
                HashSet<double> here = cuts.TryGetValue(id, out HashSet<double>? known) ? known : cuts[id] = [];

                // Two patches name one middle from their own ends; rounding must not make two points of it.
                if (!here.Any(o => Math.Abs(o - t) * path.Length < Near))
                {
                    here.Add(Math.Abs(t - 0.5) * path.Length < 1e-6 ? 0.5 : t);
                }
            }

            return;
        }
    }

    // Runs of seams between corners, clockwise.
    private static IEnumerable<IReadOnlyList<string>> SidesOf(QuiltMap map, IReadOnlyList<string> ring)
    {
        Edge<ClothSpace>[] around = [.. PatchFinder.RingOf(map, ring)];
        int n = around.Length;
        int[] corners =
        [
            .. Enumerable
                .Range(0, n)
                .Where(i =>
                    Math.Abs(around[(i + n - 1) % n].EndDirection.AngleTo(around[i].StartDirection)) > TurnsFrom
                ),
        ];
        for (int c = 0; c < corners.Length; c++)
        {
            int next = c + 1 < corners.Length ? corners[c + 1] : corners[0] + n;
            yield return [.. Enumerable.Range(corners[c], next - corners[c]).Select(i => ring[i % n])];
        }
    }

    private static string Number(int n) => n.ToString(CultureInfo.InvariantCulture);
}
