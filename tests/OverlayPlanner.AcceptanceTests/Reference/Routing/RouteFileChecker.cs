using System.Text.Json;

namespace OverlayPlanner.AcceptanceTests.Reference.Routing;

/// <summary>
/// Checks everything that a route file claims from the file alone. It reads the JSON itself and uses nothing of the planner:
/// no type, no geometry, no search.
/// </summary>
/// <remarks>
/// Complaints begin with a code: <c>chain</c>, <c>coordinates</c>, <c>kind</c>, <c>missing</c>, <c>order</c>, <c>measure</c>,
/// <c>crossing</c>, <c>odd</c>, <c>starts</c>, <c>parity</c>, <c>cut</c>, <c>load</c>, <c>bound</c>, <c>optimal</c>,
/// <c>certificate</c>, <c>file</c>.
/// </remarks>
internal sealed class RouteFileChecker
{
    /// <summary>Two sums of the same few hundred lengths in another order differ by less.</summary>
    private const double Tolerance = 1e-6;

    private readonly List<string> complaints = [];
    private readonly Dictionary<string, (double X, double Y)> junctions = [];
    private readonly Dictionary<(double, double), string> junctionAt = [];
    private readonly Dictionary<string, Seam> seams = [];
    private readonly Outline outline;
    private readonly Seams wished;
    private string where = "";

    /// <summary>What the outline's seams were asked to be.</summary>
    public enum Outline
    {
        /// <summary>Left alone.</summary>
        None,

        /// <summary>Stitched in any order.</summary>
        Any,

        /// <summary>Stitched after everything else.</summary>
        Last,
    }

    /// <summary>What the inner seams were asked to be.</summary>
    public enum Seams
    {
        /// <summary>All stitched, nothing added.</summary>
        Alone,

        /// <summary>All stitched, lines may be added.</summary>
        WithLines,

        /// <summary>Not stitched: arcs along them are.</summary>
        Replaced,
    }

    private sealed record Seam(string From, string To, double Bulge, string Role, string? Edge);

    private sealed record Line(string From, string To, double Bulge, double Length, bool Added);

    private sealed record Move(Line Line, bool Forward, string Kind, bool Again);

    private RouteFileChecker(Outline outline, Seams wished)
    {
        this.outline = outline;
        this.wished = wished;
    }

    /// <summary>All complaints about a route file; none where every claim holds.</summary>
    public static IReadOnlyList<string> Check(string json, Outline outline, Seams wished)
    {
        RouteFileChecker checker = new(outline, wished);
        try
        {
            using JsonDocument file = JsonDocument.Parse(json);
            checker.CheckFile(file.RootElement);
        }
        catch (Exception e)
            when (e is JsonException or KeyNotFoundException or InvalidOperationException or FormatException)
        {
            checker.Complain("file", $"{e.Message}");
        }

        return checker.complaints;
    }

    private void Complain(string code, FormattableString what) =>
        complaints.Add($"{code}: {where}{FormattableString.Invariant(what)}");

    private void CheckFile(JsonElement root)
    {
        if (
            root.GetProperty("format").GetString() != "overlayplanner.route"
            || root.GetProperty("version").GetInt32() != 1
        )
        {
            Complain("file", $"not a route of version 1");
        }

        JsonElement map = root.GetProperty("quilt");
        foreach (JsonElement j in map.GetProperty("junctions").EnumerateArray())
        {
            (double, double) at = (j.GetProperty("x").GetDouble(), j.GetProperty("y").GetDouble());
            junctions.Add(j.GetProperty("id").GetString()!, at);
            junctionAt.Add(at, j.GetProperty("id").GetString()!);
        }

        foreach (JsonElement s in map.GetProperty("seams").EnumerateArray())
        {
            seams.Add(
                s.GetProperty("id").GetString()!,
                new(
                    s.GetProperty("from").GetString()!,
                    s.GetProperty("to").GetString()!,
                    s.GetProperty("bulge").GetDouble(),
                    s.GetProperty("role").GetString()!,
                    s.TryGetProperty("edge", out JsonElement e) ? e.GetString() : null
                )
            );
        }

        HashSet<string> names = [];
        foreach (JsonElement c in root.GetProperty("candidates").EnumerateArray())
        {
            where = $"{c.GetProperty("name").GetString()}: ";
            if (!names.Add(where))
            {
                Complain("file", $"two candidates of one name");
            }

            CheckCandidate(c);
        }

        if (names.Count == 0)
        {
            Complain("file", $"no candidates");
        }
    }

