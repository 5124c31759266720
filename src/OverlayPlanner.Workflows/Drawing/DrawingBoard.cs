using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing;
using OverlayPlanner.Routing.Finishing;

namespace OverlayPlanner.Workflows.Drawing;

/// <summary>
/// One block on which a stitching path is drawn by hand: strokes are laid on its seams as they come, points are tapped or reached by
/// arrow keys, moves are wiped back, the rest is finished. All of these end in the same moves. Not for several threads at once.
/// </summary>
public sealed class DrawingBoard
{
    private static int rehearsed;
    private readonly QuiltMap map;
    private readonly BlockLines lines;
    private readonly List<DrawnMove> kept = [];
    private IReadOnlyList<DrawnMove> moves = [];
    private StrokeSnapper? stroke;
    private PathStanding? standing;
    private string? first;
    private bool lifted;

    /// <summary>An empty board.</summary>
    /// <param name="map">The quilt's map.</param>
    /// <param name="block">Id of the block.</param>
    /// <exception cref="InputException">The map has no such block, or it has no seams.</exception>
    public DrawingBoard(QuiltMap map, string block)
    {
        ArgumentNullException.ThrowIfNull(map);
        ArgumentNullException.ThrowIfNull(block);
        this.map = map;
        lines = new(
            map,
            map.FindBlock(block)
                ?? throw new InputException("The quilt has no such block", block, "Choose one of its blocks.")
        );
    }

    /// <summary>The block drawn on.</summary>
    public Block Block => lines.Block;

    /// <summary>The moves in order, those of the stroke that is being drawn included.</summary>
    public IReadOnlyList<DrawnMove> Moves => moves;

    /// <summary>How the path stands.</summary>
    public PathStanding Standing => standing ??= PathStanding.Of(lines, moves);

    /// <summary>Id of the point where the needle is, or null before the first point.</summary>
    public string? Needle => moves.Count > 0 && !lifted ? moves[^1].To : first;

    /// <summary>True where the thread was cut: the next move begins a new one.</summary>
    public bool IsLifted => lifted;

    /// <summary>What the last step could not do, in words, or null.</summary>
    public string? Remark { get; private set; }

    /// <summary>Pen points that the stroke in hand, or the last one, has given.</summary>
    public int StrokePoints { get; private set; }

    /// <summary>
    /// The end of the snapped line of the stroke in hand in order, inches: what may still change and is not among the moves. Its last
    /// piece may end part-way along a seam.
    /// </summary>
    public IReadOnlyList<Edge<ClothSpace>> Snapped =>
        stroke is null ? [] : [.. stroke.Stretches.Select(s => s.Path).TakeLast(StrokeSnapper.MostOpen + 2)];

    internal BlockLines Lines => lines;

    /// <summary>
    /// Draws a few lines on a board that nobody sees, once for the whole program, so that the first stroke of a person is answered
    /// as soon as later ones: code is compiled, and compiled well, only once it has run.
    /// </summary>
    /// <param name="map">A map.</param>
    /// <param name="block">Id of a block with seams.</param>
    public static void Rehearse(QuiltMap map, string block)
    {
        if (Interlocked.Exchange(ref rehearsed, 1) != 0)
        {
            return;
        }

        const int Times = 3;
        const int PointsEach = 40;
        DrawingBoard board = new(map, block);
        foreach (Seam seam in Enumerable.Repeat(board.lines.Map.Seams.Take(8), Times).SelectMany(s => s))
        {
            Edge<ClothSpace> path = map.EdgeOf(seam);
            for (int i = 0; i < PointsEach; i++)
            {
                board.Draw([path.PointAt(i / (PointsEach - 1.0))]);
                _ = BoardPicture.Of(board);
            }

            board.Lift();
        }
    }

