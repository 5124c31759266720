using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Finishing;

/// <summary>How the lines that are left are stitched.</summary>
/// <param name="OnThread">What the thread on the needle goes on with; empty where it is cut.</param>
/// <param name="NewThreads">What new threads stitch, in order.</param>
/// <param name="DoubledInches">Length stitched again, over old lines or new.</param>
/// <param name="IsLeast">True where no other way of stitching what is left does better by the thread wish.</param>
internal sealed record Continuation(
    IReadOnlyList<TrailLeg> OnThread,
    IReadOnlyList<Trail> NewThreads,
    double DoubledInches,
    bool IsLeast
);

/// <summary>
/// Completes a half-stitched design: which lines to go over again and in which order the rest is stitched, from where the
/// needle is.
/// </summary>
/// <remarks>
/// Passes stitched before are crossed only where every way would; the pairing of lines at a point pays for it.
/// </remarks>
internal sealed class ContinuationPlanner
{
    private const int MostAttempts = 16;
    private const int MostEnds = 4;
    private readonly StitchGraph graph;
    private readonly bool[] done;
    private readonly PointTaste taste;
    private readonly IReadOnlyList<IReadOnlyList<TrailLeg>> stitched;
    private readonly CancellationToken cancellation;
    private readonly List<(int, Edge<ClothSpace>, Edge<ClothSpace>)> passedElsewhere = [];