    private void CheckCandidate(JsonElement candidate)
    {
        int before = complaints.Count;
        List<List<Move>> runs = ReadRuns(candidate.GetProperty("runs"));
        if (complaints.Count > before)
        {
            // Without a chain of known lines nothing else has a meaning.
            return;
        }

        CheckCover(runs);
        double doubled = CheckMeasures(candidate.GetProperty("measures"), runs);
        CheckProof(candidate.GetProperty("proof"), runs, doubled);
    }

    private List<List<Move>> ReadRuns(JsonElement json)
    {
        List<List<Move>> runs = [];
        Dictionary<(string, string, double), Line> added = [];
        Dictionary<string, Line> along = [];
        HashSet<Line> stitched = new(ReferenceEqualityComparer.Instance);
        foreach (JsonElement run in json.EnumerateArray())
        {
            List<Move> moves = [];
            (double, double)? at = null;
            foreach (JsonElement m in run.GetProperty("moves").EnumerateArray())
            {
                (double X, double Y) from = PointOf(m.GetProperty("from"));
                (double X, double Y) to = PointOf(m.GetProperty("to"));
                double bulge = m.GetProperty("bulge").GetDouble();
                string kind = m.GetProperty("kind").GetString()!;
                if (at is { } here && here != from)
                {
                    Complain("chain", $"a move begins at {from}, the last one ended at {here}");
                }

                at = to;
                if (!junctionAt.TryGetValue(from, out string? a) || !junctionAt.TryGetValue(to, out string? b))
                {
                    Complain("coordinates", $"a move from {from} to {to} does not run from junction to junction");
                    continue;
                }

                Line? line;
                bool forward = true;
                string? id = m.GetProperty("seam").GetString();
                if (id is not null)
                {
                    if (!seams.TryGetValue(id, out Seam? seam))
                    {
                        Complain("coordinates", $"no seam {id}");
                        continue;
                    }

                    forward = seam.From == a && seam.To == b && seam.Bulge.Equals(bulge);
                    if (!forward && !(seam.From == b && seam.To == a && seam.Bulge.Equals(-bulge)))
                    {
                        Complain("coordinates", $"a move does not run along the whole of seam {id}");
                        continue;
                    }

                    if (!along.TryGetValue(id, out line))
                    {
                        along[id] = line = new(seam.From, seam.To, seam.Bulge, LengthOf(from, to, bulge), false);
                    }

                    string first = seam.Role == "edge" ? "frame" : "ditch";
                    if (seam.Edge == "cut")
                    {
                        Complain("kind", $"seam {id} is where the map ends, not to be stitched");
                    }

                    if (kind != (stitched.Contains(line) ? "retrace" : first))
                    {
                        Complain("kind", $"a pass along seam {id} is called {kind}");
                    }
                }
                else
                {
                    forward = string.CompareOrdinal(a, b) < 0 || (a == b && bulge >= 0);
                    (string, string, double) key = forward ? (a, b, bulge) : (b, a, -bulge);
                    if (!added.TryGetValue(key, out line))
                    {
                        added[key] = line = new(key.Item1, key.Item2, key.Item3, LengthOf(from, to, bulge), true);
                    }

                    string first = bulge == 0 ? "line" : "arc";
                    if (kind != (stitched.Contains(line) ? "retrace" : first))
                    {
                        Complain("kind", $"an added line from {a} to {b} is called {kind}");
                    }
                }

                moves.Add(new(line, forward, kind, !stitched.Add(line)));
            }

            if (moves.Count == 0)
            {
                Complain("chain", $"a run without a move");
            }

            runs.Add(moves);
        }

        return runs;
    }