    /// <summary>Lays moves that were kept earlier on the empty board.</summary>
    /// <returns>False where one of them does not lie on this map; the board is empty then.</returns>
    public bool Restore(IReadOnlyList<DrawnMove> earlier)
    {
        ArgumentNullException.ThrowIfNull(earlier);
        RubOut();
        bool fits = earlier.All(Fits);
        if (fits)
        {
            kept.AddRange(earlier);
            Show(kept);
        }

        return fits;
    }

    /// <summary>The pen goes down; a stroke that was not lifted is ended first.</summary>
    public void PenDown()
    {
        Lift();
        Remark = null;
        StrokePoints = 0;
        stroke = new(lines);
    }

    /// <summary>The pen goes on.</summary>
    /// <param name="points">
    /// Newest points in order, inches on the cloth; those that are no number or lie far away are counted and passed over.
    /// </param>
    public void Draw(IReadOnlyList<Point<ClothSpace>> points)
    {
        ArgumentNullException.ThrowIfNull(points);
        if (stroke is null)
        {
            PenDown();
        }

        stroke!.Add(points);
        StrokePoints = stroke.Points;
        DrawnStretch[] stretches = [.. stroke.Stretches];

        // The line under the pen counts once it has reached its end.
        bool partly = stretches.Length > 0 && stretches[^1] is { Seam: not null, To: not (0 or 1) };
        Show([.. kept, .. ToMoves(partly ? stretches[..^1] : stretches)]);
    }

    /// <summary>
    /// The pen goes up: a line that was left part-way is whole where more than half of it is drawn, and not there otherwise.
    /// <see cref="Remark"/> says so.
    /// </summary>
    public void Lift()
    {
        if (stroke is null)
        {
            return;
        }

        DrawnStretch[] stretches = [.. stroke.Stretches];
        List<DrawnMove> drawn = ToMoves(stretches);
        Remark = StrokeRemarks.Of(lines, stretches, [.. kept, .. drawn], stroke);
        if (drawn.Count > 0)
        {
            (lifted, first) = (false, null);
        }

        kept.AddRange(drawn);
        stroke = null;
        Show(kept);
    }

    /// <summary>A point is tapped: it is the start where there is none, otherwise the needle goes there.</summary>
    /// <param name="place">Where, inches; the nearest point within an eighth of the block is meant.</param>
    /// <param name="way">On what line.</param>
    public void Tap(Point<ClothSpace> place, TapWay way = TapWay.Seams)
    {
        // The stroke in hand, if any, was the tap itself.
        stroke = null;
        Show(kept);
        Remark = null;
        if (!place.IsFinite || lines.Near(place, lines.Side / 8) is not { } point)
        {
            Remark = "No point is near there. Tap where seams meet.";
            return;
        }

        GoTo(point, way);
    }

    /// <summary>As <see cref="Tap"/>, by the point's id; an id that the block does not have changes nothing.</summary>
    public void GoTo(string point, TapWay way = TapWay.Seams)
    {
        Lift();
        Remark = null;
        if (!lines.Has(point))
        {
            return;
        }

        if (Needle is not { } needle)
        {
            first = point;
            return;
        }

        if (needle == point)
        {
            return;
        }

        bool starts = kept.Count == 0 || lifted;
        IReadOnlyList<DrawnMove>? added =
            way == TapWay.Seams ? lines.WayBetween(needle, point, Stitched()) : Own(needle, point, way);
        if (added is null)
        {
            Remark =
                way == TapWay.Seams
                    ? "No seam leads there. Cut the thread and begin anew, or take a line of your own."
                    : "That line would run over a seam. Go by a point on the way.";
            return;
        }

        kept.AddRange(added.Select((m, i) => m with { Starts = starts && i == 0 }));
        (lifted, first) = (false, null);
        Show(kept);
    }