    /// <summary>Prepares.</summary>
    /// <param name="graph">All lines of the design, stitched and to stitch.</param>
    /// <param name="stitched">What each thread so far has stitched.</param>
    /// <param name="taste">Where tails hide.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    public ContinuationPlanner(
        StitchGraph graph,
        IReadOnlyList<IReadOnlyList<TrailLeg>> stitched,
        PointTaste taste,
        CancellationToken cancellation
    )
    {
        this.graph = graph;
        this.stitched = stitched;
        this.taste = taste;
        this.cancellation = cancellation;
        done = new bool[graph.Lines.Count];
        foreach (TrailLeg leg in stitched.SelectMany(t => t))
        {
            done[leg.Line] = true;
        }
    }

    /// <summary>Takes note of a pass of lines that are no part of this graph; it is crossed only where it can't be helped.</summary>
    public void MindPass(int junction, Edge<ClothSpace> @in, Edge<ClothSpace> @out) =>
        passedElsewhere.Add((junction, @in, @out));

    /// <summary>Plans what is left.</summary>
    /// <param name="needle">Junction where the thread on the needle is, or null where there is none.</param>
    /// <param name="end">Junction where the last thread should end, or null.</param>
    /// <param name="thread">Starts against backtracking.</param>
    /// <param name="inchesPerStart">For a mixed thread: how many doubled inches one start is worth.</param>
    public Continuation Plan(int? needle, int? end, ThreadChoice thread, double inchesPerStart)
    {
        if (done.All(d => d))
        {
            return new([], [], 0, true);
        }

        int[] ends = [.. new[] { needle, end }.OfType<int>()];

        // Among ends that cost the same, other ones than those where tails hide best may leave a way that crosses nothing.
        (Continuation Plan, int Crossings)? best = null;
        for (int attempt = 0; attempt < MostEnds && best is not { Crossings: 0 }; attempt++)
        {
            int salt = attempt;
            TravelPlan travel = new LineTravel(
                graph,
                salt == 0 ? taste.Of : v => Jitter(salt, v, v) % 256,
                cancellation
            ).Solve([.. done.Select(d => !d)], ends, 2 - ends.Length, thread, inchesPerStart);
            (IReadOnlyList<TrailLeg> onThread, List<Trail> rest, int crossings) = Trace(
                travel.Copies,
                travel.Loose,
                needle,
                end
            );
            if (best is null || crossings < best.Value.Crossings)
            {
                best = (new(onThread, InOrder(rest, onThread, needle, end), travel.Inches, travel.IsLeast), crossings);
            }
        }

        return best!.Value.Plan;
    }

    /// <summary>
    /// Orders what is to travel into trails. The half of the last line that the needle has just stitched takes part as a stub
    /// from a point of its own, so that the way on crosses nothing at the needle's point either.
    /// </summary>
    private (IReadOnlyList<TrailLeg> OnThread, List<Trail> Others, int Crossings) Trace(
        int[] copies,
        int[] loose,
        int? needle,
        int? end
    )
    {
        TrailLeg? stub = needle is { } n && loose[n] > 0 && stitched is [.., [.., { } latest]] ? latest : null;
        int[] travelled = [.. Enumerable.Range(0, copies.Length).Where(e => copies[e] > 0)];
        List<StitchLine> lines = [.. travelled.Select(e => graph.Lines[e])];
        int[] ends = [.. loose];
        QuiltMap map = graph.Map;
        int? from = needle;
        if (stub is { } last)
        {
            Edge<ClothSpace> half = PathOf(last).Piece(0.5, 1);
            from = map.Junctions.Count;
            map = map.With(junctions: [.. map.Junctions, new("needle", new(half.From, Length.Zero))]);
            lines.Add(new(from.Value, needle!.Value, half, MoveKind.Ditch, null, null));
            ends[needle.Value]--;
            ends = [.. ends, 1];
        }

        StitchGraph sub = new(map, lines);
        int[] twice = [.. Enumerable.Range(0, travelled.Length).Where(k => copies[travelled[k]] >= 2)];
        List<(int Junction, Edge<ClothSpace> In, Edge<ClothSpace> Out)> passed = Passed();
        List<Trail> all = [];
        int least = int.MaxValue;

        // Joining loops one by one may run into a crossing that another order of joining does not need: a few more are tried.
        for (int attempt = 0; attempt < MostAttempts && least > 0; attempt++)
        {
            int salt = attempt;
            IReadOnlyList<Trail> trails = TrailSystem.Trace(
                sub,
                twice,
                ends,
                new(TrailStyle.NoCrossing, [], from, end, salt == 0 ? null : (a, b) => Jitter(salt, a, b))
                {
                    Passed = passed,
                },
                cancellation
            );
            int crossings = CountCrossings(trails);
            if (crossings < least)
            {
                (all, least) = ([.. trails], crossings);
            }
        }

        List<TrailLeg> onThread = [];
        if (from is { } v && ends[v] > 0)
        {
            int i = all.FindIndex(t => !t.IsClosed && (NodeBefore(t.Legs[0]) == v || NodeAfter(t.Legs[^1]) == v));
            if (i >= 0)
            {
                Trail mine = NodeBefore(all[i].Legs[0]) == v ? all[i] : Reversed(all[i]);
                onThread = [.. mine.Legs.Skip(stub is null ? 0 : 1).Select(Own)];
                all.RemoveAt(i);
            }
        }

        return (onThread, [.. all.Select(t => t with { Legs = [.. t.Legs.Select(Own)] })], least);

        int NodeBefore(TrailLeg l) => l.Forward ? lines[l.Line].From : lines[l.Line].To;

        int NodeAfter(TrailLeg l) => l.Forward ? lines[l.Line].To : lines[l.Line].From;

        TrailLeg Own(TrailLeg l) => l with { Line = travelled[l.Line] };

        // Of passes over new lines with those stitched before; a line travelled again lies beside itself.
        int CountCrossings(IReadOnlyList<Trail> trails)
        {
            ILookup<int, (int Junction, Edge<ClothSpace> In, Edge<ClothSpace> Out)> at = passed.ToLookup(p =>
                p.Junction
            );
            int count = 0;
            foreach (Trail t in trails)
            {
                for (int i = 1; i < t.Legs.Count; i++)
                {
                    (TrailLeg before, TrailLeg after) = (t.Legs[i - 1], t.Legs[i]);
                    if (IsNew(before.Line) && IsNew(after.Line))
                    {
                        Edge<ClothSpace> @in = before.Forward
                            ? lines[before.Line].Path.Reversed
                            : lines[before.Line].Path;
                        Edge<ClothSpace> @out = after.Forward
                            ? lines[after.Line].Path
                            : lines[after.Line].Path.Reversed;
                        count += at[NodeBefore(after)].Count(p => CrossingCounter.Alternate(p.In, p.Out, @in, @out));
                    }
                }
            }

            return count;

            bool IsNew(int line) => line >= travelled.Length || !done[travelled[line]];
        }
    }

    // A small price from 0 to 2000 for a pass, the same for both its directions.
    private static int Jitter(int salt, int a, int b)
    {
        uint h = (uint)(Math.Min(a, b) * 7919 + Math.Max(a, b)) * 2654435761u + (uint)salt * 40503u;
        h ^= h >> 15;
        return (int)(h * 2246822519u >> 16) % 2000;
    }

    private List<(int, Edge<ClothSpace>, Edge<ClothSpace>)> Passed()
    {
        List<(int, Edge<ClothSpace>, Edge<ClothSpace>)> passed = [.. passedElsewhere];
        foreach (IReadOnlyList<TrailLeg> thread in stitched)
        {
            for (int i = 1; i < thread.Count; i++)
            {
                passed.Add((NodeBefore(thread[i]), PathOf(thread[i - 1]).Reversed, PathOf(thread[i])));
            }
        }

        return passed;
    }

    private Edge<ClothSpace> PathOf(TrailLeg leg) =>
        leg.Forward ? graph.Lines[leg.Line].Path : graph.Lines[leg.Line].Path.Reversed;

    private int NodeBefore(TrailLeg leg) => leg.Forward ? graph.Lines[leg.Line].From : graph.Lines[leg.Line].To;

    private int NodeAfter(TrailLeg leg) => leg.Forward ? graph.Lines[leg.Line].To : graph.Lines[leg.Line].From;

    private static Trail Reversed(Trail t) => t with { Legs = [.. t.Legs.Reverse().Select(l => l.Reversed)] };

    // Each new thread starts near where the last one ended; one that can end at the wished place comes last.
    private List<Trail> InOrder(List<Trail> left, IReadOnlyList<TrailLeg> onThread, int? needle, int? end)
    {
        List<Trail> ordered = [];
        Trail? last = null;
        if (end is { } e)
        {
            int i = left.FindIndex(t => !t.IsClosed && (NodeAfter(t.Legs[^1]) == e || NodeBefore(t.Legs[0]) == e));
            if (i >= 0)
            {
                last = NodeAfter(left[i].Legs[^1]) == e ? left[i] : Reversed(left[i]);
                left.RemoveAt(i);
            }
        }

        int? at = onThread.Count > 0 ? NodeAfter(onThread[^1]) : needle;
        while (left.Count > 0)
        {
            (int Index, Trail Trail) next = left.SelectMany((t, i) => Ways(t).Select(w => (Index: i, Trail: w)))
                .MinBy(x => Key(NodeBefore(x.Trail.Legs[0])));
            left.RemoveAt(next.Index);
            ordered.Add(next.Trail);
            at = NodeAfter(next.Trail.Legs[^1]);
        }

        double Key(int v) =>
            at is { } from
                ? graph.Plane.Nodes[v].DistanceTo(graph.Plane.Nodes[from]) + 0.001 * taste.Of(v)
                : taste.Of(v);

        if (last is not null)
        {
            ordered.Add(last);
        }

        return ordered;
    }

    private static IEnumerable<Trail> Ways(Trail t)
    {
        if (!t.IsClosed)
        {
            yield return t;
            yield return Reversed(t);
            yield break;
        }

        for (int i = 0; i < t.Legs.Count; i++)
        {
            yield return t with
            {
                Legs = [.. t.Legs.Skip(i), .. t.Legs.Take(i)],
            };
        }
    }
}
