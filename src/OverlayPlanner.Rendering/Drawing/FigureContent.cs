using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>One step as it is drawn.</summary>
/// <param name="Step">The step.</param>
/// <param name="Number">Its number as words.</param>
/// <param name="Path">Its way in page space; a backtrack lies beside the line it repeats.</param>
internal sealed record FigureStep(StitchStep Step, string Number, IReadOnlyList<Edge<PageSpace>> Path);

/// <summary>A start or an end of one thread.</summary>
/// <param name="Words">"Start", or "Start 2" where there are several.</param>
internal sealed record FigureEnd(Point<PageSpace> At, string Words)
{
    /// <summary>What is stitched beyond a raw edge, from it outward; empty where the thread starts or ends on the top.</summary>
    public IReadOnlyList<Edge<PageSpace>> OffTop { get; init; } = [];
}

/// <summary>A map and a route on it, taken to page space: what every page and picture of a route shows.</summary>
internal sealed record FigureContent
{
    /// <summary>A point where so many seams meet is bulky (common practice, no source).</summary>
    public const int BulkySeams = 8;

    /// <summary>How far beside its line a backtrack is drawn on paper: 1/16 in.</summary>
    public const double BacktrackOffset = 4.5;

    private FigureContent() { }

    /// <summary>All seams of the shown part.</summary>
    public required IReadOnlyList<Edge<PageSpace>> Seams { get; init; }

    /// <summary>Steps in order.</summary>
    public required IReadOnlyList<FigureStep> Steps { get; init; }

    /// <summary>Starts, one for each thread.</summary>
    public required IReadOnlyList<FigureEnd> Starts { get; init; }

    /// <summary>Ends, one for each thread.</summary>
    public required IReadOnlyList<FigureEnd> Ends { get; init; }

    /// <summary>Points with many layers.</summary>
    public required IReadOnlyList<Point<PageSpace>> Bulky { get; init; }

    /// <summary>
    /// The part of the cloth that a candidate covers, inches: its moves and the blocks they name. The whole map where it has no
    /// moves.
    /// </summary>
    public static Box<ClothSpace> CoveredBy(QuiltMap quilt, RouteCandidate candidate)
    {
        Box<ClothSpace>? box = null;
        foreach (Move move in candidate.AllMoves)
        {
            box = box is { } b ? b.With(move.Path.Bounds()) : move.Path.Bounds();
        }

        if (box is not { } covered)
        {
            return new(0, 0, quilt.Width.Inches, quilt.Height.Inches);
        }

        foreach (string id in candidate.AllMoves.Select(m => m.Block).OfType<string>().Distinct(StringComparer.Ordinal))
        {
            if (quilt.FindBlock(id) is { } block)
            {
                covered = covered.With(Box<ClothSpace>.Around(block.Corners));
            }
        }

        return covered;
    }

