using OverlayPlanner.Quilts.Blocks;

namespace OverlayPlanner.Detection.Layout;

/// <summary>Names the library block that a pattern is, or none: "unknown" is an answer.</summary>
internal static class PatternNamer
{
    // A twelve-inch block's seams may lie 0.3 in off their draft and still be that block.
    private const double Within = 0.028;
    private const double LeastAgreement = 0.9;
    private const double LeastMargin = 0.03;
    private const double MostLengthOff = 0.35;

    private static readonly Lazy<
        IReadOnlyList<(string Id, IReadOnlyList<(Orientation How, CellPattern Pattern)> Ways)>
    > Drafts = new(() => [.. BlockLibrary.All.Select(d => (d.Id, WaysOf(CellPattern.Of(d))))]);

    /// <summary>The library block that all these cells are, with each cell's orientation; null where there is none.</summary>
    public static (string Id, double Agreement, Orientation[] How)? Name(IReadOnlyList<CellPattern> cells)
    {
        // One cell tells quickly that most readings of a top are no library block.
        CellPattern probe = cells[cells.Count / 2];
        if (
            cells.Count > 1
            && !Drafts.Value.Any(d =>
                Math.Abs(probe.Length - d.Ways[0].Pattern.Length) <= MostLengthOff * d.Ways[0].Pattern.Length
                && d.Ways.Any(w => probe.AgreementWith(w.Pattern, Within) >= LeastAgreement - 0.15)
            )
        )
        {
            return null;
        }

        List<(string Id, double Agreement, Orientation[] How)> scores = [];
        foreach ((string id, IReadOnlyList<(Orientation How, CellPattern Pattern)> ways) in Drafts.Value)
        {
            double sum = 0;
            Orientation[] how = new Orientation[cells.Count];
            for (int i = 0; i < cells.Count; i++)
            {
                // The plainest way wins where a symmetric block fits several ways alike.
                double best = -1;
                if (Math.Abs(cells[i].Length - ways[0].Pattern.Length) <= MostLengthOff * ways[0].Pattern.Length)
                {
                    foreach ((Orientation way, CellPattern pattern) in ways)
                    {
                        double a = cells[i].AgreementWith(pattern, Within);
                        if (a > best + 0.01)
                        {
                            (best, how[i]) = (a, way);
                        }
                    }
                }

                sum += Math.Max(0, best);
            }

            scores.Add((id, sum / cells.Count, how));
        }

        (string Id, double Agreement, Orientation[] How)[] ranked = [.. scores.OrderByDescending(s => s.Agreement)];
        return ranked[0].Agreement >= LeastAgreement && ranked[0].Agreement - ranked[1].Agreement >= LeastMargin
            ? ranked[0]
            : null;
    }

    private static IReadOnlyList<(Orientation How, CellPattern Pattern)> WaysOf(CellPattern draft) =>
        [.. Orientation.All.Select(o => (o, draft.In(o)))];
}