    private void CheckCover(List<List<Move>> runs)
    {
        Dictionary<(string, string, double), int> stitched = [];
        bool frames = false;
        foreach (Move m in runs.SelectMany(r => r).Where(m => !m.Again))
        {
            if (m.Line.Added)
            {
                if (wished == Seams.Alone)
                {
                    Complain("kind", $"a line was added though none was to be");
                }
            }
            else
            {
                (string, string, double) key = (m.Line.From, m.Line.To, m.Line.Bulge);
                stitched[key] = stitched.GetValueOrDefault(key) + 1;
            }

            if (outline == Outline.Last && frames && m.Kind != "frame")
            {
                Complain("order", $"something is stitched after the outline was begun");
            }

            frames |= m.Kind == "frame";
        }

        foreach ((string id, Seam s) in seams)
        {
            bool asked = s.Role == "edge" ? outline != Outline.None && s.Edge != "cut" : wished != Seams.Replaced;
            int times = stitched.GetValueOrDefault((s.From, s.To, s.Bulge));
            if (asked && times == 0)
            {
                Complain("missing", $"seam {id} is not stitched");
            }
            else if (!asked && times > 0)
            {
                Complain("kind", $"seam {id} is stitched and was not to be");
            }
        }
    }

    private double CheckMeasures(JsonElement json, List<List<Move>> runs)
    {
        double doubled = 0;
        double total = 0;
        double added = 0;
        int moves = 0;
        foreach (Move m in runs.SelectMany(r => r))
        {
            moves++;
            total += m.Line.Length;
            doubled += m.Again ? m.Line.Length : 0;
            added += !m.Again && m.Line.Added ? m.Line.Length : 0;
        }

        Whole("starts", runs.Count);
        Whole("moves", moves);
        Inches("doubledInches", doubled);
        Inches("stitchedInches", total);
        Inches("addedInches", added);
        Inches("missedInches", 0);
        List<string> crossings = FindCrossings(runs);
        if (json.GetProperty("crossings").GetInt32() != crossings.Count)
        {
            string at = string.Join(", ", crossings.Take(3));
            Complain("crossing", $"{json.GetProperty("crossings").GetInt32()} claimed, {crossings.Count} found: {at}");
        }

        return doubled;

        void Whole(string name, int expected)
        {
            if (json.GetProperty(name).GetInt32() != expected)
            {
                Complain("measure", $"{name} is {json.GetProperty(name).GetInt32()}, should be {expected}");
            }
        }

        void Inches(string name, double expected)
        {
            if (!(Math.Abs(json.GetProperty(name).GetDouble() - expected) <= Tolerance))
            {
                Complain("measure", $"{name} is {json.GetProperty(name).GetDouble()}, should be {expected}");
            }
        }
    }

