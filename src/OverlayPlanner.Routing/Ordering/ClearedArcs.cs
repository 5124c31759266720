using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>
/// Moves the ends of arcs along their seams away from points where lines pile up, so that they meet the ditch a set distance
/// before.
/// </summary>
/// <remarks>
/// The arc keeps its ruler, hence its radius; on a shorter chord along the same straight side it lies between the old arc and
/// the seam, so it meets nothing that the old one did not. Each new end is a point of the map, and whatever it does to the
/// parity there and at the old point is planned like any other design. Arcs along a bent side, and those that would become
/// shorter than an inch, stay.
/// </remarks>
internal static class ClearedArcs
{
    private const double ShortestArc = 1;

    /// <summary>One arc of a design: along a side of a patch, or not.</summary>
    /// <param name="Line">The arc.</param>
    /// <param name="AlongSide">True where it follows the side that its ends bound.</param>
    public readonly record struct Arc(StitchLine Line, bool AlongSide);

    /// <summary>Moves the arcs' ends.</summary>
    /// <param name="map">The map; seams are split in the result.</param>
    /// <param name="designs">The added lines of each design.</param>
    /// <param name="crowded">For each design, whether lines pile up at a junction.</param>
    /// <param name="inches">How far before the point arcs shall end.</param>
    /// <returns>The map, and the added lines of each design over it.</returns>
    public static (QuiltMap Map, IReadOnlyList<IReadOnlyList<StitchLine>> Designs) Move(
        QuiltMap map,
        IReadOnlyList<IReadOnlyList<Arc>> designs,
        Func<int, int, bool> crowded,
        double inches
    )
    {
        Dictionary<string, HashSet<double>> cuts = [];
        List<(int Design, int Arc, bool AtEnd, Point<ClothSpace> Place)> moved = [];
        ILookup<string, Seam> seamsAt = map
            .Seams.SelectMany(s => new[] { (Id: s.From, s), (Id: s.To, s) })
            .ToLookup(x => x.Id, x => x.s);
        for (int d = 0; d < designs.Count; d++)
        {
            for (int a = 0; a < designs[d].Count; a++)
            {
                (StitchLine line, bool alongSide) = designs[d][a];
                if (!alongSide || line.Path.IsLine)
                {
                    continue;
                }

                bool first = crowded(d, line.From);
                bool second = crowded(d, line.To);
                if (line.Path.Chord - (first ? inches : 0) - (second ? inches : 0) < ShortestArc)
                {
                    continue;
                }

                foreach (bool atEnd in new[] { false, true })
                {
                    if (atEnd ? second : first)
                    {
                        Edge<ClothSpace> path = atEnd ? line.Path.Reversed : line.Path;
                        int v = atEnd ? line.To : line.From;
                        if (Cut(v, (path.To - path.From).Unit) is { } place)
                        {
                            moved.Add((d, a, atEnd, place));
                        }
                    }
                }
            }
        }

        QuiltMap split = SeamSplitter.Split(
            map,
            cuts.ToDictionary(c => c.Key, c => (IReadOnlyCollection<double>)c.Value)
        );
        List<StitchLine>[] lines = [.. designs.Select(d => d.Select(a => a.Line).ToList())];
        foreach ((int d, int a, bool atEnd, Point<ClothSpace> place) in moved)
        {
            int v = NewJunction(place);
            Point<ClothSpace> at = split.Junctions[v].Place;
            StitchLine line = lines[d][a];
            (Point<ClothSpace> from, Point<ClothSpace> to) = atEnd ? (line.Path.From, at) : (at, line.Path.To);
            double half = from.DistanceTo(to) / 2;
            double r = designs[d][a].Line.Path.Radius;

            // Rise over half the chord is the bulge: r − √(r² − h²) = h² ÷ (r + √(r² − h²)).
            double bulge = Math.Sign(line.Path.Bulge) * half / (r + Math.Sqrt(Math.Max(0, (r - half) * (r + half))));
            lines[d][a] = new(
                atEnd ? line.From : v,
                atEnd ? v : line.To,
                new(from, to, bulge),
                line.Kind,
                line.Seam,
                line.Block
            );
        }

        return (split, lines);

        Point<ClothSpace>? Cut(int v, Vector<ClothSpace> way)
        {
            Junction j = map.Junctions[v];
            foreach (Seam s in seamsAt[j.Id])
            {
                Edge<ClothSpace> path = s.From == j.Id ? map.EdgeOf(s) : map.EdgeOf(s).Reversed;
                if (!path.IsLine || Math.Abs(path.StartDirection.AngleTo(way)) > 1e-3 || path.Length < 2 * inches)
                {
                    continue;
                }

                double t = inches / path.Length;
                HashSet<double> here = cuts.TryGetValue(s.Id, out HashSet<double>? known) ? known : cuts[s.Id] = [];
                here.Add(s.From == j.Id ? t : 1 - t);
                return path.PointAt(t);
            }

            return null;
        }

        int NewJunction(Point<ClothSpace> place)
        {
            int best = map.Junctions.Count;
            for (int k = best; k < split.Junctions.Count; k++)
            {
                best =
                    split.Junctions[k].Place.DistanceTo(place) < split.Junctions[best].Place.DistanceTo(place)
                        ? k
                        : best;
            }

            return best;
        }
    }
}
