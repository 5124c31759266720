using System.Diagnostics;
using Google.OrTools.LinearSolver;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Routing.Parity;

/// <summary>One rural postman problem being solved; see <see cref="RuralPostman"/>.</summary>
internal sealed class RuralSearch
{
    private const double Violated = 1e-4;
    private const int MostCutsARound = 250;
    private const int MostRounds = 400;
    private const int Tail = 10;

    private readonly int n;
    private readonly IReadOnlyList<RuralLine> lines;
    private readonly TimeSpan limit;
    private readonly CancellationToken cancellation;
    private readonly Stopwatch watch = Stopwatch.StartNew();

    private readonly double required;
    private readonly double grain;
    private readonly bool[] isOdd;
    private readonly int[] piece;
    private readonly int pieces;

    // Lines that may be travelled again or between pieces: none that a cheaper way replaces.
    private readonly int[] open;
    private readonly HashSet<string> known = [];
    private readonly List<Cut> cuts = [];

    private double bound;
    private double best = double.PositiveInfinity;
    private int[] bestTimes = [];
    private int relaxed;

    private sealed record Cut(int[] Open, double Least);

    public RuralSearch(int junctions, IReadOnlyList<RuralLine> lines, TimeSpan limit, CancellationToken cancellation)
    {
        n = junctions;
        this.lines = lines;
        this.limit = limit;
        this.cancellation = cancellation;
        required = lines.Where(l => l.IsRequired).Sum(l => l.Cost);

        // Where all costs are whole, or quarters, or hundredths, so is every walk's, and a bound rounds up.
        grain = new[] { 1, 0.25, 0.01 }.FirstOrDefault(g =>
            lines.All(l => Math.Abs(l.Cost / g - Math.Round(l.Cost / g)) < 1e-9)
        );
        isOdd = new bool[n];
        int[] root = [.. Enumerable.Range(0, n)];
        bool[] asked = new bool[n];
        foreach (RuralLine l in lines.Where(l => l.IsRequired))
        {
            isOdd[l.From] ^= true;
            isOdd[l.To] ^= true;
            asked[l.From] = asked[l.To] = true;
            root[Find(root, l.From)] = Find(root, l.To);
        }

        piece = new int[n];
        Dictionary<int, int> number = [];
        for (int v = 0; v < n; v++)
        {
            piece[v] =
                !asked[v] ? -1
                : number.TryGetValue(Find(root, v), out int p) ? p
                : number[Find(root, v)] = number.Count;
        }

        pieces = number.Count;
        open = KeepUseful();
        RequireReachable();
    }

    private bool IsOver => watch.Elapsed >= limit;

    public RuralWalk Run()
    {
        if (pieces == 1)
        {
            Offer([]);
            bound = best;
        }
        else
        {
            Offer(Connect(e => lines[e].Cost));
            double[] x = Relax(out double[] reduced);
            if (!IsProven)
            {
                Branch(x, reduced);
            }
        }

        return new(Walk(), best, Math.Min(bound, best));
    }

    private bool IsProven => best <= bound + 1e-6;

    private static int Find(int[] root, int v)
    {
        while (root[v] != v)
        {
            v = root[v] = root[root[v]];
        }

        return v;
    }

    // The cheapest of parallel lines, and only where no cheaper way leads from end to end.
    private int[] KeepUseful()
    {
        Dictionary<(int, int), int> cheapest = [];
        for (int e = 0; e < lines.Count; e++)
        {
            RuralLine l = lines[e];
            (int, int) key = (Math.Min(l.From, l.To), Math.Max(l.From, l.To));
            if (l.From != l.To && (!cheapest.TryGetValue(key, out int other) || l.Cost < lines[other].Cost))
            {
                cheapest[key] = e;
            }
        }

        List<(int To, double Cost)>[] around = [.. Enumerable.Range(0, n).Select(_ => new List<(int, double)>())];
        foreach (int e in cheapest.Values)
        {
            around[lines[e].From].Add((lines[e].To, lines[e].Cost));
            around[lines[e].To].Add((lines[e].From, lines[e].Cost));
        }

        HashSet<int> useful = [.. cheapest.Values];
        double[] distance = new double[n];
        foreach (IGrouping<int, int> from in cheapest.Values.GroupBy(e => lines[e].From))
        {
            Array.Fill(distance, double.PositiveInfinity);
            double farthest = from.Max(e => lines[e].Cost);
            PriorityQueue<int, double> queue = new();
            distance[from.Key] = 0;
            queue.Enqueue(from.Key, 0);
            while (queue.TryDequeue(out int v, out double d))
            {
                if (d > distance[v] || d > farthest)
                {
                    continue;
                }

                foreach ((int w, double c) in around[v])
                {
                    if (d + c < distance[w])
                    {
                        distance[w] = d + c;
                        queue.Enqueue(w, d + c);
                    }
                }
            }

            useful.ExceptWith(from.Where(e => distance[lines[e].To] < lines[e].Cost - 1e-9));
        }

        return [.. useful.Order()];
    }