    private void CheckProof(JsonElement proof, List<List<Move>> runs, double doubled)
    {
        Line[] lines = [.. runs.SelectMany(r => r).Where(m => !m.Again).Select(m => m.Line)];
        Dictionary<string, int> degree = [];
        Dictionary<string, string> piece = [];
        foreach (Line l in lines)
        {
            degree[l.From] = degree.GetValueOrDefault(l.From) + 1;
            degree[l.To] = degree.GetValueOrDefault(l.To) + 1;
            piece[Root(l.From)] = Root(l.To);
        }

        HashSet<string> odd = [.. degree.Where(d => d.Value % 2 == 1).Select(d => d.Key)];
        if (!odd.SetEquals(proof.GetProperty("oddJunctions").EnumerateArray().Select(e => e.GetString()!)))
        {
            Complain("odd", $"oddJunctions are not the {odd.Count} junctions where an odd number of lines meet");
        }

        Dictionary<string, int> oddIn = degree.Keys.GroupBy(Root).ToDictionary(g => g.Key, g => g.Count(odd.Contains));
        int leastStarts = oddIn.Values.Sum(o => Math.Max(1, o / 2));
        if (proof.GetProperty("leastStarts").GetInt32() != leastStarts)
        {
            Complain(
                "starts",
                $"leastStarts is {proof.GetProperty("leastStarts").GetInt32()}, should be {leastStarts}"
            );
        }

        CheckParity(proof.GetProperty("parity"), oddIn, Root);
        string thread = proof.GetProperty("thread").GetString()!;
        double start = thread == "mixed" ? proof.GetProperty("startInches").GetDouble() : 0;
        double least = proof.GetProperty("leastDoubledInches").GetDouble();
        bool optimal = proof.GetProperty("optimal").GetBoolean();
        bool? isLeastTime = null;
        JsonElement certificate = proof.GetProperty("certificate");
        if (certificate.ValueKind == JsonValueKind.Null)
        {
            Complain("certificate", $"none");
        }
        else
        {
            isLeastTime = CheckCuts(
                certificate.GetProperty("cuts"),
                lines,
                odd,
                oddIn.Keys,
                Root,
                runs.Count,
                doubled,
                least,
                start
            );
        }

        bool least2 = doubled <= least + Tolerance;
        if (least > doubled + Tolerance)
        {
            Complain("bound", $"the least doubled length {least} is more than the route's own {doubled}");
        }

        bool should = thread switch
        {
            "free" => least2 && runs.Count == leastStarts,
            "one" => least2 && runs.Count == oddIn.Count,
            "mixed" => least2 && isLeastTime == true,
            _ => !optimal,
        };
        if (optimal != should)
        {
            Complain("optimal", $"it says {optimal}, the cuts and the counts say {should}");
        }

        string Root(string v)
        {
            while (piece.TryGetValue(v, out string? up) && up != v)
            {
                v = up;
            }

            return v;
        }
    }

    private void CheckParity(JsonElement json, Dictionary<string, int> oddIn, Func<string, string> root)
    {
        HashSet<string> seen = [];
        foreach (JsonElement p in json.EnumerateArray())
        {
            string r = root(p.GetProperty("at").GetString()!);
            int odd = p.GetProperty("odd").GetInt32();
            if (
                !seen.Add(r)
                || !oddIn.TryGetValue(r, out int truly)
                || odd != truly
                || p.GetProperty("starts").GetInt32() != Math.Max(1, odd / 2)
            )
            {
                Complain("parity", $"the piece at {p.GetProperty("at").GetString()} is not as it says");
            }
        }

        if (seen.Count != oddIn.Count)
        {
            Complain("parity", $"{seen.Count} pieces are argued, there are {oddIn.Count}");
        }
    }

