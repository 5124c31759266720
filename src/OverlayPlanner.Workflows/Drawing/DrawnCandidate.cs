using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Finishing;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>Drawn paths as one choice of a quilt's routes, with its measures and its proof over the lines that they stitch.</summary>
internal static class DrawnCandidate
{
    /// <summary>The choice.</summary>
    /// <param name="map">The quilt's map.</param>
    /// <param name="name">Its letter.</param>
    /// <param name="paths">The path of each block, in the order in which they are stitched.</param>
    public static RouteCandidate Of(
        QuiltMap map,
        string name,
        IReadOnlyList<LaidPath> paths,
        CancellationToken cancellation
    )
    {
        (string Block, DrawnMove Move)[] all = [.. InTurn(paths)];

        // Over the drawn lines alone nothing is left to finish, so that the finisher only measures and proves.
        HashSet<string> drawn = [.. all.Select(m => m.Move.Seam).OfType<string>()];
        HashSet<string> ends = [.. all.SelectMany(m => new[] { m.Move.From, m.Move.To })];
        QuiltMap only = new(
            map.Width,
            map.Height,
            [.. map.Junctions.Where(j => ends.Contains(j.Id))],
            [.. map.Seams.Where(s => drawn.Contains(s.Id))]
        );
        RouteCandidate found = RouteFinisher
            .Finish(
                only,
                ThreadsOf(map, [.. all.Select(m => m.Move)]),
                new(
                    new()
                    {
                        Lines = LineChoice.Seams,
                        Thread = ThreadChoice.Mixed,
                        Candidates = 1,
                    }
                ),
                cancellation
            )
            .Route.Candidates.First(c => c.Finish?.Way != FinishWay.Unpick);
        int at = 0;
        string on = paths.Count == 1 ? "" : $" on {Numbers.Of(paths.Count)} blocks";
        return found with
        {
            Name = name,
            Runs =
            [
                .. found.Runs.Select(r =>
                    r with
                    {
                        Moves = [.. r.Moves.Select(m => m with { Block = all[Math.Min(at++, all.Length - 1)].Block })],
                    }
                ),
            ],
            Measures = found.Measures with { Missed = MissedBy(map, paths, drawn) },
            Design = $"{DrawingBoard.DesignWord}{on}; {Numbers.Count(found.Measures.Starts, "start", "starts")}",
            Finish = null,
        };
    }

    /// <summary>Moves as a drawn path: a thread from each start to the next.</summary>
    public static DrawnPath ThreadsOf(QuiltMap map, IReadOnlyList<DrawnMove> moves)
    {
        List<IReadOnlyList<DrawnStretch>> threads = [];
        List<DrawnStretch> now = [];
        foreach (DrawnMove m in moves)
        {
            if (m.Starts && now.Count > 0)
            {
                threads.Add(now);
                now = [];
            }

            bool forward = m.Seam is not { } id || map.SeamOf(id).From == m.From;
            now.Add(new(m.Seam, forward ? 0 : 1, forward ? 1 : 0, m.Path));
        }

        threads.Add(now);
        return new(threads, Length.Zero);
    }

    // Where two blocks touch, their side is one seam. What a block before has stitched is left out at the ends of a later one's
    // threads; in the middle the thread needs it as its way.
    private static IEnumerable<(string Block, DrawnMove Move)> InTurn(IReadOnlyList<LaidPath> paths)
    {
        HashSet<string> done = new(StringComparer.Ordinal);
        foreach (LaidPath path in paths)
        {
            foreach (DrawnMove[] thread in ThreadsOf(path.Moves))
            {
                int first = 0;
                int last = thread.Length - 1;
                while (first <= last && done.Contains(thread[first].Line))
                {
                    first++;
                }

                while (last >= first && done.Contains(thread[last].Line))
                {
                    last--;
                }

                for (int i = first; i <= last; i++)
                {
                    yield return (path.Block, thread[i] with { Starts = i == first });
                }
            }

            done.UnionWith(path.Moves.Select(m => m.Line));
        }

        static IEnumerable<DrawnMove[]> ThreadsOf(IReadOnlyList<DrawnMove> moves)
        {
            int from = 0;
            for (int i = 1; i <= moves.Count; i++)
            {
                if (i == moves.Count || moves[i].Starts)
                {
                    yield return [.. moves.Skip(from).Take(i - from)];
                    from = i;
                }
            }
        }
    }

    private static Length MissedBy(QuiltMap map, IReadOnlyList<LaidPath> paths, HashSet<string> drawn) =>
        Length.FromInches(
            paths
                .SelectMany(p => new BlockLines(map, map.FindBlock(p.Block)!).ToStitch)
                .Where(s => !drawn.Contains(s.Id))
                .DistinctBy(s => s.Id)
                .Sum(s => map.EdgeOf(s).Length)
        );
}
