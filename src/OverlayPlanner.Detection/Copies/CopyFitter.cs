using OverlayPlanner.Detection.Evidence;
using OverlayPlanner.Detection.Layout;
using OverlayPlanner.Detection.Structure;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Detection.Copies;

/// <summary>
/// Brings every copy of a block to the pattern that all have in common: a seam that a copy lacks is laid in where its own
/// pixels do not speak against it, and one that no other copy has is taken out unless its own pixels insist.
/// </summary>
/// <remarks>
/// Odds, not votes: the log odds of a seam are those that the other copies give it plus those of its own evidence, so that a
/// quilter's change in one block survives where it is seen well. Each copy keeps its own measured points.
/// </remarks>
internal static class CopyFitter
{
    // Log odds of the evidence on a piece that the pattern proposes: zero at a mean probability of 0.42.
    private const double PerSupport = 8;
    private const double ProposedOffset = -3.4;

    // What the pattern adds to the odds that a piece's evidence gives without any pattern.
    private const double ForPattern = ProposedOffset - Confidence.Offset;
    private const double MatchShare = 0.032; // of a side
    private const double LeastMatchPixels = 6;
    private const double OnLinePixels = 4.5;
    private const double ExplainedPixels = 6;
    private const double SamePoint = 5.5;

    // Where a piece was laid in for the other copies' sake, its own pixels show little: the pattern knows its place better.
    private const double LaidPointPixels = 3;
    private const double ForMove = 0.02; // a pixel
    private const double EnoughCovered = 0.72;
    private const double AlongCosine = 0.92;
    private const double ForSharedExtra = 6;

    // Copies cut from the same prints share the prints' lines too, and what is known has none there.
    private const double ForSharedExtraOfKnown = 2.5;
    private const double SameExtra = 0.04;

    /// <summary>Changes the graph in place.</summary>
    /// <param name="graph">The seams of the whole top.</param>
    /// <param name="evidence">What the picture shows.</param>
    /// <param name="groups">The kinds of block.</param>
    /// <param name="mayRemove">False where only what is missing is laid in.</param>
    /// <returns>How many pieces were laid in and taken out.</returns>
    public static (int Added, IReadOnlyList<Edge<PictureSpace>> Removed) Reconcile(
        SeamGraph graph,
        EvidenceMap evidence,
        IReadOnlyList<CopyGroup> groups,
        bool mayRemove = true
    )
    {
        List<Edge<PictureSpace>> removed = [];
        List<(PlacedCopy Copy, CopyGroup Group)> copies = [];
        foreach (CopyGroup group in groups)
        {
            PlacedCopy[] placed =
            [
                .. group.Cells.Select((cell, i) => PlacedCopy.Place(graph, cell, group.Template.In(group.How[i]))),
            ];
            copies.AddRange(placed.Select(p => (p, group)));
            if (mayRemove)
            {
                removed.AddRange(RemoveExtras(graph, group, placed));
            }
        }

        graph.RemoveDangling();
        int added = 0;
        foreach ((PlacedCopy copy, CopyGroup group) in copies)
        {
            added += AddMissing(graph, evidence, copy, group.Trust);
        }

        return (added, removed);
    }

    /// <summary>Takes every inner seam of a copy out and lays the template in, whatever its pixels say.</summary>
    /// <param name="trust">Log odds of each piece, for its confidence.</param>
    public static void Stamp(SeamGraph graph, PixelCell cell, BlockTemplate template, double trust)
    {
        PlacedCopy copy = PlacedCopy.Place(graph, cell, template);
        foreach (GraphEdge e in graph.Edges.Where(e => IsInner(e, cell)).ToArray())
        {
            if (!copy.Explains(e, ExplainedPixels))
            {
                graph.Remove(e);
            }
        }

        graph.RemoveDangling();
        copy = PlacedCopy.Place(graph, cell, template);
        for (int i = 0; i < template.Pieces.Count; i++)
        {
            if (copy.Coverage(graph, i) >= EnoughCovered)
            {
                copy.Believe(graph, i, trust + ForPattern);
            }
            else
            {
                copy.Lay(graph, i, trust + ForPattern);
            }
        }
    }