    /// <summary>Takes a route to the page.</summary>
    /// <param name="shown">The part of the cloth whose seams are shown, inches.</param>
    /// <param name="toPage">Takes one edge along; more than one piece where the map bends it.</param>
    /// <param name="offset">How far beside its line a backtrack is drawn, points.</param>
    /// <param name="steps">The steps to show; all where null.</param>
    public static FigureContent Of(
        QuiltMap quilt,
        RouteCandidate candidate,
        Box<ClothSpace> shown,
        Func<Edge<ClothSpace>, IReadOnlyList<Edge<PageSpace>>> toPage,
        double offset,
        Func<StitchStep, bool>? steps = null
    )
    {
        Box<ClothSpace> near = shown.Grown(1e-3);
        List<FigureStep> drawn = [];
        List<FigureEnd> starts = [];
        List<FigureEnd> ends = [];
        Dictionary<(double, double, double), int> passes = [];
        IReadOnlyList<StitchStep> all = StitchStep.Of(quilt, candidate);
        int threads = candidate.Runs.Count(r => r.Moves.Count > 0);
        int thread = 0;
        for (int i = 0; i < all.Count; i++)
        {
            StitchStep step = all[i];
            if (i == 0 || all[i - 1].Run != step.Run)
            {
                thread++;
            }

            bool wanted = steps is null || steps(step);
            List<Edge<PageSpace>> path = step.IsBacktrack
                ? Beside(step, toPage, offset, passes)
                : [.. step.Moves.SelectMany(m => toPage(m.Path))];
            if (!wanted || path.Count == 0)
            {
                continue;
            }

            drawn.Add(new(step, step.Number.ToString(CultureInfo.InvariantCulture), path));
            string suffix = threads > 1 ? " " + thread.ToString(CultureInfo.InvariantCulture) : "";
            if (i == 0 || all[i - 1].Run != step.Run)
            {
                starts.Add(EndOf(path[0].From, "Start" + suffix, step.From, candidate.Runs[step.Run].OffStart));
            }

            if (i + 1 == all.Count || all[i + 1].Run != step.Run)
            {
                ends.Add(EndOf(path[^1].To, "End" + suffix, step.To, candidate.Runs[step.Run].OffEnd));
            }
        }

        FigureEnd EndOf(Point<PageSpace> at, string words, Point<ClothSpace> edge, Point<ClothSpace>? off) =>
            off is { } beyond
                ? new(at, words + ", off the edge") { OffTop = toPage(new(edge, beyond)) }
                : new(at, words);

        return new()
        {
            Seams =
            [
                .. quilt
                    .Seams.Select(quilt.EdgeOf)
                    .Where(e => near.Holds(e.PointAt(0.5)) && near.Holds(e.From) && near.Holds(e.To))
                    .SelectMany(toPage),
            ],
            Steps = drawn,
            Starts = starts,
            Ends = ends,
            Bulky =
            [
                .. quilt
                    .Seams.SelectMany(s => new[] { s.From, s.To })
                    .GroupBy(id => id, StringComparer.Ordinal)
                    .Where(g => g.Count() >= BulkySeams)
                    .Select(g => quilt.JunctionOf(g.Key).Place)
                    .Where(near.Holds)
                    .SelectMany(p => toPage(new Edge<ClothSpace>(p, p)).Take(1).Select(e => e.From)),
            ],
        };
    }

    // Parallel lines and concentric arcs to the right of travel, farther out for each time that the piece was doubled before,
    // joined to the step's two ends.
    private static List<Edge<PageSpace>> Beside(
        StitchStep step,
        Func<Edge<ClothSpace>, IReadOnlyList<Edge<PageSpace>>> toPage,
        double offset,
        Dictionary<(double, double, double), int> passes
    )
    {
        int pass = 0;
        foreach (Move move in step.Moves)
        {
            Point<ClothSpace> middle = move.Path.PointAt(0.5);
            bool forward = (move.Path.From.X, move.Path.From.Y).CompareTo((move.Path.To.X, move.Path.To.Y)) < 0;
            (double, double, double) key = (Math.Round(middle.X, 6), Math.Round(middle.Y, 6), forward ? 1 : 0);
            passes[key] = passes.GetValueOrDefault(key) + 1;
            pass = Math.Max(pass, passes[key]);
        }

        Edge<PageSpace>[] line = [.. step.Moves.SelectMany(m => toPage(m.Path))];
        double length = line.Sum(e => e.Length);
        if (line.Length == 0 || length == 0)
        {
            return [];
        }

        double away = Math.Min(offset * pass, length / 4);
        double trim = Math.Min(1.6 * away, length / 3);
        Edge<PageSpace>[] inner = Trimmed(line, trim, length - trim);
        List<Edge<PageSpace>> path = [];
        foreach (Edge<PageSpace> e in inner)
        {
            Edge<PageSpace> moved = new(
                e.From - e.StartDirection.TurnedLeft * away,
                e.To - e.EndDirection.TurnedLeft * away,
                e.Bulge
            );
            if (path.Count > 0 && path[^1].To != moved.From)
            {
                moved = moved.From.DistanceTo(path[^1].To) < away / 2 ? moved with { From = path[^1].To } : moved;
            }

            path.Add(moved);
        }

        path.Insert(0, new(line[0].From, path[0].From));
        path.Add(new(path[^1].To, line[^1].To));
        return path;
    }

    private static Edge<PageSpace>[] Trimmed(Edge<PageSpace>[] line, double from, double to)
    {
        List<Edge<PageSpace>> kept = [];
        double done = 0;
        foreach (Edge<PageSpace> e in line)
        {
            double length = e.Length;
            double t0 = Math.Clamp((from - done) / length, 0, 1);
            double t1 = Math.Clamp((to - done) / length, 0, 1);
            if (t1 - t0 > 1e-9)
            {
                kept.Add(t0 == 0 && t1 == 1 ? e : e.Piece(t0, t1));
            }

            done += length;
        }

        return [.. kept];
    }
}
