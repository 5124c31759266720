using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Tests.Routing.Memory;

/// <summary>
/// A finger: it sees the lines of a design on the cloth, is told where to start and which way to face, and does what the call
/// says. It knows docs/CALL.md and nothing of the planner.
/// </summary>
/// <remarks>It fails where what it is told fits no line, or several.</remarks>
internal sealed class CallFollower
{
    private readonly List<Drawn> lines = [];

    /// <param name="quilt">The map.</param>
    /// <param name="candidate">Its moves give the lines; their order is not looked at.</param>
    public CallFollower(QuiltMap quilt, RouteCandidate candidate)
    {
        foreach (Move m in candidate.AllMoves)
        {
            string what = m.Seam is not null
                ? (quilt.SeamOf(m.Seam).Role == SeamRole.Edge ? "outline" : "seam")
                : (m.Path.IsLine ? "line" : "arc");
            if (!lines.Any(l => l.Is(m.Path)))
            {
                lines.Add(new(m.Path, what));
            }
        }
    }

    private sealed record Drawn(Edge<ClothSpace> Path, string What)
    {
        public bool Is(Edge<ClothSpace> p) => Path == p || Path.Reversed == p;
    }

    /// <summary>Travelled pieces of one thread.</summary>
    public IReadOnlyList<Edge<ClothSpace>> Follow(CallThread thread, CallStart start)
    {
        double facing = (int)start.Facing * 45.0;
        List<Told> said = Say(thread.Items);
        Hand hand = new(this, start.At, facing, start.Mirrored);
        foreach (Told t in said)
        {
            hand.Do(t);
        }

        return hand.Travelled;
    }

    // What is to be done: a step, or marks where a part begins and ends that is to be done again.
    private abstract record Told;

    private sealed record Step(CallStep What, bool Mirrored) : Told;

    private sealed record Begin(object Part) : Told;

    private sealed record End(object Part) : Told;

    private sealed record Back(object Part, CallTurn Turn, bool Mirrored, bool Exchanged) : Told;

    private static List<Told> Say(IReadOnlyList<CallItem> items, bool mirrored = false)
    {
        List<Told> said = [];
        foreach (CallItem item in items)
        {
            switch (item)
            {
                case CallStep s:
                    said.Add(new Step(s, mirrored));
                    break;
                case CallRepeat r:
                    for (int i = 0; i < r.Times; i++)
                    {
                        said.AddRange(Say(r.Items, mirrored));
                    }

                    break;
                case CallAgain { Kind: AgainKind.Mirrored } a:
                    said.AddRange(Say(a.Items, mirrored));
                    said.AddRange(Say(a.Between, mirrored));
                    said.AddRange(Say(a.Items, !mirrored));
                    break;
                case CallAgain a:
                    object part = new();
                    said.Add(new Begin(part));
                    said.AddRange(Say(a.Items, mirrored));
                    said.Add(new End(part));
                    said.AddRange(Say(a.Between, mirrored));
                    said.Add(new Back(part, a.Turn!.Value, mirrored, a.Kind == AgainKind.BackwardsMirrored));
                    break;
            }
        }

        return said;
    }

    /// <summary>A hand at work: where it is, which way it looks, what it has done.</summary>
    private sealed class Hand(CallFollower cloth, Point<ClothSpace> at, double facing, bool exchanged)
    {
        private readonly List<(int From, int Count)> steps = [];
        private readonly Dictionary<object, (int From, int To)> parts = [];
        private Point<ClothSpace> at = at;

        // Degrees clockwise from up the page.
        private double facing = facing;

        public List<Edge<ClothSpace>> Travelled { get; } = [];

        public void Do(Told told)
        {
            switch (told)
            {
                case Step s:
                    CallTurn turn = s.What.Turn;
                    Side? bow = s.What.Bow;
                    if (s.Mirrored != exchanged)
                    {
                        (turn, bow) = (Other(turn), Other(bow));
                    }

                    Run(turn, WordOf(s.What.Line), bow, s.What.Pieces);
                    break;
                case Begin b:
                    parts[b.Part] = (steps.Count, steps.Count);
                    break;
                case End e:
                    parts[e.Part] = (parts[e.Part].From, steps.Count);
                    break;
                case Back b:
                    GoBack(b);
                    break;
            }
        }

        // From last to first, as many pieces as it took: each step's own turn is the one by which the step after it was entered, seen the other way.
        // Turns keep their names, so the shape comes out mirrored, unless left and right are exchanged as well.
        private void GoBack(Back b)
        {
            (int from, int to) = parts[b.Part];
            for (int i = to - 1; i >= from; i--)
            {
                (int first, int count) = steps[i];
                Edge<ClothSpace> back = Travelled[first + count - 1].Reversed;
                (CallTurn turn, string what, Side? bow) = cloth.Describe(
                    i == to - 1 ? null : Travelled[steps[i + 1].From].Reversed,
                    back
                );
                if (!b.Exchanged)
                {
                    (turn, bow) = (Other(turn), Other(bow));
                }

                if (i == to - 1)
                {
                    turn = b.Mirrored != exchanged ? Other(b.Turn) : b.Turn;
                }

                Run(turn, what, bow, count);
            }
        }

        private void Run(CallTurn turn, string what, Side? bow, int? pieces)
        {
            Edge<ClothSpace> way = cloth.Find(at, facing, turn, what, bow);
            int from = Travelled.Count;
            Edge<ClothSpace>[] chain = [.. cloth.StraightFrom(way, what)];
            Assert.True(pieces is null || pieces <= chain.Length, "The line ends before so many pieces.");
            int count = pieces ?? chain.Length;
            Travelled.AddRange(chain.Take(count));
            steps.Add((from, count));
            at = Travelled[^1].To;
            facing = DegreesOf(Travelled[^1].EndDirection);
        }
    }