    /// <summary>
    /// The bound that the cuts prove: a cut with an odd number of odd junctions inside is left by a doubled line or holds a
    /// thread's end. Returns whether they also prove the least time at this price of a start.
    /// </summary>
    private bool CheckCuts(
        JsonElement json,
        Line[] lines,
        HashSet<string> odd,
        IReadOnlyCollection<string> pieces,
        Func<string, string> root,
        int runs,
        double doubled,
        double least,
        double start
    )
    {
        List<(double Price, string? Piece)> cuts = [];
        List<HashSet<string>> inside = [];
        HashSet<int> used = [];
        Dictionary<string, List<int>> around = [];
        foreach (JsonElement c in json.EnumerateArray())
        {
            double price = c.GetProperty("inches").GetDouble();
            HashSet<string> members = [];
            foreach (JsonElement w in c.GetProperty("within").EnumerateArray())
            {
                int i = w.GetInt32();
                if (i < 0 || i >= inside.Count || !used.Add(i))
                {
                    Complain("cut", $"cut {cuts.Count} names cut {i} within it");
                    return false;
                }

                members.UnionWith(inside[i]);
            }

            foreach (JsonElement j in c.GetProperty("junctions").EnumerateArray())
            {
                if (!members.Add(j.GetString()!))
                {
                    Complain("cut", $"cut {cuts.Count} holds {j.GetString()} twice");
                }
            }

            string[] of = [.. members.Select(root).Distinct()];
            if (!(price > 0 && double.IsFinite(price)) || of.Length != 1 || members.Count(odd.Contains) % 2 != 1)
            {
                Complain("cut", $"cut {cuts.Count} is not a priced odd cut of one piece");
                return false;
            }

            foreach (string v in members)
            {
                if (!around.TryGetValue(v, out List<int>? list))
                {
                    around[v] = list = [];
                }

                list.Add(cuts.Count);
            }

            inside.Add(members);
            cuts.Add((price, of[0]));
        }

        // Prices are shrunk together until no line carries more than its length, so that rounding can't help the claim.
        double shrink = 1;
        foreach (Line l in lines)
        {
            double load = 0;
            foreach (int c in Around(l.From).Except(Around(l.To)).Concat(Around(l.To).Except(Around(l.From))))
            {
                load += cuts[c].Price;
            }

            if (load > l.Length + 1e-7)
            {
                Complain("load", $"the line {l.From}-{l.To} of {l.Length} in carries cuts of {load} in");
                return false;
            }

            shrink = load > l.Length ? Math.Min(shrink, l.Length / load) : shrink;
        }

        double sum = 0;
        double greatest = 0;
        foreach (string p in pieces)
        {
            double end = around
                .Where(a => root(a.Key) == p)
                .Select(a => a.Value.Sum(c => cuts[c].Price))
                .DefaultIfEmpty(0)
                .Max();
            sum += cuts.Where(c => c.Piece == p).Sum(c => c.Price) - 2 * end;
            greatest = Math.Max(greatest, end);
        }

        if (runs < pieces.Count)
        {
            Complain("starts", $"{runs} runs for {pieces.Count} pieces");
        }

        double bound = shrink * (sum - 2 * (runs - pieces.Count) * greatest);
        if (Math.Abs(bound - least) > Tolerance)
        {
            Complain("bound", $"the cuts prove {bound} in, the file says {least}");
        }

        return 2 * greatest <= start + Tolerance
            && runs * start + doubled <= shrink * sum + pieces.Count * start + Tolerance;

        List<int> Around(string v) => around.GetValueOrDefault(v) ?? [];
    }

    /// <summary>Every crossing, by where it is.</summary>
    private List<string> FindCrossings(List<List<Move>> runs)
    {
        List<string> found = [];
        Dictionary<string, List<(End In, End Out)>> passes = [];
        List<Line> lines = [];
        foreach (List<Move> run in runs)
        {
            for (int i = 0; i < run.Count; i++)
            {
                if (!run[i].Again)
                {
                    lines.Add(run[i].Line);
                }

                if (i > 0 && !run[i].Again && !run[i - 1].Again)
                {
                    Move a = run[i - 1];
                    Move b = run[i];
                    string at = b.Forward ? b.Line.From : b.Line.To;
                    if (!passes.TryGetValue(at, out List<(End, End)>? here))
                    {
                        passes[at] = here = [];
                    }

                    here.Add((EndOf(a.Line, !a.Forward), EndOf(b.Line, b.Forward)));
                }
            }
        }

        foreach ((string at, List<(End In, End Out)> here) in passes)
        {
            List<End> ends = [.. here.SelectMany(p => new[] { p.In, p.Out })];
            Dictionary<End, int> rank = Rank(ends);
            for (int i = 0; i < here.Count; i++)
            {
                for (int k = i + 1; k < here.Count; k++)
                {
                    int low = Math.Min(rank[here[i].In], rank[here[i].Out]);
                    int high = Math.Max(rank[here[i].In], rank[here[i].Out]);
                    if (Side(rank[here[k].In]) * Side(rank[here[k].Out]) < 0)
                    {
                        found.Add($"at {at}");
                    }

                    int Side(int r) =>
                        r == low || r == high ? 0
                        : r > low && r < high ? 1
                        : -1;
                }
            }
        }

        for (int i = 0; i < lines.Count; i++)
        {
            for (int k = i + 1; k < lines.Count; k++)
            {
                if (Crossing(lines[i], lines[k]) is { } at)
                {
                    found.Add(FormattableString.Invariant($"near {at.X:0.####},{at.Y:0.####}"));
                }
            }
        }

        return found;
    }

    /// <summary>How a line leaves a junction: its direction, clockwise on the page, and how fast it bends clockwise.</summary>
    private readonly record struct End(double Angle, double Curvature);