    /// <summary>The point that an arrow key leads to from a point, or from the top left where that is null.</summary>
    /// <param name="from">Id of the point, or null.</param>
    /// <param name="right">−1 to the left, 1 to the right.</param>
    /// <param name="down">−1 up, 1 down.</param>
    public string? PointToward(string? from, int right, int down) =>
        from is null || !lines.Has(from)
            ? lines.Map.Junctions.MinBy(j => j.Place.X + j.Place.Y)?.Id
            : lines.Toward(from, new(Math.Sign(right), Math.Sign(down)));

    /// <summary>Cuts the thread: the next point begins a new one. Where it is cut already, the thread goes on after all.</summary>
    public void CutOrMend()
    {
        Lift();
        Remark = null;
        first = null;
        lifted = kept.Count > 0 && !lifted;
    }

    /// <summary>Wipes back so that this many moves are left.</summary>
    public void WipeBackTo(int count)
    {
        Lift();
        Remark = null;
        count = Math.Clamp(count, 0, kept.Count);
        first = count == 0 && kept.Count > 0 ? kept[0].From : null;
        lifted = false;
        kept.RemoveRange(count, kept.Count - count);
        Show(kept);
    }

    /// <summary>Wipes the last move back; before the first move it takes the start point away.</summary>
    public void WipeBackOne()
    {
        Lift();
        if (lifted || kept.Count == 0)
        {
            (lifted, first, Remark) = (false, null, null);
            return;
        }

        WipeBackTo(kept.Count - 1);
    }

    /// <summary>Rubs all of it out.</summary>
    public void RubOut()
    {
        stroke = null;
        WipeBackTo(0);
        first = null;
    }

    /// <summary>
    /// Adds the moves that finish what is drawn, over the seams that are left, in the least time (a start against an inch stitched
    /// twice); a thread that is cut begins anew.
    /// </summary>
    /// <param name="cancellation">Looked at now and then; the board is unchanged then.</param>
    public void Finish(CancellationToken cancellation = default)
    {
        Lift();
        Remark = null;
        if (kept.Count == 0 || Standing.IsWhole)
        {
            Remark = kept.Count == 0 ? "Draw at least one line first." : "Nothing is left to stitch.";
            return;
        }

        FinishWishes wishes = new(
            new()
            {
                Lines = LineChoice.Seams,
                Thread = ThreadChoice.Mixed,
                Candidates = 1,
            }
        )
        {
            Needle = lifted ? NeedleThread.Broken : NeedleThread.Whole,
        };
        RouteCandidate whole = RouteFinisher
            .Finish(lines.Map, ToPath(), wishes, cancellation)
            .Route.Candidates.First(c => c.Finish?.Way != FinishWay.Unpick);
        List<DrawnMove> all = [];
        foreach (Run run in whole.Runs)
        {
            for (int i = 0; i < run.Moves.Count; i++)
            {
                Move m = run.Moves[i];
                string from = lines.PointAt(m.Path.From) ?? throw NoPoint();
                string to = lines.PointAt(m.Path.To) ?? throw NoPoint();
                all.Add(new(from, to, m.Seam, m.Path) { Starts = i == 0 });
            }
        }

        kept.AddRange(all.Skip(kept.Count));
        (lifted, first) = (false, null);
        Show(kept);

        static InvalidOperationException NoPoint() => new("A move of a finished path begins and ends at points.");
    }

    /// <summary>The path as a choice of the quilt's routes, with its measures and its proof over the lines that it stitches.</summary>
    /// <param name="name">Its letter.</param>
    /// <exception cref="InputException">Nothing is drawn.</exception>
    public RouteCandidate ToCandidate(string name, CancellationToken cancellation = default)
    {
        Lift();
        if (kept.Count == 0)
        {
            throw new InputException("Nothing is drawn yet", "the path", "Draw at least one line.");
        }

        return DrawnCandidate.Of(map, name, [new(Block.Id, kept)], cancellation);
    }