    /// <summary>The inner seams found in a block, and whether a template laid over it has them.</summary>
    public static IEnumerable<(GraphEdge Edge, bool Known)> InnerOf(
        SeamGraph graph,
        PixelCell cell,
        BlockTemplate template
    )
    {
        PlacedCopy copy = PlacedCopy.Place(graph, cell, template);
        return graph.Edges.Where(e => IsInner(e, cell)).Select(e => (e, copy.Explains(e, ExplainedPixels)));
    }

    private static int AddMissing(SeamGraph graph, EvidenceMap evidence, PlacedCopy copy, IReadOnlyList<double> trust)
    {
        int added = 0;
        foreach (int i in Enumerable.Range(0, copy.Template.Pieces.Count).OrderByDescending(i => trust[i]))
        {
            if (copy.Coverage(graph, i) >= EnoughCovered)
            {
                copy.Believe(graph, i, Math.Max(0, trust[i] + ForPattern));
                continue;
            }

            double support = copy.Seek(evidence, i);
            double odds = trust[i] + PerSupport * support + ProposedOffset;
            if (odds > 0 && copy.Lay(graph, i, trust[i] + ForPattern))
            {
                added++;
            }
        }

        return added;
    }

    private static List<Edge<PictureSpace>> RemoveExtras(SeamGraph graph, CopyGroup group, PlacedCopy[] placed)
    {
        List<(GraphEdge Edge, int Copy, (double X, double Y)[] Samples)> extras = [];
        for (int k = 0; k < placed.Length; k++)
        {
            PixelCell cell = placed[k].Cell;
            foreach (GraphEdge e in graph.Edges)
            {
                if (IsInner(e, cell) && !placed[k].Explains(e, ExplainedPixels))
                {
                    Orientation how = group.How[k];
                    extras.Add(
                        (
                            e,
                            k,
                            [
                                .. new[] { 0.2, 0.5, 0.8 }
                                    .Select(t => e.Path.PointAt(t))
                                    .Select(p => how.Undo(cell.ToUnit((p.X, p.Y)))),
                            ]
                        )
                    );
                }
            }
        }

        double distrust = group.Trust.Count == 0 ? 0 : group.Trust.Max();
        List<Edge<PictureSpace>> removed = [];
        foreach ((GraphEdge e, int copy, (double X, double Y)[] samples) in extras)
        {
            int others = extras
                .Where(x => x.Copy != copy && samples.All(s => x.Samples.Min(o => Gap(o, s)) <= 5 * SameExtra))
                .Where(x => samples.Count(s => IsOn(x.Samples, s)) >= 2)
                .Select(x => x.Copy)
                .Distinct()
                .Count();
            double shared = placed.Length > 1 ? (double)others / (placed.Length - 1) : 0;
            e.PriorLogOdds = (group.IsKnown ? ForSharedExtraOfKnown : ForSharedExtra) * shared - distrust;
            if (Confidence.LogOdds(e) < 0)
            {
                removed.Add(e.Path);
                graph.Remove(e);
            }
        }

        return removed;

        static double Gap((double X, double Y) a, (double X, double Y) b) =>
            Math.Sqrt((a.X - b.X) * (a.X - b.X) + (a.Y - b.Y) * (a.Y - b.Y));
        static bool IsOn((double X, double Y)[] line, (double X, double Y) p)
        {
            Edge<PictureSpace> path = new(new(line[0].X, line[0].Y), new(line[2].X, line[2].Y));
            return path.Nearest(new(p.X, p.Y)).Distance <= SameExtra;
        }
    }