    private void RequireReachable()
    {
        int[] root = [.. Enumerable.Range(0, n)];
        foreach (RuralLine l in lines)
        {
            root[Find(root, l.From)] = Find(root, l.To);
        }

        if (Enumerable.Range(0, n).Where(v => piece[v] >= 0).Select(v => Find(root, v)).Distinct().Count() > 1)
        {
            throw new InputException(
                "Some required lines can't be reached from others",
                "the lines",
                "Add lines that join them, or solve each part alone."
            );
        }
    }

    /// <summary>A tree of lines, least at these weights, that joins all pieces; dead ends cut off.</summary>
    private List<int> Connect(Func<int, double> weight, IEnumerable<int>? among = null)
    {
        int[] root = [.. Enumerable.Range(0, n)];
        int[] first = new int[pieces];
        Array.Fill(first, -1);
        for (int v = 0; v < n; v++)
        {
            if (piece[v] >= 0)
            {
                first[piece[v]] = first[piece[v]] < 0 ? v : first[piece[v]];
                root[Find(root, v)] = Find(root, first[piece[v]]);
            }
        }

        List<int> tree = [];
        foreach (int e in (among ?? open).OrderBy(weight).ThenBy(e => lines[e].Cost))
        {
            int a = Find(root, lines[e].From);
            int b = Find(root, lines[e].To);
            if (a != b)
            {
                root[a] = b;
                tree.Add(e);
            }
        }

        // A junction that nothing required meets is no place to end.
        int[] degree = new int[n];
        foreach (int e in tree)
        {
            degree[lines[e].From]++;
            degree[lines[e].To]++;
        }

        for (bool changed = true; changed; )
        {
            changed = false;
            for (int i = tree.Count - 1; i >= 0; i--)
            {
                (int a, int b) = (lines[tree[i]].From, lines[tree[i]].To);
                if ((degree[a] == 1 && piece[a] < 0) || (degree[b] == 1 && piece[b] < 0))
                {
                    degree[a]--;
                    degree[b]--;
                    tree.RemoveAt(i);
                    changed = true;
                }
            }
        }

        return tree;
    }

    /// <summary>
    /// The walk over these joining lines: the least T-join makes it closed. Joining lines are then chosen anew among those
    /// travelled, as long as that helps.
    /// </summary>
    private void Offer(List<int> joining)
    {
        for (int round = 0; round < 8; round++)
        {
            List<(int, int, double)> all = [.. lines.Select(l => (l.From, l.To, l.Cost))];
            HashSet<int> optional = [.. Enumerable.Range(0, lines.Count).Where(e => !lines[e].IsRequired)];
            foreach (int e in joining)
            {
                all.Add((lines[e].From, lines[e].To, lines[e].Cost));
            }

            LineNetwork network = new(n, all, optional);
            int home = Enumerable.Range(0, n).First(v => network.PieceOf(v) == 0);
            Doubling least = new LeastDoubling(network, null, cancellation).For(ThreadChoice.One, home, home, 0);
            int[] times = new int[lines.Count];
            foreach (int e in least.Doubled)
            {
                times[e < lines.Count ? e : joining[e - lines.Count]]++;
            }

            foreach (int e in joining)
            {
                times[e]++;
            }

            DropPairs(times);
            double cost = required;
            for (int e = 0; e < lines.Count; e++)
            {
                cost += times[e] * lines[e].Cost;
            }

            if (cost < best - 1e-9)
            {
                best = cost;
                bestTimes = times;
            }

            if (pieces == 1)
            {
                return;
            }

            List<int> again = Connect(e => -lines[e].Cost, Enumerable.Range(0, lines.Count).Where(e => times[e] > 0));
            if (again.Count == joining.Count && !again.Except(joining).Any())
            {
                return;
            }

            joining = again;
        }
    }

