using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Quilts.Mending;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>The corrections by hand that turn a found map into the true one.</summary>
/// <param name="Edits">The edits, in an order in which they can be made.</param>
/// <param name="Mended">The found map after them.</param>
/// <param name="Missed">True seam pieces that nothing found; each is found with the needle down.</param>
/// <param name="False">Found seam pieces that are none; each is seen.</param>
/// <param name="IsEqual">
/// True where the mended map is the true one: points and seam pieces match one to one within 1/8 in, see <see cref="MapScore"/>.
/// </param>
public sealed record MendingCount(IReadOnlyList<MapEdit> Edits, QuiltMap Mended, int Missed, int False, bool IsEqual)
{
    // Nearer than this to the truth nothing is worth a hand's work, inches; it is the scoreboard's tolerance.
    private const double Tolerance = 0.125;
    private const int MostRounds = 6;

    /// <summary>How many edits of each kind, by their words in files.</summary>
    public IReadOnlyDictionary<string, int> ByKind =>
        Edits.GroupBy(e => e.Word).OrderBy(g => g.Key, StringComparer.Ordinal).ToDictionary(g => g.Key, g => g.Count());

    /// <summary>
    /// A hand's way, greedily: points that are off are moved, seams that are none are removed, what is missing is added in runs as
    /// long as one stroke of the hand can be, bows are mended; then it is looked again, until nothing is left to do.
    /// </summary>
    /// <remarks>
    /// Not the least number there could be: a point that is moved may have been one that should have gone. A false seam that runs on
    /// over several points counts once for each piece, since one edit removes one piece.
    /// </remarks>
    public static MendingCount Of(QuiltMap found, QuiltMap truth)
    {
        ArgumentNullException.ThrowIfNull(found);
        ArgumentNullException.ThrowIfNull(truth);
        MapScore before = MapScore.Compare(found, truth, Tolerance);
        Hand hand = new(found, truth);
        for (int round = 0; round < MostRounds; round++)
        {
            int done = hand.Count;
            hand.MovePoints();
            hand.RemoveFalse();
            hand.Bend();
            hand.AddMissing();
            if (hand.Count == done)
            {
                break;
            }
        }

        MapScore after = MapScore.Compare(hand.Map, truth, Tolerance);
        bool equal = after.Points is { Missed: 0, False: 0 } && after.Seams is { Missed: 0, False: 0 };
        return new(hand.Edits, hand.Map, before.Seams.Missed, before.Seams.False, equal);
    }

    private sealed class Hand(QuiltMap found, QuiltMap truth)
    {
        private const double StraightCosine = 0.9962; // 5 degrees, as the score joins pieces
        private readonly List<MapEdit> edits = [];
        private readonly QuiltMap truth = truth;

        public QuiltMap Map { get; private set; } = MapCheck.Inspect(found).Map;

        public IReadOnlyList<MapEdit> Edits => edits;

        public int Count => edits.Count;

        /// <summary>Moves points that lie near a true one, but not near enough, and have its number of seams.</summary>
        public void MovePoints()
        {
            const double Reach = 0.75;
            (Point<ClothSpace> Place, int Degree)[] wanted = [.. PointsOf(truth).Select(p => (p.Place, p.Degree))];
            (Junction Junction, Point<ClothSpace> Place, int Degree)[] there = [.. PointsOf(Map)];
            int[] pairs = OneToOne.Match(
                there.Length,
                wanted.Length,
                (f, t) => there[f].Place.DistanceTo(wanted[t].Place),
                Tolerance
            );
            HashSet<int> taken = [.. pairs.Where(t => t >= 0)];
            int[] free = [.. Enumerable.Range(0, wanted.Length).Where(t => !taken.Contains(t))];
            int[] loose = [.. Enumerable.Range(0, there.Length).Where(f => pairs[f] < 0)];
            int[] moves = OneToOne.Match(
                loose.Length,
                free.Length,
                (f, t) =>
                    there[loose[f]].Degree == wanted[free[t]].Degree
                        ? there[loose[f]].Place.DistanceTo(wanted[free[t]].Place)
                        : double.PositiveInfinity,
                Reach
            );
            for (int i = 0; i < moves.Length; i++)
            {
                if (moves[i] >= 0)
                {
                    Try(new MovePoint(new(there[loose[i]].Junction.Id), wanted[free[moves[i]]].Place));
                }
            }
        }

        /// <summary>Removes pieces no part of which runs along a true seam.</summary>
        public void RemoveFalse()
        {
            foreach (Seam s in Map.Seams.Where(s => s.Role != SeamRole.Edge).ToArray())
            {
                Seam? now = Map.FindSeam(s.Id);
                if (now is not null && now.Role != SeamRole.Edge && !RunsAlong(Map.EdgeOf(now), truth))
                {
                    Try(new RemoveSeam(new(now.Id)));
                }
            }
        }

