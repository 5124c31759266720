using OverlayPlanner.Quilts;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>Drawn moves as the runs of a route.</summary>
internal static class DrawnRuns
{
    public static IReadOnlyList<Run> Of(BlockLines lines, IReadOnlyList<DrawnMove> moves)
    {
        HashSet<string> done = new(StringComparer.Ordinal);
        List<Run> runs = [];
        List<Move> now = [];
        foreach (DrawnMove m in moves)
        {
            if (m.Starts && now.Count > 0)
            {
                runs.Add(new(now));
                now = [];
            }

            MoveKind kind =
                !done.Add(m.Line) ? MoveKind.Retrace
                : m.Seam is { } id
                    ? lines.Map.SeamOf(id).Role == SeamRole.Edge ? MoveKind.Frame
                        : MoveKind.Ditch
                : m.Path.IsLine ? MoveKind.Line
                : MoveKind.Arc;
            now.Add(new(kind, m.Path, m.Seam, lines.Block.Id));
        }

        if (now.Count > 0)
        {
            runs.Add(new(now));
        }

        return runs;
    }
}