    // Twice there and back is never needed, and once only where nothing else joins the two sides.
    private void DropPairs(int[] times)
    {
        for (int e = 0; e < times.Length; e++)
        {
            times[e] = times[e] > 2 ? 2 - times[e] % 2 : times[e];
        }

        foreach (
            int e in Enumerable.Range(0, times.Length).Where(e => times[e] == 2).OrderByDescending(e => lines[e].Cost)
        )
        {
            times[e] = 0;
            if (!IsJoined(times))
            {
                times[e] = 2;
            }
        }
    }

    private bool IsJoined(int[] times)
    {
        int[] root = [.. Enumerable.Range(0, n)];
        for (int e = 0; e < lines.Count; e++)
        {
            if (times[e] > 0 || lines[e].IsRequired)
            {
                root[Find(root, lines[e].From)] = Find(root, lines[e].To);
            }
        }

        int one = -1;
        for (int v = 0; v < n; v++)
        {
            if (piece[v] >= 0)
            {
                one = one < 0 ? Find(root, v) : one;
                if (Find(root, v) != one)
                {
                    return false;
                }
            }
        }

        // A closed trip away from everything required would be dropped too, but can't arise from a least T-join.
        return true;
    }

    /// <summary>The linear relaxation with cuts found exactly.</summary>
    private double[] Relax(out double[] reduced)
    {
        using Solver solver = Solver.CreateSolver("GLOP");
        Variable[] variables = [.. open.Select((_, i) => solver.MakeNumVar(0, 2, ""))];
        Objective objective = solver.Objective();
        for (int i = 0; i < open.Length; i++)
        {
            objective.SetCoefficient(variables[i], lines[open[i]].Cost);
        }

        objective.SetMinimization();
        for (int p = 0; p < pieces; p++)
        {
            AddCut([.. piece.Select(q => q == p)], 2);
        }

        for (int v = 0; v < n; v++)
        {
            if (isOdd[v])
            {
                bool[] alone = new bool[n];
                alone[v] = true;
                AddCut(alone, 1);
            }
        }

        int added = 0;
        double[] x = new double[open.Length];
        reduced = new double[open.Length];
        List<double> values = [];
        for (int round = 0; round < MostRounds && !IsOver; round++)
        {
            cancellation.ThrowIfCancellationRequested();
            for (; added < cuts.Count; added++)
            {
                Constraint row = solver.MakeConstraint(cuts[added].Least, double.PositiveInfinity);
                foreach (int i in cuts[added].Open)
                {
                    row.SetCoefficient(variables[i], 1);
                }
            }

            if (solver.Solve() != Solver.ResultStatus.OPTIMAL)
            {
                break;
            }

            for (int i = 0; i < open.Length; i++)
            {
                x[i] = variables[i].SolutionValue();
                reduced[i] = variables[i].ReducedCost();
            }

            // A basic solution is optimal to the solver's tolerance; what could be missing is far below a millionth.
            Raise(required + objective.Value());
            if (round % 4 == 0)
            {
                Follow(x, 0);
            }

            // The last thousandths take the longest, and the integer programs gain them sooner.
            values.Add(required + objective.Value());
            if (round >= Tail && values[^1] - values[^Tail] < 5e-5 * values[^1])
            {
                break;
            }

            int before = cuts.Count;
            Separate(x, Everything.No);
            if (cuts.Count == before)
            {
                Separate(x, Everything.Yes);
            }

            if (cuts.Count == before || IsProven)
            {
                break;
            }
        }

        Follow(x, 0);
        return x;
    }

    // Within the linear solver's tolerance of a whole number counts as that number.
    private void Raise(double value) =>
        bound = Math.Max(
            bound,
            grain > 0 ? grain * Math.Ceiling(value / grain - 1e-4) : value - 1e-6 * (1 + Math.Abs(value))
        );