    // Inside a block and not along its sides.
    private static bool IsInner(GraphEdge e, PixelCell cell)
    {
        double slack = Math.Max(ExplainedPixels / cell.Side, 0.02);
        (double u, double v) = cell.ToUnit((e.Path.PointAt(0.5).X, e.Path.PointAt(0.5).Y));
        if (u <= slack || v <= slack || u >= 1 - slack || v >= 1 - slack)
        {
            return false;
        }

        (double X, double Y) a = cell.ToUnit((e.From.X, e.From.Y));
        (double X, double Y) b = cell.ToUnit((e.To.X, e.To.Y));
        return Inside(a) && Inside(b);

        bool Inside((double X, double Y) p) =>
            p.X > -2 * slack && p.Y > -2 * slack && p.X < 1 + 2 * slack && p.Y < 1 + 2 * slack;
    }

    /// <summary>A template laid over one copy, its points drawn to the points that were found there.</summary>
    private sealed class PlacedCopy(
        PixelCell cell,
        BlockTemplate template,
        Point<PictureSpace>[] places,
        GraphPoint?[] matched
    )
    {
        public PixelCell Cell => cell;

        public BlockTemplate Template => template;

        public static PlacedCopy Place(SeamGraph graph, PixelCell cell, BlockTemplate template)
        {
            double reach = Math.Max(LeastMatchPixels, MatchShare * cell.Side);
            Point<PictureSpace>[] ideal =
            [
                .. template.Points.Select(cell.FromUnit).Select(p => new Point<PictureSpace>(p.X, p.Y)),
            ];
            GraphPoint?[] matched = new GraphPoint?[ideal.Length];
            List<(double Distance, int Index, GraphPoint Point)> pairs = [];
            foreach (GraphPoint p in graph.Points)
            {
                (double u, double v) = cell.ToUnit((p.X, p.Y));
                if (u is < -0.1 or > 1.1 || v is < -0.1 or > 1.1)
                {
                    continue;
                }

                for (int i = 0; i < ideal.Length; i++)
                {
                    double d = ideal[i].DistanceTo(p.Place);
                    if (d <= reach)
                    {
                        pairs.Add((d, i, p));
                    }
                }
            }

            HashSet<GraphPoint> taken = [];
            foreach ((_, int i, GraphPoint p) in pairs.OrderBy(p => p.Distance))
            {
                if (matched[i] is null && taken.Add(p))
                {
                    matched[i] = p;
                }
            }

            Point<PictureSpace>[] places = [.. ideal];
            for (int i = 0; i < ideal.Length; i++)
            {
                places[i] = matched[i] is { } own ? own.Place : Drawn(i, ideal, matched, cell.Side, graph.Frame);
            }

            return new(cell, template, places, matched);
        }

        /// <summary>Share of a piece that seams of the graph already run along, 0 to 1.</summary>
        public double Coverage(SeamGraph graph, int piece)
        {
            Edge<PictureSpace> path = PathOf(piece);
            if (IsOnOutline(graph.Frame, path))
            {
                return 1;
            }

            GraphEdge[] near = [.. Near(graph, path)];
            const int Samples = 12;
            int on = 0;
            for (int k = 0; k < Samples; k++)
            {
                double t = (k + 0.5) / Samples;
                Point<PictureSpace> p = path.PointAt(t);
                Vector<PictureSpace> way = path.DirectionAt(t);
                on += Array.Exists(near, e => RunsThere(e, p, way)) ? 1 : 0;
            }

            return (double)on / Samples;
        }

        /// <summary>Raises the confidence of the seams along a piece.</summary>
        public void Believe(SeamGraph graph, int piece, double odds)
        {
            Edge<PictureSpace> path = PathOf(piece);
            foreach (GraphEdge e in Near(graph, path))
            {
                Point<PictureSpace> middle = e.Path.PointAt(0.5);
                (double t, double d) = path.Nearest(middle);
                if (d <= OnLinePixels && Math.Abs(path.DirectionAt(t).Dot(e.Path.DirectionAt(0.5))) >= AlongCosine)
                {
                    e.PriorLogOdds = Math.Max(e.PriorLogOdds, odds);
                }
            }
        }

        /// <summary>True where an edge runs along pieces of the template for nearly all of its length.</summary>
        public bool Explains(GraphEdge e, double within)
        {
            const int Samples = 8;
            int on = 0;
            Edge<PictureSpace>[] paths = [.. Enumerable.Range(0, template.Pieces.Count).Select(PathOf)];
            for (int k = 0; k < Samples; k++)
            {
                double t = (k + 0.5) / Samples;
                Point<PictureSpace> p = e.Path.PointAt(t);
                Vector<PictureSpace> way = e.Path.DirectionAt(t);
                on += Array.Exists(
                    paths,
                    q =>
                    {
                        if (!q.Bounds().Grown(within).Holds(p))
                        {
                            return false;
                        }

                        (double s, double d) = q.Nearest(p);
                        return d <= within && Math.Abs(q.DirectionAt(s).Dot(way)) >= AlongCosine;
                    }
                )
                    ? 1
                    : 0;
            }

            return on >= 0.7 * Samples;
        }

        /// <summary>Looks for a piece near where the template lays it, and keeps the place where it is seen best.</summary>
        /// <returns>The mean probability there.</returns>
        public double Seek(EvidenceMap evidence, int piece)
        {
            TemplatePiece p = template.Pieces[piece];
            Edge<PictureSpace> path = PathOf(piece);
            Vector<PictureSpace> across = (path.To - path.From).TurnedLeft.Unit;
            double best = GraphAdjuster.SupportOf(path, evidence).Support;
            double[] moves = [-5, -2.5, 0, 2.5, 5];
            (Point<PictureSpace> from, Point<PictureSpace> to) = (path.From, path.To);
            foreach (double a in matched[p.From] is null ? moves : [0])
            {
                foreach (double b in matched[p.To] is null ? moves : [0])
                {
                    Edge<PictureSpace> moved = new(path.From + across * a, path.To + across * b, path.Bulge);
                    double support = GraphAdjuster.SupportOf(moved, evidence).Support;

                    // Of many places one looks best by chance: a move must earn its keep.
                    double earned = support - ForMove * (Math.Abs(a) + Math.Abs(b));
                    if (earned > best)
                    {
                        (best, from, to) = (earned, moved.From, moved.To);
                    }
                }
            }

            (places[p.From], places[p.To]) = (from, to);
            return best;
        }

        /// <summary>Lays a piece into the graph; false where it would cross what is there.</summary>
        public bool Lay(SeamGraph graph, int piece, double odds)
        {
            TemplatePiece p = template.Pieces[piece];
            GraphPoint from = Attach(graph, p.From);
            GraphPoint to = Attach(graph, p.To);
            if (ReferenceEquals(from, to) || from.Edges.Exists(e => ReferenceEquals(e.Other(from), to)))
            {
                return false;
            }

            Edge<PictureSpace> path = new(from.Place, to.Place, p.Bulge);
            if (IsOnOutline(graph.Frame, path) || Crosses(graph, path, from, to))
            {
                return false;
            }

            graph.AddEdge(from, to, p.Bulge).PriorLogOdds = odds;
            return true;
        }

        private Edge<PictureSpace> PathOf(int piece)
        {
            TemplatePiece p = template.Pieces[piece];
            return new(places[p.From], places[p.To], p.Bulge);
        }

        private GraphPoint Attach(SeamGraph graph, int index)
        {
            if (matched[index] is { } there && graph.Points.Contains(there))
            {
                return there;
            }

            Point<PictureSpace> place = places[index];
            GraphPoint? near = graph.Points.MinBy(p => p.Place.DistanceTo(place));
            if (near is not null && near.Place.DistanceTo(place) <= SamePoint)
            {
                return matched[index] = near;
            }

            double reach = Math.Max(LeastMatchPixels, MatchShare * cell.Side);
            GraphPoint added = graph.AddPoint(place.X, place.Y);
            added.HoldPixels = LaidPointPixels;
            matched[index] = added;
            if (graph.Frame.DepthOf(place.X, place.Y) <= SamePoint)
            {
                graph.Pin(added, SamePoint);
                return added;
            }

            (GraphEdge Edge, double T, double Distance)? host = null;
            foreach (GraphEdge e in graph.Edges)
            {
                if (!e.Path.Bounds().Grown(reach).Holds(place))
                {
                    continue;
                }

                (double t, double d) = e.Path.Nearest(place);
                if (d <= reach && t is > 0 and < 1 && (host is null || d < host.Value.Distance))
                {
                    host = (e, t, d);
                }
            }

            if (host is { } on)
            {
                Point<PictureSpace> at = on.Edge.Path.PointAt(on.T);
                (added.X, added.Y) = (at.X, at.Y);
                graph.Split(on.Edge, on.T, added);
            }

            return added;
        }

        // Where a point of the template lies whose own was not found: moved as its found neighbours are.
        private static Point<PictureSpace> Drawn(
            int index,
            Point<PictureSpace>[] ideal,
            GraphPoint?[] matched,
            double side,
            PixelFrame frame
        )
        {
            Vector<PictureSpace> sum = new(0, 0);
            double weights = 1 / (0.5 * side * side);
            for (int k = 0; k < ideal.Length; k++)
            {
                if (matched[k] is { } found)
                {
                    double d = ideal[k].DistanceTo(ideal[index]);
                    double w = 1 / (d * d + 1);
                    sum += (found.Place - ideal[k]) * w;
                    weights += w;
                }
            }

            Point<PictureSpace> at = ideal[index] + sum * (1 / weights);
            return new(Math.Clamp(at.X, frame.Left, frame.Right), Math.Clamp(at.Y, frame.Top, frame.Bottom));
        }

        private static bool RunsThere(GraphEdge e, Point<PictureSpace> p, Vector<PictureSpace> way)
        {
            (double t, double d) = e.Path.Nearest(p);
            return d <= OnLinePixels && Math.Abs(e.Path.DirectionAt(t).Dot(way)) >= AlongCosine;
        }

        private static IEnumerable<GraphEdge> Near(SeamGraph graph, Edge<PictureSpace> path)
        {
            Box<PictureSpace> box = path.Bounds().Grown(OnLinePixels);
            return graph.Edges.Where(e => e.Path.Bounds().Grown(OnLinePixels).Meets(box));
        }

        private static bool IsOnOutline(PixelFrame f, Edge<PictureSpace> path)
        {
            return path.IsLine
                && (
                    Both(path.From.X - f.Left, path.To.X - f.Left)
                    || Both(path.From.X - f.Right, path.To.X - f.Right)
                    || Both(path.From.Y - f.Top, path.To.Y - f.Top)
                    || Both(path.From.Y - f.Bottom, path.To.Y - f.Bottom)
                );

            static bool Both(double a, double b) => Math.Abs(a) <= SamePoint && Math.Abs(b) <= SamePoint;
        }

        private static bool Crosses(SeamGraph graph, Edge<PictureSpace> path, GraphPoint from, GraphPoint to)
        {
            Box<PictureSpace> box = path.Bounds().Grown(1);
            foreach (GraphEdge e in graph.Edges)
            {
                bool touches =
                    ReferenceEquals(e.From, from)
                    || ReferenceEquals(e.To, from)
                    || ReferenceEquals(e.From, to)
                    || ReferenceEquals(e.To, to);
                if (!e.Path.Bounds().Grown(1).Meets(box))
                {
                    continue;
                }

                if (touches)
                {
                    // From a common point: the same way is the same seam.
                    GraphPoint common = ReferenceEquals(e.From, from) || ReferenceEquals(e.To, from) ? from : to;
                    Vector<PictureSpace> way = ReferenceEquals(common, from)
                        ? path.StartDirection
                        : path.Reversed.StartDirection;
                    if (e.DirectionFrom(common).Dot(way) > 0.995)
                    {
                        return true;
                    }
                }
                else if (Exact.Relate(e.Path, path) is EdgeRelation.Cross or EdgeRelation.Overlap)
                {
                    return true;
                }
            }

            return false;
        }
    }
}
