using OverlayPlanner.Geometry;
using OverlayPlanner.Rendering.Fonts;

namespace OverlayPlanner.Rendering.Drawing;

/// <summary>How a route is drawn: on paper, on a screen, in light.</summary>
internal sealed record FigureStyle
{
    /// <summary>Seams.</summary>
    public required Ink Seam { get; init; }

    /// <summary>Width of seams, points.</summary>
    public double SeamWidth { get; init; } = 0.6;

    /// <summary>The route.</summary>
    public required Ink Route { get; init; }

    /// <summary>Width of the route, points.</summary>
    public double RouteWidth { get; init; } = 1.4;

    /// <summary>A light line under the route, or null.</summary>
    public Ink? Halo { get; init; }

    /// <summary>The first step where it stands out, or null.</summary>
    public Ink? FirstStep { get; init; }

    /// <summary>The number of the step that stands out so.</summary>
    public int First { get; init; } = 1;

    /// <summary>Numbers, marks and words.</summary>
    public required Ink Mark { get; init; }

    /// <summary>What lies under everything (the needle's eye shows it).</summary>
    public required Ink Ground { get; init; }

    /// <summary>Sizes of numbers to try, the best first, points.</summary>
    public IReadOnlyList<double> NumberSizes { get; init; } = [12, 10.5, 9];

    /// <summary>Size of the words at the marks, points.</summary>
    public double WordSize { get; init; } = 10;

    /// <summary>Length of arrowheads, points.</summary>
    public double Arrow { get; init; } = 8;

    /// <summary>Scales of needle and knot to try, the best first.</summary>
    public IReadOnlyList<double> MarkScales { get; init; } = [1, 0.8, 0.65];

    /// <summary>Dash and gap of backtracks.</summary>
    public IReadOnlyList<double> BacktrackDash { get; init; } = [3.2, 2.6];

    /// <summary>Dash and gap of the route itself, or null for a whole line; where set, backtracks are left out.</summary>
    public IReadOnlyList<double>? RouteDash { get; init; }

    /// <summary>A stretch between two points gets an arrow of its own from this length, points.</summary>
    public double Stretch { get; init; } = 34;

    /// <summary>An arrow and a number again after so much of one step, points.</summary>
    public double Repeat { get; init; } = 432;

    /// <summary>How often what found no room is tried first, before it stays without.</summary>
    public int Rounds { get; init; } = 12;

    /// <summary>Black printing on paper: ink, and no colour that means anything.</summary>
    public static FigureStyle Paper { get; } =
        new()
        {
            Seam = Palette.Seam,
            Route = Palette.Ink,
            Mark = Palette.Ink,
            Ground = Palette.White,
        };
}

/// <summary>A number or word that was placed.</summary>
/// <param name="Text">What it says.</param>
/// <param name="Box">The room it takes.</param>
/// <param name="Size">Points.</param>
/// <param name="Leader">True where a thin line leads from the number to its step.</param>
internal sealed record PlacedLabel(string Text, Box<PageSpace> Box, double Size, bool Leader);

/// <summary>What drawing a figure gave.</summary>
/// <param name="Items">The items, clipped to the window.</param>
/// <param name="Space">Lines and boxes that stand, so that more can be placed beside them.</param>
/// <param name="Labels">Numbers and words placed.</param>
/// <param name="Unplaced">Numbers for which there was no room.</param>
/// <param name="Lines">Every line drawn with its width: seams, route, leaders.</param>
internal sealed record PlacedFigure(
    IReadOnlyList<DrawnItem> Items,
    LabelSpace Space,
    IReadOnlyList<PlacedLabel> Labels,
    IReadOnlyList<string> Unplaced,
    IReadOnlyList<(Edge<PageSpace> Edge, double Width)> Lines
);

/// <summary>
/// Draws a route with its seams, numbers, arrows and marks, so that a finger can follow it: no label covers a line, an arrow,
/// a mark or another label.
/// </summary>
/// <remarks>
/// Labels are placed greedily, marks first, then numbers from the shortest piece of line to the longest, each on either side
/// of its line at several places along it and in three sizes; where none is free, at the end of a thin leader. What finds no
/// room is placed before all others of its kind in a new round, a few times at most; the round that leaves the fewest is kept.
/// Greedy placement with candidate positions is the usual heuristic for this NP-hard problem (Christensen, Marks and Shieber
/// 1995).
/// </remarks>
internal static class RouteFigure
{
    private const double Gap = 1.6;
    private const double DotRadius = 2.2;
    private const double FootRadius = 1.3;