    /// <summary>The path, laid on every block of the kind that can take it, as one choice of the quilt's routes.</summary>
    /// <param name="name">Its letter.</param>
    /// <param name="kind">The blocks of this board's block's kind.</param>
    /// <exception cref="InputException">Nothing is drawn.</exception>
    public RouteCandidate ToCandidate(string name, SameKind kind, CancellationToken cancellation = default)
    {
        ArgumentNullException.ThrowIfNull(kind);
        Lift();
        return kept.Count == 0
            ? ToCandidate(name, cancellation)
            : DrawnCandidate.Of(map, name, kind.Lay(kept), cancellation);
    }

    /// <summary>What the design of a choice that was drawn by hand begins with.</summary>
    public const string DesignWord = "drawn by hand";

    private bool Fits(DrawnMove m)
    {
        if (!lines.Has(m.From) || !lines.Has(m.To))
        {
            return false;
        }

        Edge<ClothSpace>? there =
            m.Seam is null ? new(lines.PlaceOf(m.From), lines.PlaceOf(m.To), m.Path.Bulge)
            : lines.Map.FindSeam(m.Seam) is { } s ? lines.Along(s, s.From == m.From).Path
            : null;
        return there == m.Path;
    }

    private void Show(IReadOnlyList<DrawnMove> now)
    {
        if (!moves.SequenceEqual(now))
        {
            standing = null;
        }

        moves = [.. now];
    }

    private HashSet<string> Stitched() => [.. kept.Select(m => m.Seam).OfType<string>()];

    private DrawnMove[]? Own(string from, string to, TapWay way)
    {
        Point<ClothSpace> a = lines.PlaceOf(from);
        Point<ClothSpace> b = lines.PlaceOf(to);

        // A quarter inch off the seam in the middle is usual (common practice, no source), less on short lines.
        double chord = a.DistanceTo(b);
        double bulge = 2 * Math.Min(0.25, 0.15 * chord) / chord;
        Edge<ClothSpace> path = new(
            a,
            b,
            way switch
            {
                TapWay.ArcLeft => bulge,
                TapWay.ArcRight => -bulge,
                _ => 0,
            }
        );
        return lines.MayBeAdded(path, kept) ? [new DrawnMove(from, to, null, path)] : null;
    }

    // Whole lines, each from where the last one ended: what a fast hand cut off at a corner is put in, anything farther is a new start.
    private List<DrawnMove> ToMoves(IReadOnlyList<DrawnStretch> stretches)
    {
        List<DrawnMove> found = [];
        string? at = lifted || kept.Count == 0 ? null : kept[^1].To;
        HashSet<string> stitched = Stitched();
        foreach (DrawnStretch s in stretches)
        {
            if (
                lines.WholeLine(s) is not { } move
                || (s.Seam is null && !lines.MayBeAdded(move.Path, [.. kept, .. found]))
                || (found.Count == 0 && GoesOn(s, move))
            )
            {
                continue;
            }

            if (at is not null && at != move.From)
            {
                double gap = lines.PlaceOf(at).DistanceTo(lines.PlaceOf(move.From));
                IReadOnlyList<DrawnMove>? between =
                    found.Count > 0 && gap < 0.35 * lines.Side ? lines.WayBetween(at, move.From, stitched) : null;
                if (between is not null && between.Sum(m => m.Path.Length) <= 1.6 * gap)
                {
                    found.AddRange(between);
                }
                else
                {
                    at = null;
                }
            }

            found.Add(move with { Starts = at is null });
            stitched.UnionWith(found.Select(m => m.Seam).OfType<string>());
            at = move.To;
        }

        return found;
    }

    // The pen was lifted in the middle of a line, which counts whole since, and set down there again.
    private bool GoesOn(DrawnStretch s, DrawnMove move) =>
        !lifted && kept.Count > 0 && kept[^1].Line == move.Line && kept[^1].To == move.To && s.From is not (0 or 1);

    private DrawnPath ToPath() => DrawnCandidate.ThreadsOf(lines.Map, kept);
}