        /// <summary>Gives seams between two right points the true bow.</summary>
        public void Bend()
        {
            foreach (Seam t in truth.Seams.Where(s => s.Role != SeamRole.Edge))
            {
                Edge<ClothSpace> wanted = truth.EdgeOf(t);
                Seam? between = Map.Seams.FirstOrDefault(s =>
                    s.Role != SeamRole.Edge && EndsMatch(Map.EdgeOf(s), wanted)
                );
                if (between is null)
                {
                    continue;
                }

                Edge<ClothSpace> is_ = Map.EdgeOf(between);
                if (is_.PointAt(0.5).DistanceTo(wanted.PointAt(0.5)) > Tolerance)
                {
                    bool along = is_.From.DistanceTo(wanted.From) <= is_.From.DistanceTo(wanted.To);
                    Try(new BendSeam(new(between.Id), along ? wanted.Bulge : -wanted.Bulge));
                }
            }
        }

        /// <summary>Draws what is missing; straight pieces that run on through points are one stroke.</summary>
        public void AddMissing()
        {
            List<Seam> missing =
            [
                .. truth.Seams.Where(s => s.Role != SeamRole.Edge && !RunsAlong(truth.EdgeOf(s), Map)),
            ];
            while (missing.Count > 0)
            {
                Seam first = missing[0];
                missing.RemoveAt(0);
                Edge<ClothSpace> stroke = truth.EdgeOf(first);
                if (stroke.IsLine)
                {
                    stroke = RunOf(first, missing);
                }

                if (!Try(new AddSeam(stroke.From, stroke.To, stroke.Bulge)) && stroke != truth.EdgeOf(first))
                {
                    Edge<ClothSpace> own = truth.EdgeOf(first);
                    Try(new AddSeam(own.From, own.To, own.Bulge));
                }
            }
        }

        private Edge<ClothSpace> RunOf(Seam first, List<Seam> missing)
        {
            string from = first.From;
            string to = first.To;
            bool grown = true;
            while (grown)
            {
                grown = false;
                foreach (Seam s in missing)
                {
                    foreach ((string near, string far) in new[] { (s.From, s.To), (s.To, s.From) })
                    {
                        if (s.Bulge == 0 && near == to && IsStraight(from, to, far))
                        {
                            (to, grown) = (far, true);
                        }
                        else if (s.Bulge == 0 && near == from && IsStraight(to, from, far))
                        {
                            (from, grown) = (far, true);
                        }

                        if (grown)
                        {
                            break;
                        }
                    }

                    if (grown)
                    {
                        missing.Remove(s);
                        break;
                    }
                }
            }

            return new(truth.JunctionOf(from).Place, truth.JunctionOf(to).Place);
        }

        private bool IsStraight(string from, string through, string to)
        {
            (Point<ClothSpace> a, Point<ClothSpace> b, Point<ClothSpace> c) = (
                truth.JunctionOf(from).Place,
                truth.JunctionOf(through).Place,
                truth.JunctionOf(to).Place
            );

            // A stroke is led through points within 1/16 in of it.
            return new Edge<ClothSpace>(a, c).Nearest(b).Distance <= 0.05 && (b - a).Dot(c - b) > 0;
        }

        private bool Try(MapEdit edit)
        {
            try
            {
                MendedMap mended = Mender.Apply(Map, edit);
                Map = mended.Map;
                edits.Add(mended.Edit);
                return true;
            }
            catch (InputException)
            {
                return false;
            }
        }

        private static bool EndsMatch(Edge<ClothSpace> a, Edge<ClothSpace> b) =>
            Math.Min(
                Math.Max(a.From.DistanceTo(b.From), a.To.DistanceTo(b.To)),
                Math.Max(a.From.DistanceTo(b.To), a.To.DistanceTo(b.From))
            ) <= Tolerance;

        // True where every place on the edge has a seam of the map near it that runs its way: a seam moved along with its points
        // is the same seam.
        private static bool RunsAlong(Edge<ClothSpace> edge, QuiltMap map)
        {
            const double Near = 0.2;
            const double SameWay = 0.9;
            const int Places = 9;
            Box<ClothSpace> box = edge.Bounds().Grown(Near);
            Edge<ClothSpace>[] others = [.. map.Seams.Select(map.EdgeOf).Where(e => box.Meets(e.Bounds()))];
            return Enumerable
                .Range(0, Places)
                .Select(i => (i + 0.5) / Places)
                .All(t =>
                    Array.Exists(
                        others,
                        o =>
                        {
                            (double at, double distance) = o.Nearest(edge.PointAt(t));
                            return distance <= Near && Math.Abs(o.DirectionAt(at).Dot(edge.DirectionAt(t))) >= SameWay;
                        }
                    )
                );
        }

        // Points as the score counts them: one that only passes a straight seam on is none.
        private static IEnumerable<(Junction Junction, Point<ClothSpace> Place, int Degree)> PointsOf(QuiltMap map)
        {
            Dictionary<string, List<Edge<ClothSpace>>> around = map.Junctions.ToDictionary(
                j => j.Id,
                _ => new List<Edge<ClothSpace>>()
            );
            foreach (Seam s in map.Seams)
            {
                around[s.From].Add(map.EdgeOf(s));
                around[s.To].Add(map.EdgeOf(s).Reversed);
            }

            foreach (Junction j in map.Junctions)
            {
                List<Edge<ClothSpace>> at = around[j.Id];
                bool passes =
                    at.Count == 2
                    && at.TrueForAll(e => e.IsLine)
                    && at[0].StartDirection.Dot(at[1].StartDirection) < -StraightCosine;
                if (!passes && at.Count > 0)
                {
                    yield return (j, j.Place, at.Count);
                }
            }
        }
    }
}