    // Where more find no room, the figure is too small for its numbers, and no order of them helps.
    private const int MostLeft = 4;

    // A ring round a bulky point keeps a square of 5 pt free; from here on a line outward is clear of its corners.
    private const double RingHalf = 5;
    private const double BeyondRing = 8.2;

    // Where a dot would touch a number, the leader alone must do.
    private const double BareFoot = 0.4;
    private static readonly double[] MarkDistances = [5, 9, 14, 20, 28, 38, 50, 66, 84, 110];
    private static readonly double[] Everywhere = [0.5, 0.4, 0.6, 0.25, 0.75, 0.15, 0.85, 0.08, 0.92];

    private static readonly double[] AllAlong = [.. Enumerable.Range(2, 47).Select(i => i / 50.0)];

    /// <summary>Draws.</summary>
    /// <param name="content">What to draw.</param>
    /// <param name="window">Lines are cut off here.</param>
    /// <param name="room">Labels lie inside here.</param>
    /// <param name="taken">Boxes that are already taken.</param>
    public static PlacedFigure Place(
        FigureContent content,
        FigureStyle style,
        Box<PageSpace> window,
        Box<PageSpace> room,
        IEnumerable<Box<PageSpace>>? taken = null
    )
    {
        Box<PageSpace>[] boxes = [.. taken ?? []];
        HashSet<string> urgent = new(StringComparer.Ordinal);
        PlacedFigure last = new Placing(content, style, window, room, boxes, urgent).Run();
        PlacedFigure best = last;
        for (int round = 0; best.Unplaced.Count is > 0 and <= MostLeft && round < style.Rounds; round++)
        {
            int before = urgent.Count;
            urgent.UnionWith(last.Unplaced);
            if (urgent.Count == before)
            {
                break;
            }

            last = new Placing(content, style, window, room, boxes, urgent).Run();
            best = last.Unplaced.Count < best.Unplaced.Count ? last : best;
        }

        return best;
    }

