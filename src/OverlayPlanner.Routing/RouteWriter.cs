using System.Text.Json;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing;

/// <summary>Turns ordered trails into a candidate: moves, measures, proof.</summary>
internal static class RouteWriter
{
    // The binding covers a quarter inch of a raw edge (handbook 1.1: the seam allowance).
    private const double RawInset = 0.25;
    private static readonly UnknownFields Before = UnknownFields.None.With(
        "before",
        JsonSerializer.SerializeToElement(true)
    );
    private static readonly UnknownFields Inset = UnknownFields.None.With("inset", RawInset);

    /// <summary>Writes one candidate.</summary>
    /// <param name="graph">All its lines.</param>
    /// <param name="trails">What each thread stitches, in order.</param>
    /// <param name="thread">The wish, for the proof's verdict.</param>
    /// <param name="isLeastTime">For a mixed thread: the time is proven the least.</param>
    /// <param name="missed">Length of lines that should have been stitched and are not.</param>
    /// <param name="design">What it does, in a few words.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    /// <param name="inchesPerStart">For a mixed thread: how many doubled inches one start is worth.</param>
    /// <param name="before">
    /// Lines stitched before this route: every pass along them is backtracking, and its move carries the field
    /// <c>before</c>. Null for none.
    /// </param>
    public static RouteCandidate Write(
        StitchGraph graph,
        IReadOnlyList<Trail> trails,
        ThreadChoice thread,
        bool isLeastTime,
        Length missed,
        string? design,
        CancellationToken cancellation,
        double inchesPerStart = 0,
        IReadOnlySet<int>? before = null
    )
    {
        bool[] stitched = [.. Enumerable.Range(0, graph.Lines.Count).Select(e => before?.Contains(e) == true)];
        List<Run> runs = [];
        double doubled = 0;
        double added = 0;
        double total = 0;
        int moves = 0;
        foreach (Trail trail in trails)
        {
            List<Move> run = new(trail.Legs.Count);
            foreach (TrailLeg leg in trail.Legs)
            {
                StitchLine line = graph.Lines[leg.Line];
                bool again = stitched[leg.Line];
                stitched[leg.Line] = true;
                total += line.Inches;
                doubled += again ? line.Inches : 0;
                added += !again && line.IsAdded ? line.Inches : 0;
                moves++;
                run.Add(
                    new(
                        again ? MoveKind.Retrace : line.Kind,
                        leg.Forward ? line.Path : line.Path.Reversed,
                        line.Seam,
                        line.Block
                    )
                    {
                        Unknown = RulerStops.NameOn(
                            before?.Contains(leg.Line) == true ? Before
                                : line.IsRaw ? Inset
                                : UnknownFields.None,
                            line.Ruler
                        ),
                    }
                );
            }

            runs.Add(new(run));
        }

        StitchGraph own = before is { Count: > 0 }
            ? new(graph.Map, [.. graph.Lines.Where((_, e) => !before.Contains(e))])
            : graph;
        ProofFields fields = new(own, thread, inchesPerStart, cancellation);
        double leastDoubled;
        CutPacking? packing = null;
        if (own == graph || doubled == 0)
        {
            packing = fields.Prove(doubled, runs.Count, isLeastTime, out leastDoubled);
        }
        else
        {
            leastDoubled = LeastBeside(graph, own, before!, runs.Count, cancellation);
        }

        // Both are sums of the same few lengths in another order.
        bool leastLength = doubled <= leastDoubled + ProofFields.Tolerance;
        bool optimal = thread switch
        {
            ThreadChoice.Free => leastLength && runs.Count == own.LeastStarts,
            ThreadChoice.One => leastLength && runs.Count <= Math.Max(own.PieceCount, 1),
            _ => leastLength && isLeastTime,
        };
        return new(
            "A",
            runs,
            new(
                runs.Count,
                CrossingCounter.Find(runs).Count,
                Length.FromInches(doubled),
                Length.FromInches(total),
                Length.FromInches(added),
                missed,
                moves
            ),
            new(
                [.. own.Odd.Select(v => graph.Map.Junctions[v].Id)],
                own.LeastStarts,
                Length.FromInches(leastLength ? doubled : leastDoubled),
                optimal
            )
        )
        {
            Design = design,
            Unknown = UnknownFields.None.With("proof", fields.Write(packing)),
        };
    }

    // The odd points joined at least length, over lines stitched before too; that pieces must be reached as well is left out,
    // so the figure is a bound, not always met. Lines that hang together nowhere are given none.
    private static double LeastBeside(
        StitchGraph graph,
        StitchGraph own,
        IReadOnlySet<int> before,
        int runs,
        CancellationToken cancellation
    )
    {
        if (graph.PieceCount > 1)
        {
            return 0;
        }

        LineNetwork network = new(
            graph.Map.Junctions.Count,
            [.. graph.Lines.Select(l => (l.From, l.To, l.Inches))],
            before
        );
        (IReadOnlyList<int> lines, _) = new LeastDoubling(network, null, cancellation).JoinAcross(own.Odd, 2 * runs);
        return lines.Sum(e => graph.Lines[e].Inches);
    }
}