    // Joining lines where the relaxation puts much; with some noise from the second call on.
    private void Follow(double[] x, int turn)
    {
        Random random = new(turn);
        double[] weight = new double[lines.Count];
        Array.Fill(weight, double.PositiveInfinity);
        for (int i = 0; i < open.Length; i++)
        {
            double share = Math.Min(1, x[i]);
            double noise = turn == 0 ? 1 : 0.5 + random.NextDouble();
            weight[open[i]] = lines[open[i]].Cost * (1.001 - share) * noise;
        }

        Offer(Connect(e => weight[e]));
    }

    private void AddCut(bool[] inside, double least)
    {
        List<int> crossing = [];
        for (int i = 0; i < open.Length; i++)
        {
            if (inside[lines[open[i]].From] != inside[lines[open[i]].To])
            {
                crossing.Add(i);
            }
        }

        if (crossing.Count > 0 && known.Add(string.Join(',', crossing)))
        {
            cuts.Add(new([.. crossing], least));
        }
    }

    private enum Everything
    {
        No,
        Yes,
    }

    /// <summary>Adds cuts that x breaks: from parts at thresholds, or all least cuts of the cut trees.</summary>
    private void Separate(double[] x, Everything everything)
    {
        int before = cuts.Count;
        if (everything == Everything.No)
        {
            foreach (double above in new[] { 1e-6, 0.3, 0.6 })
            {
                CutParts(x, above, joinPieces: true);
                CutParts(x, above, joinPieces: false);
            }

            return;
        }

        CutTree(x, joinPieces: true, before);
        CutTree(x, joinPieces: false, before);
    }

    private void CutParts(double[] x, double above, bool joinPieces)
    {
        int[] root = Merge(x, above, joinPieces);
        Dictionary<int, double> load = [];
        Dictionary<int, bool> odd = [];
        Dictionary<int, bool> holds = [];
        for (int v = 0; v < n; v++)
        {
            int r = Find(root, v);
            odd[r] = odd.GetValueOrDefault(r) ^ isOdd[v];
            holds[r] = holds.GetValueOrDefault(r) || piece[v] >= 0;
        }

        for (int i = 0; i < open.Length; i++)
        {
            int a = Find(root, lines[open[i]].From);
            int b = Find(root, lines[open[i]].To);
            if (a != b)
            {
                load[a] = load.GetValueOrDefault(a) + x[i];
                load[b] = load.GetValueOrDefault(b) + x[i];
            }
        }

        int parts = holds.Count(h => h.Value);
        foreach (int r in holds.Keys)
        {
            double least =
                joinPieces ? (holds[r] && parts > 1 ? 2 : 0)
                : odd[r] ? 1
                : 0;
            if (load.GetValueOrDefault(r) < least - Violated)
            {
                AddCut([.. Enumerable.Range(0, n).Select(v => Find(root, v) == r)], least);
            }
        }
    }

    private int[] Merge(double[] x, double above, bool joinPieces)
    {
        int[] root = [.. Enumerable.Range(0, n)];
        if (joinPieces)
        {
            int[] first = new int[pieces];
            Array.Fill(first, -1);
            for (int v = 0; v < n; v++)
            {
                if (piece[v] >= 0)
                {
                    first[piece[v]] = first[piece[v]] < 0 ? v : first[piece[v]];
                    root[Find(root, v)] = Find(root, first[piece[v]]);
                }
            }
        }

        for (int i = 0; i < open.Length; i++)
        {
            if (x[i] > above)
            {
                root[Find(root, lines[open[i]].From)] = Find(root, lines[open[i]].To);
            }
        }

        return root;
    }