    private End EndOf(Line l, bool atFrom)
    {
        (double X, double Y) a = junctions[atFrom ? l.From : l.To];
        (double X, double Y) b = junctions[atFrom ? l.To : l.From];
        double bulge = atFrom ? l.Bulge : -l.Bulge;

        // A positive bulge leaves to the left of the chord, anticlockwise on the page, and bends clockwise from there.
        return new(Math.Atan2(b.Y - a.Y, b.X - a.X) - 2 * Math.Atan(bulge), 4 * Math.Atan(bulge) / l.Length);
    }

    private static Dictionary<End, int> Rank(IEnumerable<End> ends)
    {
        const double Same = 1e-9;
        End[] sorted = [.. ends.Distinct().OrderBy(e => Wrap(e.Angle))];
        List<List<End>> groups = [];
        foreach (End e in sorted)
        {
            if (groups.Count > 0 && Wrap(e.Angle) - Wrap(groups[^1][0].Angle) < Same)
            {
                groups[^1].Add(e);
            }
            else
            {
                groups.Add([e]);
            }
        }

        // Directions just below a full turn are those just above none.
        if (groups.Count > 1 && Wrap(groups[0][0].Angle) + 2 * Math.PI - Wrap(groups[^1][0].Angle) < Same)
        {
            groups[0].AddRange(groups[^1]);
            groups.RemoveAt(groups.Count - 1);
        }

        Dictionary<End, int> rank = [];
        int next = 0;
        foreach (List<End> g in groups)
        {
            double last = double.NegativeInfinity;
            foreach (End e in g.OrderBy(e => e.Curvature))
            {
                next += e.Curvature > last + Same ? 1 : 0;
                last = e.Curvature;
                rank[e] = next;
            }
        }

        return rank;

        static double Wrap(double a)
        {
            double w = a % (2 * Math.PI);
            return w < 0 ? w + 2 * Math.PI : w;
        }
    }

    /// <summary>Where two lines meet transversally away from the ends of both, or null.</summary>
    private (double X, double Y)? Crossing(Line a, Line b)
    {
        const double Near = 1e-6;
        Curve p = CurveOf(a);
        Curve q = CurveOf(b);
        if (p.Left > q.Right || q.Left > p.Right || p.Top > q.Bottom || q.Top > p.Bottom)
        {
            return null;
        }

        foreach ((double X, double Y) x in Meet(p, q))
        {
            if (p.Holds(x, Near) && q.Holds(x, Near))
            {
                return x;
            }
        }

        return null;
    }

    private Curve CurveOf(Line l)
    {
        (double X, double Y) a = junctions[l.From];
        (double X, double Y) b = junctions[l.To];
        if (l.Bulge == 0)
        {
            return new(a, b, 0, default, 0);
        }

        // The sagitta's tip lies to the left of travel as seen on the page: along (dy, −dx) with y down.
        (double X, double Y) d = (b.X - a.X, b.Y - a.Y);
        double chord = Math.Sqrt(d.X * d.X + d.Y * d.Y);
        double radius = chord * (1 + l.Bulge * l.Bulge) / (4 * Math.Abs(l.Bulge));
        double inward = chord * (1 - l.Bulge * l.Bulge) / (4 * l.Bulge);
        (double X, double Y) centre = ((a.X + b.X) / 2 - inward * d.Y / chord, (a.Y + b.Y) / 2 + inward * d.X / chord);
        return new(a, b, radius, centre, l.Bulge);
    }