    private sealed class Placing(
        FigureContent content,
        FigureStyle style,
        Box<PageSpace> window,
        Box<PageSpace> room,
        Box<PageSpace>[] taken,
        HashSet<string> urgent
    )
    {
        private readonly List<DrawnItem> items = [];
        private readonly List<DrawnItem> above = [];
        private readonly LabelSpace space = new(room);
        private readonly List<PlacedLabel> labels = [];
        private readonly List<string> unplaced = [];
        private readonly List<(Edge<PageSpace>, double)> lines = [];
        private readonly List<(FigureStep Step, Edge<PageSpace>[] Piece)> pieces = [];

        public PlacedFigure Run()
        {
            foreach (Box<PageSpace> box in taken)
            {
                space.Add(box);
            }

            DrawSeams();
            DrawRoute();

            // The dots of all starts and ends stand before the first mark looks for its place, or a mark would lie on the next dot.
            foreach (FigureEnd end in content.Starts.Concat(content.Ends).Where(e => window.Holds(e.At)))
            {
                space.Add(end.At, end.At, DotRadius);
            }

            foreach (Point<PageSpace> p in content.Bulky.Where(window.Holds))
            {
                above.Add(Marks.Ring(Layer.Numbers, p, 4.2, style.Mark, 0.8));
                space.Add(new Box<PageSpace>(p.X - RingHalf, p.Y - RingHalf, p.X + RingHalf, p.Y + RingHalf));
            }

            (FigureEnd End, bool IsStart)[] ends =
            [
                .. content
                    .Starts.Select(e => (End: e, IsStart: true))
                    .Concat(content.Ends.Select(e => (End: e, IsStart: false)))
                    .Where(e => window.Holds(e.End.At)),
            ];
            foreach ((FigureEnd end, bool isStart) in ends.Where(e => urgent.Contains(e.End.Words)))
            {
                PlaceMark(end, isStart);
            }

            // Arrows before marks and words: they must sit on their line, the others may move.
            List<(FigureStep Step, Edge<PageSpace>[] Piece, double At)> wanted = PlaceArrows();
            foreach ((FigureEnd end, bool isStart) in ends.Where(e => !urgent.Contains(e.End.Words)))
            {
                PlaceMark(end, isStart);
            }

            foreach (
                (FigureStep step, Edge<PageSpace>[] piece, double at) in wanted
                    .OrderBy(w => !urgent.Contains(w.Step.Number))
                    .ThenBy(w => w.Piece.Sum(e => e.Length))
            )
            {
                PlaceNumber(step, piece, at);
            }

            items.AddRange(above);
            return new(items, space, labels, unplaced, lines);
        }

        private void DrawSeams()
        {
            Edge<PageSpace>[] seams = [.. content.Seams.SelectMany(e => EdgeClipping.Inside(e, window))];
            if (seams.Length == 0)
            {
                return;
            }

            items.Add(new Stroke(Layer.Seams, seams, style.Seam, style.SeamWidth));
            foreach (Edge<PageSpace> e in seams)
            {
                Note(e, style.SeamWidth);
            }
        }

        private void DrawRoute()
        {
            foreach (FigureStep step in content.Steps)
            {
                pieces.AddRange(Chains(step.Path).Select(c => (step, c)));
            }

            if (style.Halo is { } halo)
            {
                foreach ((_, Edge<PageSpace>[] piece) in pieces)
                {
                    items.Add(new Stroke(Layer.Route, piece, halo, style.RouteWidth * 2.6));
                }
            }

            // The later steps first, so that the first lies on top.
            foreach ((FigureStep step, Edge<PageSpace>[] piece) in Enumerable.Reverse(pieces))
            {
                bool first = style.FirstStep is not null && step.Step.Number == style.First;
                double width = style.RouteWidth * (first ? 1.5 : 1);
                Ink ink = first ? style.FirstStep!.Value : style.Route;
                if (step.Step.IsBacktrack && style.RouteDash is not null)
                {
                    continue;
                }

                items.Add(
                    new Stroke(
                        Layer.Route,
                        piece,
                        ink,
                        width,
                        step.Step.IsBacktrack ? style.BacktrackDash : style.RouteDash
                    )
                );
                foreach (Edge<PageSpace> e in piece)
                {
                    Note(e, width);
                }
            }
        }

        private List<(FigureStep, Edge<PageSpace>[], double)> PlaceArrows()
        {
            List<(FigureStep, Edge<PageSpace>[], double)> wanted = [];
            foreach (
                IGrouping<FigureStep, (FigureStep Step, Edge<PageSpace>[] Piece)> group in pieces.GroupBy(p => p.Step)
            )
            {
                double longest = group.Max(p => p.Piece.Sum(e => e.Length));
                foreach ((FigureStep step, Edge<PageSpace>[] piece) in group)
                {
                    double length = piece.Sum(e => e.Length);

                    // A sliver at the window's edge is named on the neighbouring sheet, or by its own longer piece.
                    if (length < 9 || (length < 24 && longest > 48))
                    {
                        continue;
                    }

                    wanted.AddRange(
                        Share(piece, length)
                            .Select(share => PlaceArrow(step, piece, share))
                            .OfType<(FigureStep, Edge<PageSpace>[], double)>()
                    );
                }
            }

            return wanted;
        }

        // Where arrows and numbers go along a piece: on each stretch between two points that is long enough, so that a finger
        // never has to guess how a line goes on; the number on the first stretch, and again on the last of a long line.
        private IEnumerable<(double From, double To, bool Number)> Share(Edge<PageSpace>[] piece, double length)
        {
            List<(double From, double To)> stretches = [];
            double done = 0;
            double begun = 0;
            foreach (Edge<PageSpace> e in piece)
            {
                done += e.Length;

                // Short stretches, and the chords of a curve, go with the next one.
                if (done - begun >= style.Stretch)
                {
                    int times = Math.Max(1, (int)Math.Round((done - begun) / style.Repeat));
                    for (int k = 0; k < times; k++)
                    {
                        stretches.Add((begun + (done - begun) * k / times, begun + (done - begun) * (k + 1) / times));
                    }

                    begun = done;
                }
            }

            if (stretches.Count == 0)
            {
                stretches.Add((0, length));
            }

            for (int i = 0; i < stretches.Count; i++)
            {
                bool last = i == stretches.Count - 1 && stretches.Count > 3;
                bool far = stretches[i].From - stretches[0].From >= style.Repeat * 0.9;
                yield return (stretches[i].From / length, stretches[i].To / length, i == 0 || last || far);
            }
        }

        private (FigureStep, Edge<PageSpace>[], double)? PlaceArrow(
            FigureStep step,
            Edge<PageSpace>[] piece,
            (double From, double To, bool Number) share
        )
        {
            (double from, double to, bool number) = share;
            double length = piece.Sum(e => e.Length) * (to - from);
            double size = Math.Min(style.Arrow, Math.Max(4, length * 0.45));
            foreach (double t in new[] { 0.66, 0.58, 0.74, 0.5, 0.42, 0.34, 0.8 })
            {
                (Point<PageSpace> at, Vector<PageSpace> along) = On(piece, from + t * (to - from));
                Point<PageSpace> a = at - along * (size / 2);
                Point<PageSpace> b = at + along * (size / 2);
                if (space.TouchesBox(a, b, size * 0.42) || !window.Holds(a) || !window.Holds(b))
                {
                    continue;
                }

                Ink ink = style.FirstStep is { } first && step.Step.Number == style.First ? first : style.Route;
                above.Add(Marks.Arrowhead(Layer.Numbers, at, along, size, ink));
                Vector<PageSpace> v = along.TurnedLeft * (size * 0.42);
                space.Add(Box<PageSpace>.Around([b, a + v, a - v]));
                break;
            }

            return number ? (step, piece, from + 0.45 * (to - from)) : null;
        }

        private void PlaceMark(FigureEnd end, bool isStart)
        {
            Edge<PageSpace>[] off = [.. end.OffTop.SelectMany(e => EdgeClipping.Inside(e, room))];
            if (off.Length > 0)
            {
                above.Add(new Stroke(Layer.Route, off, style.Route, style.RouteWidth));
                foreach (Edge<PageSpace> e in off)
                {
                    Note(e, style.RouteWidth);
                }
            }

            // Off the top there is nothing to knot.
            if (end.OffTop.Count > 0 && !isStart)
            {
                above.Add(Marks.Disc(Layer.Numbers, end.At, DotRadius, style.Mark));
                PlaceByLeader(end.Words, end.At, [], style.WordSize);
                return;
            }

            double length = isStart ? Marks.NeedleLength : Marks.KnotLength;
            double half = isStart ? Marks.NeedleHalfWidth : Marks.KnotHalfWidth;
            foreach (double scale in style.MarkScales)
            {
                foreach (double away in MarkDistances)
                {
                    for (int k = 0; k < 48; k++)
                    {
                        // The diagonals first, then everything between.
                        double angle = Math.PI / 4 + Math.PI / 2 * (k % 4) + Math.PI / 24 * (k / 4);
                        Vector<PageSpace> u = new(Math.Cos(angle), Math.Sin(angle));
                        double begin = BeginsAt(end.At, u);
                        if (away <= begin)
                        {
                            continue;
                        }

                        Point<PageSpace> near = end.At + u * away;
                        Point<PageSpace> far = near + u * (length * scale);
                        if (
                            !space.IsFree(near + u * (half * scale), far, half * scale + 1)
                            || !space.IsFree(near, near + u * (half * scale), 1.2)
                            || (
                                away > 5 && !LeaderIsClear(end.At + u * Math.Max(begin, Math.Min(10, away * 0.6)), near)
                            )
                            || space.TouchesBox(end.At + u * Math.Max(begin, DotRadius), near, 1)
                            || FindWordBox(near, far, half * scale, end.Words) is not { } words
                        )
                        {
                            continue;
                        }

                        above.AddRange(
                            isStart
                                ? Marks.Needle(near, u, scale, style.Mark, style.Ground)
                                : Marks.Knot(near, u, scale, style.Mark, style.Ground)
                        );
                        if (away > 5 || !isStart)
                        {
                            Edge<PageSpace> leader = new(end.At + u * (isStart ? 2.5 : 0), near);
                            above.Add(new Stroke(Layer.Numbers, [leader], style.Mark, isStart ? 0.5 : 1.1 * scale));
                        }

                        above.Add(Marks.Disc(Layer.Numbers, end.At, DotRadius, style.Mark));
                        space.Add(near, far, half * scale);
                        space.Add(end.At, near, 1);
                        SetWords(end.Words, words, style.WordSize, Weight.Bold, leader: false);
                        return;
                    }
                }
            }

            above.Add(Marks.Disc(Layer.Numbers, end.At, DotRadius, style.Mark));
            PlaceByLeader(end.Words, end.At, [], style.WordSize);
        }

        private Box<PageSpace>? FindWordBox(Point<PageSpace> near, Point<PageSpace> far, double half, string words)
        {
            (double w, double h) = SizeOf(words, style.WordSize);
            Vector<PageSpace> u = (far - near).Unit;
            foreach (double t in new[] { 0.62, 0.8, 1, 0.45, 0.3 })
            {
                foreach (double side in new[] { 1.0, -1.0 })
                {
                    Vector<PageSpace> n = u.TurnedLeft * side;
                    Point<PageSpace> middle = near.Toward(far, t) + n * (half + 2 + Reach(n, w, h));
                    if (Around(middle, w, h) is var box && space.IsFree(box, Gap))
                    {
                        return box;
                    }
                }
            }

            Point<PageSpace> beyond = far + u * (3 + Reach(u, w, h));
            return Around(beyond, w, h) is var last && space.IsFree(last, Gap) ? last : null;
        }

        private void PlaceNumber(FigureStep step, Edge<PageSpace>[] piece, double at)
        {
            double[] places =
            [
                .. new[] { 0, -0.1, 0.1, -0.2, 0.2, -0.3, 0.3, -0.38, 0.38 }
                    .Select(d => at + d * Math.Min(1, style.Repeat / piece.Sum(e => e.Length)))
                    .Where(t => t is > 0.04 and < 0.96),
            ];
            foreach (double size in style.NumberSizes)
            {
                (double w, double h) = SizeOf(step.Number, size);
                Box<PageSpace>? best = null;
                double bestScore = double.NegativeInfinity;
                foreach (double t in places)
                {
                    (Point<PageSpace> on, Vector<PageSpace> along) = On(piece, t);
                    foreach (double side in new[] { 1.0, -1.0 })
                    {
                        Vector<PageSpace> n = along.TurnedLeft * side;
                        foreach (double gap in new[] { 2.0, 3.4 })
                        {
                            Box<PageSpace> box = Around(on + n * (style.RouteWidth / 2 + gap + Reach(n, w, h)), w, h);
                            if (!space.IsFree(box, Gap))
                            {
                                continue;
                            }

                            // Far from other lines, so that it is plain which step is meant; near the middle; close by.
                            double score = Math.Min(space.ClearanceBeside(box, piece), 14) - 6 * Math.Abs(t - at) - gap;
                            if (score > bestScore)
                            {
                                (best, bestScore) = (box, score);
                            }
                        }
                    }
                }

                // A worse clearance than the number's own gap would name the wrong line.
                if (best is { } found && bestScore > 0.5)
                {
                    SetWords(step.Number, found, size, Weight.Bold, leader: false);
                    return;
                }
            }

            PlaceByLeader(step.Number, On(piece, at).At, piece, style.NumberSizes[^1]);
        }

        private void PlaceByLeader(string text, Point<PageSpace> from, Edge<PageSpace>[] piece, double size)
        {
            if (
                (
                    Leader(text, from, piece, size, [0.5, 0.3, 0.7, 0.2, 0.8], 32, FootRadius)
                    ?? Leader(text, from, piece, size, Everywhere, 120, FootRadius)
                    ?? Leader(text, from, piece, size, Everywhere, 120, BareFoot)
                    ?? (style.Rounds > 0 ? Leader(text, from, piece, size, AllAlong, 240, BareFoot) : null)
                )
                is not { } found
            )
            {
                unplaced.Add(text);
                return;
            }

            Edge<PageSpace> leader = new(found.Foot, found.Head);
            above.Add(new Stroke(Layer.Numbers, [leader], style.Mark, 0.5));
            above.Add(Marks.Disc(Layer.Numbers, found.Foot, found.Radius, style.Mark));
            space.Add(found.Foot, found.Foot, found.Radius);
            Note(leader, 0.5);
            SetWords(text, found.Box, size, Weight.Bold, leader: true);
        }

        private (Point<PageSpace> Foot, Point<PageSpace> Head, Box<PageSpace> Box, double Radius)? Leader(
            string text,
            Point<PageSpace> from,
            Edge<PageSpace>[] piece,
            double size,
            double[] places,
            int ways,
            double radius
        )
        {
            (double w, double h) = SizeOf(text, size);
            Point<PageSpace>[] feet = piece.Length == 0 ? [from] : [.. places.Select(t => On(piece, t).At)];
            (Point<PageSpace> Foot, Point<PageSpace> Head, Box<PageSpace> Box, double Radius)? best = null;
            double least = double.PositiveInfinity;
            foreach (Point<PageSpace> foot in feet)
            {
                if (piece.Length > 0 && space.TouchesBox(foot, foot, radius))
                {
                    continue;
                }

                foreach (double reach in new[] { 9.0, 14, 20, 28, 38, 50, 66, 86, 110, 140, 180, 230, 300 })
                {
                    if (reach > least)
                    {
                        break;
                    }

                    for (int k = 0; k < ways; k++)
                    {
                        double angle = 2 * Math.PI * (k + 0.5) / ways;
                        Vector<PageSpace> u = new(Math.Cos(angle), Math.Sin(angle));
                        double begin = piece.Length == 0 ? BeginsAt(foot, u) : 0;
                        Point<PageSpace> head = foot + u * reach;
                        Box<PageSpace> box = Around(head + u * (1.5 + Reach(u, w, h)), w, h);
                        if (
                            reach <= begin
                            || !space.IsFree(box, Gap)
                            || space.TouchesBox(foot + u * Math.Max(begin, 1.5), head, 0.5)
                        )
                        {
                            continue;
                        }

                        // A leader across another line is harder to follow than a longer one.
                        double cost = reach + 25 * space.CountCrossed(foot + u * Math.Max(begin, 3), head, 0.4);
                        if (cost < least)
                        {
                            (best, least) = ((foot, head, box, radius), cost);
                        }
                    }
                }
            }

            return best;
        }

        // How far from a start or an end in direction u its own ring, or a ruler that it lies under, is left behind.
        private double BeginsAt(Point<PageSpace> at, Vector<PageSpace> u)
        {
            double begin = content.Bulky.Any(p => p.DistanceTo(at) < 1e-6) ? BeyondRing : 0;
            foreach (Box<PageSpace> box in taken.Select(b => b.Grown(1.2)).Where(b => b.Holds(at)))
            {
                double across = u.X == 0 ? double.PositiveInfinity : ((u.X > 0 ? box.Right : box.Left) - at.X) / u.X;
                double down = u.Y == 0 ? double.PositiveInfinity : ((u.Y > 0 ? box.Bottom : box.Top) - at.Y) / u.Y;
                begin = Math.Max(begin, Math.Min(across, down));
            }

            return begin;
        }

        private bool LeaderIsClear(Point<PageSpace> from, Point<PageSpace> to) =>
            !space.TouchesBox(from, to, 0.5) && space.CountCrossed(from, to, 0.4) == 0;

        private void SetWords(string text, Box<PageSpace> box, double size, Weight weight, bool leader)
        {
            space.Add(box);
            labels.Add(new(text, box, size, leader));
            above.AddRange(Typesetting.Set(Layer.Numbers, new(box.Left, box.Bottom), text, size, weight, style.Mark));
        }

        private void Note(Edge<PageSpace> edge, double width)
        {
            lines.Add((edge, width));
            space.Add(edge, width);
        }

        // Step by step inside the window: pieces that hang together.
        private IEnumerable<Edge<PageSpace>[]> Chains(IReadOnlyList<Edge<PageSpace>> path)
        {
            List<Edge<PageSpace>> chain = [];
            foreach (Edge<PageSpace> e in path.SelectMany(e => EdgeClipping.Inside(e, window)))
            {
                if (chain.Count > 0 && chain[^1].To.DistanceTo(e.From) > 1e-6)
                {
                    yield return [.. chain];
                    chain.Clear();
                }

                chain.Add(e);
            }

            if (chain.Count > 0)
            {
                yield return [.. chain];
            }
        }

        private static (Point<PageSpace> At, Vector<PageSpace> Along) On(Edge<PageSpace>[] piece, double t)
        {
            double rest = t * piece.Sum(e => e.Length);
            foreach (Edge<PageSpace> e in piece)
            {
                double length = e.Length;
                if (rest <= length && length > 0)
                {
                    return (e.PointAt(rest / length), e.DirectionAt(rest / length));
                }

                rest -= length;
            }

            return (piece[^1].To, piece[^1].EndDirection);
        }

        // Figures and capitals stand on the baseline; the words used here hang no letter below it.
        private static (double Width, double Height) SizeOf(string text, double size) =>
            (Typesetting.Measure(text, size, Weight.Bold), Typeface.CapHeight * size);

        private static Box<PageSpace> Around(Point<PageSpace> middle, double w, double h) =>
            new(middle.X - w / 2, middle.Y - h / 2, middle.X + w / 2, middle.Y + h / 2);

        // From a box's middle to its side of support in direction n: the box clears a line at right angles to n.
        private static double Reach(Vector<PageSpace> n, double w, double h) =>
            Math.Abs(n.X) * w / 2 + Math.Abs(n.Y) * h / 2;
    }
}