    private void CutTree(double[] x, bool joinPieces, int before)
    {
        // No cut that is wanted runs through a line of full value.
        int[] root = Merge(x, joinPieces ? 2 - Violated : 1 - Violated, joinPieces);
        Dictionary<int, int> node = [];
        int[] nodeOf = new int[n];
        for (int v = 0; v < n; v++)
        {
            int r = Find(root, v);
            nodeOf[v] = node.TryGetValue(r, out int k) ? k : node[r] = node.Count;
        }

        Dictionary<(int, int), double> between = [];
        for (int i = 0; i < open.Length; i++)
        {
            int a = nodeOf[lines[open[i]].From];
            int b = nodeOf[lines[open[i]].To];
            if (a != b && x[i] > 1e-9)
            {
                (int, int) key = (Math.Min(a, b), Math.Max(a, b));
                between[key] = between.GetValueOrDefault(key) + x[i];
            }
        }

        bool[] odd = new bool[node.Count];
        int[] holds = new int[node.Count];
        for (int v = 0; v < n; v++)
        {
            odd[nodeOf[v]] ^= isOdd[v];
            holds[nodeOf[v]] += piece[v] >= 0 ? 1 : 0;
        }

        LeastCut cut = new(node.Count, [.. between.Select(p => (p.Key.Item1, p.Key.Item2, p.Value))]);
        (int[] parent, double[] value) = cut.Tree();

        // Children after parents, so that sums below a tree edge are one sweep.
        List<int>[] below = [.. Enumerable.Range(0, node.Count).Select(_ => new List<int>())];
        for (int s = 1; s < node.Count; s++)
        {
            below[parent[s]].Add(s);
        }

        List<int> order = [0];
        for (int i = 0; i < order.Count; i++)
        {
            order.AddRange(below[order[i]]);
        }

        bool[] oddBelow = [.. odd];
        int[] holdsBelow = [.. holds];
        int all = holdsBelow.Sum();
        foreach (int s in order.AsEnumerable().Reverse().Where(s => s != 0))
        {
            oddBelow[parent[s]] ^= oddBelow[s];
            holdsBelow[parent[s]] += holdsBelow[s];
        }

        foreach (int s in order.Where(s => s != 0).OrderBy(s => value[s]))
        {
            double least =
                joinPieces ? (holdsBelow[s] > 0 && holdsBelow[s] < all ? 2 : 0)
                : oddBelow[s] ? 1
                : 0;
            if (value[s] < least - Violated && cuts.Count < before + MostCutsARound)
            {
                HashSet<int> inside = [];
                Stack<int> todo = new([s]);
                while (todo.TryPop(out int k))
                {
                    inside.Add(k);
                    foreach (int b in below[k])
                    {
                        todo.Push(b);
                    }
                }

                AddCut([.. nodeOf.Select(inside.Contains)], least);
            }
        }
    }

    /// <summary>
    /// Integer programs, each with the cuts that the last one broke: over the lines of least reduced cost for a better walk,
    /// then over all that can still matter, for the bound too.
    /// </summary>
    private void Branch(double[] x, double[] reduced)
    {
        double root = bound;
        relaxed = cuts.Count;
        for (int turn = 1; turn <= 12 && !IsOver && !IsProven; turn++)
        {
            Follow(x, turn);
        }

        double start = watch.Elapsed.TotalSeconds;
        double whole = limit.TotalSeconds - start;
        foreach ((double share, double part) in new[] { (0, 0.25), (0.05, 0.45), (0.3, 0.7), (1, 0.96) })
        {
            // The first looks take a fifth and two fifths of the time at most.
            double until =
                start
                + whole
                    * (
                        share < 0.2 ? 0.2
                        : share < 1 ? 0.6
                        : 0.97
                    );
            while (!IsProven && watch.Elapsed.TotalSeconds < until)
            {
                cancellation.ThrowIfCancellationRequested();

                // A line whose reduced cost alone takes the bound past the best walk is in no better one.
                int[] kept =
                [
                    .. Enumerable
                        .Range(0, open.Length)
                        .Where(i => reduced[i] <= share * (best - root + 1) || x[i] > 1e-6 || bestTimes[open[i]] > 0),
                ];
                if (
                    !Solve(
                        x,
                        kept,
                        until - watch.Elapsed.TotalSeconds,
                        share < 1 ? Meaning.WalkAlone : Meaning.BoundToo
                    )
                )
                {
                    break;
                }
            }
        }
    }

    private enum Meaning
    {
        WalkAlone,
        BoundToo,
    }