    private sealed record Curve(
        (double X, double Y) A,
        (double X, double Y) B,
        double Radius,
        (double X, double Y) Centre,
        double Bulge
    )
    {
        // Wide enough for any arc up to a half circle and beyond.
        private double Margin =>
            Bulge == 0 ? 0 : Math.Abs(Bulge) * Distance(A, B) / 2 + (Math.Abs(Bulge) > 1 ? Radius : 0);
        public double Left => Math.Min(A.X, B.X) - Margin;
        public double Right => Math.Max(A.X, B.X) + Margin;
        public double Top => Math.Min(A.Y, B.Y) - Margin;
        public double Bottom => Math.Max(A.Y, B.Y) + Margin;

        /// <summary>True for a point of the whole line or circle that lies on this piece, away from its ends.</summary>
        public bool Holds((double X, double Y) p, double near)
        {
            if (Distance(p, A) <= near || Distance(p, B) <= near)
            {
                return false;
            }

            if (Bulge == 0)
            {
                double along = (p.X - A.X) * (B.X - A.X) + (p.Y - A.Y) * (B.Y - A.Y);
                double whole = (B.X - A.X) * (B.X - A.X) + (B.Y - A.Y) * (B.Y - A.Y);
                return along > 0 && along < whole;
            }

            // The arc lies on the left of its chord where its bulge is positive.
            double left = (B.X - A.X) * (p.Y - A.Y) - (B.Y - A.Y) * (p.X - A.X);
            return Bulge > 0 ? left < 0 : left > 0;
        }
    }

    private static IEnumerable<(double X, double Y)> Meet(Curve p, Curve q)
    {
        // Tangent lines and circles only touch.
        const double Touch = 1e-9;
        if (p.Bulge == 0 && q.Bulge == 0)
        {
            (double X, double Y) d = (p.B.X - p.A.X, p.B.Y - p.A.Y);
            (double X, double Y) e = (q.B.X - q.A.X, q.B.Y - q.A.Y);
            double det = d.X * e.Y - d.Y * e.X;
            if (Math.Abs(det) > Touch)
            {
                double t = ((q.A.X - p.A.X) * e.Y - (q.A.Y - p.A.Y) * e.X) / det;
                yield return (p.A.X + t * d.X, p.A.Y + t * d.Y);
            }
        }
        else if (p.Bulge == 0 || q.Bulge == 0)
        {
            (Curve s, Curve c) = p.Bulge == 0 ? (p, q) : (q, p);
            double length = Distance(s.A, s.B);
            (double X, double Y) d = ((s.B.X - s.A.X) / length, (s.B.Y - s.A.Y) / length);
            double along = (c.Centre.X - s.A.X) * d.X + (c.Centre.Y - s.A.Y) * d.Y;
            double away = (c.Centre.X - s.A.X) * d.Y - (c.Centre.Y - s.A.Y) * d.X;
            double half = c.Radius * c.Radius - away * away;
            if (half > Touch)
            {
                double h = Math.Sqrt(half);
                yield return (s.A.X + (along - h) * d.X, s.A.Y + (along - h) * d.Y);
                yield return (s.A.X + (along + h) * d.X, s.A.Y + (along + h) * d.Y);
            }
        }
        else
        {
            double between = Distance(p.Centre, q.Centre);
            if (between <= Touch)
            {
                yield break;
            }

            double along = (between * between + p.Radius * p.Radius - q.Radius * q.Radius) / (2 * between);
            double half = p.Radius * p.Radius - along * along;
            if (half > Touch)
            {
                double h = Math.Sqrt(half);
                (double X, double Y) d = ((q.Centre.X - p.Centre.X) / between, (q.Centre.Y - p.Centre.Y) / between);
                (double X, double Y) m = (p.Centre.X + along * d.X, p.Centre.Y + along * d.Y);
                yield return (m.X - h * d.Y, m.Y + h * d.X);
                yield return (m.X + h * d.Y, m.Y - h * d.X);
            }
        }
    }

    private static double Distance((double X, double Y) a, (double X, double Y) b) =>
        Math.Sqrt((a.X - b.X) * (a.X - b.X) + (a.Y - b.Y) * (a.Y - b.Y));

    // An arc of bulge b turns by 4 atan b.
    private static double LengthOf((double X, double Y) a, (double X, double Y) b, double bulge)
    {
        double chord = Distance(a, b);
        return bulge == 0
            ? chord
            : 4 * Math.Atan(Math.Abs(bulge)) * chord * (1 + bulge * bulge) / (4 * Math.Abs(bulge));
    }

    private static (double X, double Y) PointOf(JsonElement e) => (e[0].GetDouble(), e[1].GetDouble());
}