    private static string WordOf(CallLine line) =>
        line switch
        {
            CallLine.Seam => "seam",
            CallLine.Outline => "outline",
            CallLine.Arc => "arc",
            _ => "line",
        };

    private static CallTurn Other(CallTurn t) => new(t.Size, Other(t.Side), t.Pick);

    private static Side? Other(Side? s) =>
        s is null ? null
        : s == Side.Left ? Side.Right
        : Side.Left;

    private static double DegreesOf(Vector<ClothSpace> v) => Math.Atan2(v.X, -v.Y) * 180 / Math.PI;

    // Degrees to the right, −180 to 180.
    private static double TurnOf(double facing, Edge<ClothSpace> into)
    {
        double d = (DegreesOf(into.StartDirection) - facing) % 360;
        return d > 180 ? d - 360
            : d <= -180 ? d + 360
            : d;
    }

    private static TurnSize SizeOf(double degrees) =>
        Math.Abs(degrees) switch
        {
            < 20 => TurnSize.Straight,
            < 65 => TurnSize.Bear,
            < 115 => TurnSize.Turn,
            < 175 => TurnSize.Sharp,
            _ => TurnSize.Back,
        };

    private IEnumerable<(Edge<ClothSpace> Path, string What)> LeavingFrom(Point<ClothSpace> p)
    {
        foreach (Drawn l in lines)
        {
            if (l.Path.From == p)
            {
                yield return (l.Path, l.What);
            }

            if (l.Path.To == p)
            {
                yield return (l.Path.Reversed, l.What);
            }
        }
    }

    private static Side? BowOf(Edge<ClothSpace> e) =>
        e.Bulge == 0 ? null
        : e.Bulge > 0 ? Side.Left
        : Side.Right;

    // The lines that a turn's size, kind and bow fit, those of one side apart, from the least turn to the greatest.
    private List<(Edge<ClothSpace> Path, double Off, Side? Side)> Fitting(
        Point<ClothSpace> p,
        double facing,
        TurnSize size,
        string what,
        Side? bow
    )
    {
        List<(Edge<ClothSpace> Path, double Off, Side? Side)> fit = [];
        foreach ((Edge<ClothSpace> path, string w) in LeavingFrom(p))
        {
            double d = TurnOf(facing, path);
            if (w == what && BowOf(path) == bow && SizeOf(d) == size)
            {
                double off = size == TurnSize.Back ? 180 - Math.Abs(d) : Math.Abs(d);
                fit.Add(
                    (
                        path,
                        off,
                        off < 5e-6 ? null
                        : d > 0 ? Side.Right
                        : Side.Left
                    )
                );
            }
        }

        return [.. fit.OrderBy(f => Math.Round(f.Off, 5)).ThenByDescending(f => f.Path.Radius)];
    }

    private Edge<ClothSpace> Find(Point<ClothSpace> p, double facing, CallTurn turn, string what, Side? bow)
    {
        List<(Edge<ClothSpace> Path, double Off, Side? Side)> fit = Fitting(p, facing, turn.Size, what, bow);
        if (turn.Side is null && fit.Count > 1)
        {
            // No side named: straight on, or back, exactly.
            fit = [.. fit.Where(f => f.Side is null)];
        }
        else if (turn.Side is not null)
        {
            fit = [.. fit.Where(f => f.Side == turn.Side)];
        }

        Assert.True(fit.Count > turn.Pick, $"At {p}: no {what} lies {turn}.");
        return fit[turn.Pick].Path;
    }

    /// <summary>How a step reads: the same rules from the other end.</summary>
    private (CallTurn Turn, string What, Side? Bow) Describe(Edge<ClothSpace>? before, Edge<ClothSpace> into)
    {
        string what = lines.First(l => l.Is(into)).What;
        Side? bow = BowOf(into);
        if (before is not { } b)
        {
            return (default, what, bow);
        }

        double facing = DegreesOf(b.EndDirection);
        TurnSize size = SizeOf(TurnOf(facing, into));
        List<(Edge<ClothSpace> Path, double Off, Side? Side)> fit = Fitting(into.From, facing, size, what, bow);
        bool sided = size is TurnSize.Bear or TurnSize.Turn or TurnSize.Sharp;
        Side? side = fit.First(f => f.Path == into).Side;
        if (!sided && fit.Count == 1)
        {
            return (new(size, null, 0), what, bow);
        }

        int pick = fit.Where(f => f.Side == side).Select(f => f.Path).ToList().IndexOf(into);
        return (new(size, side, pick), what, bow);
    }

    // The pieces that run straight on, two degrees of bend allowed, against the first of them too.
    private IEnumerable<Edge<ClothSpace>> StraightFrom(Edge<ClothSpace> first, string what)
    {
        Edge<ClothSpace> last = first;
        HashSet<Edge<ClothSpace>> seen = [];
        while (seen.Add(last))
        {
            yield return last;
            if (!last.IsLine)
            {
                yield break;
            }

            Edge<ClothSpace>[] on =
            [
                .. LeavingFrom(last.To)
                    .Where(l => l.What == what && l.Path.IsLine && l.Path != last.Reversed)
                    .Select(l => l.Path)
                    .Where(p => Math.Abs(TurnOf(DegreesOf(last.EndDirection), p)) <= 2.000001)
                    .Where(p => Math.Abs(TurnOf(DegreesOf(last.To - first.From), p)) <= 2.000001)
                    .OrderBy(p => Math.Abs(TurnOf(DegreesOf(last.EndDirection), p))),
            ];
            if (on.Length == 0)
            {
                yield break;
            }

            last = on[0];
        }
    }
}
