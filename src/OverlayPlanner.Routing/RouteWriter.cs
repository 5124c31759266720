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
    public static RouteCandidate Write(
        StitchGraph graph,
        IReadOnlyList<Trail> trails,
        ThreadChoice thread,
        bool isLeastTime,
        Length missed,
        string? design,
        CancellationToken cancellation,
        double inchesPerStart = 0
    )
    {
        bool[] stitched = new bool[graph.Lines.Count];
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
                        Unknown = RulerStops.NameOn(line.IsRaw ? Inset : UnknownFields.None, line.Ruler),
                    }
                );
            }

            runs.Add(new(run));
        }

        ProofFields fields = new(graph, thread, inchesPerStart, cancellation);
        CutPacking? packing = fields.Prove(doubled, runs.Count, isLeastTime, out double leastDoubled);

        // Both are sums of the same few lengths in another order.
        bool leastLength = doubled <= leastDoubled + ProofFields.Tolerance;
        bool optimal = thread switch
        {
            ThreadChoice.Free => leastLength && runs.Count == graph.LeastStarts,
            ThreadChoice.One => leastLength && runs.Count <= Math.Max(graph.PieceCount, 1),
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
                [.. graph.Odd.Select(v => graph.Map.Junctions[v].Id)],
                graph.LeastStarts,
                Length.FromInches(leastLength ? doubled : leastDoubled),
                optimal
            )
        )
        {
            Design = design,
            Unknown = UnknownFields.None.With("proof", fields.Write(packing)),
        };
    }
}