    /// <summary>One integer program over the kept lines; true where it broke cuts, so that another makes sense.</summary>
    private bool Solve(double[] x, int[] kept, double seconds, Meaning meaning)
    {
        using Solver solver = Solver.CreateSolver("SCIP");
        Dictionary<int, Variable> variables = kept.ToDictionary(i => i, i => solver.MakeIntVar(0, 2, ""));
        foreach ((int i, Variable v) in variables)
        {
            solver.Objective().SetCoefficient(v, lines[open[i]].Cost);
        }

        solver.Objective().SetMinimization();

        // Passes at a junction are even in all: twice a whole number, and one more where the required lines are odd.
        Constraint[] even =
        [
            .. Enumerable.Range(0, n).Select(v => solver.MakeConstraint(isOdd[v] ? 1 : 0, isOdd[v] ? 1 : 0)),
        ];
        Variable[] halves = [.. even.Select(_ => solver.MakeIntVar(0, n, ""))];
        for (int v = 0; v < n; v++)
        {
            even[v].SetCoefficient(halves[v], -2);
        }

        foreach ((int i, Variable v) in variables)
        {
            even[lines[open[i]].From].SetCoefficient(v, 1);
            even[lines[open[i]].To].SetCoefficient(v, 1);
        }

        // Cuts that the relaxation is far from would only slow the search.
        foreach (Cut c in cuts.Where((c, k) => k >= relaxed || c.Open.Sum(i => x[i]) < c.Least + 0.5))
        {
            Constraint row = solver.MakeConstraint(c.Least, double.PositiveInfinity);
            foreach (int i in c.Open)
            {
                if (variables.TryGetValue(i, out Variable? v))
                {
                    row.SetCoefficient(v, 1);
                }
            }
        }

        // The best walk so far is a place to start from.
        int[] passes = new int[n];
        foreach (int e in Enumerable.Range(0, lines.Count).Where(e => bestTimes[e] > 0))
        {
            passes[lines[e].From] += bestTimes[e];
            passes[lines[e].To] += bestTimes[e];
        }

        solver.SetHint(
            [.. kept.Select(i => variables[i]), .. halves],
            [
                .. kept.Select(i => (double)bestTimes[open[i]]),
                .. Enumerable.Range(0, n).Select(v => (passes[v] - (isOdd[v] ? 1.0 : 0)) / 2),
            ]
        );
        solver.SetTimeLimit((long)(1000 * Math.Max(0.2, seconds)));
        Solver.ResultStatus status = solver.Solve();
        if (status is not (Solver.ResultStatus.OPTIMAL or Solver.ResultStatus.FEASIBLE))
        {
            if (status == Solver.ResultStatus.INFEASIBLE && meaning == Meaning.BoundToo)
            {
                // Nothing better is left among the kept lines.
                Raise(best);
            }

            return false;
        }

        if (meaning == Meaning.BoundToo)
        {
            // Lines left out cost more than the best walk allows, so the bound holds up to that.
            Raise(Math.Min(best, required + solver.Objective().BestBound()));
        }

        double[] y = new double[open.Length];
        foreach ((int i, Variable v) in variables)
        {
            y[i] = Math.Round(v.SolutionValue());
        }

        for (int turn = 0; turn < 6; turn++)
        {
            Follow(y, turn);
        }

        int before = cuts.Count;
        CutParts(y, 0.5, joinPieces: true);
        return cuts.Count > before;
    }

    // Hierholzer: a closed trail over every required line and every repetition.
    private List<(int Line, bool Forward)> Walk()
    {
        List<(int Line, int Other, bool Forward)>[] around =
        [
            .. Enumerable.Range(0, n).Select(_ => new List<(int, int, bool)>()),
        ];
        List<int> lineOf = [];
        for (int e = 0; e < lines.Count; e++)
        {
            int passes = (lines[e].IsRequired ? 1 : 0) + bestTimes[e];
            for (int k = 0; k < passes; k++)
            {
                around[lines[e].From].Add((lineOf.Count, lines[e].To, true));
                around[lines[e].To].Add((lineOf.Count, lines[e].From, false));
                lineOf.Add(e);
            }
        }

        bool[] used = new bool[lineOf.Count];
        int[] next = new int[n];
        Stack<(int At, int Pass, bool Forward)> way = new();
        List<(int, bool)> steps = [];
        way.Push((Enumerable.Range(0, n).First(v => piece[v] >= 0), -1, true));
        while (way.Count > 0)
        {
            (int at, int pass, bool forward) = way.Peek();
            while (next[at] < around[at].Count && used[around[at][next[at]].Line])
            {
                next[at]++;
            }

            if (next[at] == around[at].Count)
            {
                way.Pop();
                if (pass >= 0)
                {
                    steps.Add((lineOf[pass], forward));
                }
            }
            else
            {
                (int line, int other, bool along) = around[at][next[at]];
                used[line] = true;
                way.Push((other, line, along));
            }
        }

        steps.Reverse();
        return steps;
    }
}
