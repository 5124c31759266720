using System.Globalization;
using System.Text.Json;
using System.Text.Json.Nodes;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Parity;

namespace OverlayPlanner.Routing;

/// <summary>
/// The points at a raw outer edge where a thread may run off the top, into what the binding or the trimming takes: its end
/// needs no tail there.
/// </summary>
/// <remarks>
/// A point counts where a seam of the outline with a raw edge meets it and where both it and the place beside it, off the top,
/// lie at least the clamps' clearance from the left and the right side, where the clamps hold the backing.
/// </remarks>
internal sealed class RawEdge
{
    private readonly Dictionary<int, Point<ClothSpace>> off = [];

    /// <summary>Finds the points.</summary>
    public RawEdge(QuiltMap map, RouteWishes wishes)
    {
        if (!(wishes.RawEnds > Length.Zero))
        {
            return;
        }

        Dictionary<string, int> index = [];
        for (int v = 0; v < map.Junctions.Count; v++)
        {
            index[map.Junctions[v].Id] = v;
        }

        Point<ClothSpace> middle = new(map.Width.Inches / 2, map.Height.Inches / 2);
        Dictionary<int, Vector<ClothSpace>> outward = [];
        foreach (Seam s in map.Seams.Where(s => s is { Role: SeamRole.Edge, Edge: EdgeKind.Raw }))
        {
            Edge<ClothSpace> e = map.EdgeOf(s);
            Vector<ClothSpace> along = e.To - e.From;
            Vector<ClothSpace> across = along.TurnedLeft.Unit;
            if ((e.PointAt(0.5) - middle).Dot(across) < 0)
            {
                across = -across;
            }

            foreach (string end in new[] { s.From, s.To })
            {
                outward[index[end]] = outward.TryGetValue(index[end], out Vector<ClothSpace> known)
                    ? known + across
                    : across;
            }
        }

        double clear = wishes.ClampClearance.Inches;
        foreach ((int v, Vector<ClothSpace> way) in outward)
        {
            Point<ClothSpace> at = map.Junctions[v].Place;
            Point<ClothSpace> beside = at + way.Unit * wishes.RawEnds.Inches;
            if (IsClear(at) && IsClear(beside))
            {
                off[v] = beside;
            }
        }

        bool IsClear(Point<ClothSpace> p) =>
            clear <= 0 || (p.X >= clear - 1e-9 && p.X <= map.Width.Inches - clear + 1e-9);
    }

    /// <summary>Refuses impossible wishes.</summary>
    /// <exception cref="InputException">A length or a price is out of range.</exception>
    public static void Require(RouteWishes w)
    {
        if (!(w.RawEnds.Inches is >= 0 and <= 4))
        {
            throw new InputException(
                "Threads run from 0 to 4 in off a raw edge",
                "--raw-ends",
                "1/2 in is usual; 0 for never."
            );
        }

        if (!(w.ClampClearance.Inches is >= 0 and <= 100))
        {
            throw new InputException(
                "The clamps' clearance must be from 0 to 100 in",
                "--clamps",
                "3 in is usual; 0 where none are on."
            );
        }
    }

    /// <summary>True where no point of the map lets a thread off the top.</summary>
    public bool IsEmpty => off.Count == 0;

    /// <summary>True where a thread may run off the top.</summary>
    public bool Frees(int junction) => off.ContainsKey(junction);

    /// <summary>
    /// Fewest thread ends that need a tail, with nothing stitched twice: an odd point inside is the end of a thread, and
    /// lines without odd points have both ends where one likes.
    /// </summary>
    public int LeastTails(LineNetwork network)
    {
        int[] odd = new int[network.PieceCount];
        int[] inside = new int[network.PieceCount];
        bool[] free = new bool[network.PieceCount];
        foreach (int v in network.Odd)
        {
            odd[network.PieceOf(v)]++;
            inside[network.PieceOf(v)] += Frees(v) ? 0 : 1;
        }

        foreach (int v in off.Keys.Where(v => network.PieceOf(v) >= 0))
        {
            free[network.PieceOf(v)] = true;
        }

        return Enumerable
            .Range(0, odd.Length)
            .Sum(p =>
                odd[p] > 0 ? inside[p]
                : free[p] ? 0
                : 2
            );
    }

    /// <summary>
    /// Adds what a candidate's ends off the top mean. On a run <c>offStart</c> and <c>offEnd</c>: the place off the top,
    /// inches. On the candidate <c>rawEnds</c>: <c>ends</c> off the top and <c>tails</c> (all other ends), <c>leastTails</c>
    /// (the fewest over these lines: with nothing stitched twice where the route stitches nothing twice; for one thread, with
    /// the least backtracking; else by any route),
    /// <c>optimal</c>, <c>startSeconds</c> (tails at half a start, the others at their own price), <c>threadInches</c> (line
    /// off the top); for a mixed thread <c>leastSeconds</c>, the least of ends and backtracking together.
    /// </summary>
    public RouteCandidate Tell(QuiltMap map, RouteCandidate c, RouteWishes wishes, CancellationToken cancellation)
    {
        if (IsEmpty)
        {
            return c;
        }

        Dictionary<Point<ClothSpace>, int> index = [];
        for (int v = 0; v < map.Junctions.Count; v++)
        {
            index.TryAdd(map.Junctions[v].Place, v);
        }

        int ends = 0;
        int hops = c.Runs.Count(r => r.Unknown.Values.ContainsKey("hop"));
        List<Run> runs = [];
        List<string> starting = [];
        List<string> ending = [];
        foreach (Run r in c.Runs)
        {
            Run told = r;
            string number = (runs.Count + 1).ToString(CultureInfo.InvariantCulture);
            if (OffAt(r.Moves[0].Path.From) is { } start && !r.Unknown.Values.ContainsKey("hop"))
            {
                told = told with { Unknown = told.Unknown.With("offStart", Place(start)) };
                starting.Add(number);
                ends++;
            }

            bool dragged = runs.Count + 1 < c.Runs.Count && c.Runs[runs.Count + 1].Unknown.Values.ContainsKey("hop");
            if (OffAt(r.Moves[^1].Path.To) is { } end && !dragged)
            {
                told = told with { Unknown = told.Unknown.With("offEnd", Place(end)) };
                ending.Add(number);
                ends++;
            }

            runs.Add(told);
        }

        List<StitchLine> lines = StitchLine.Of(map, c);
        LineNetwork network = new(map.Junctions.Count, [.. lines.Select(l => (l.From, l.To, l.Inches))]);
        double? leastInches =
            wishes.Thread == ThreadChoice.Mixed
                ? new LeastDoubling(network, null, cancellation)
                    .WithEndsOffTop(
                        null,
                        null,
                        wishes.StartCostSeconds / wishes.InchCostSeconds,
                        wishes.RawEndSeconds / wishes.InchCostSeconds,
                        Frees
                    )
                    .Inches
                : null;
        int tails = 2 * (c.Runs.Count - hops) - ends;
        int least =
            wishes is { Thread: ThreadChoice.One, Start: null, End: null }
                ? LeastTailsOfOne(network, Frees, cancellation)
            : c.Measures.Doubled.Inches > 1e-9 ? LeastTailsOfAny(network)
            : LeastTails(network);
        double seconds = tails * wishes.StartCostSeconds / 2 + ends * wishes.RawEndSeconds;
        double inches = seconds / wishes.InchCostSeconds + c.Measures.Doubled.Inches;
        JsonObject said = new()
        {
            ["offInches"] = wishes.RawEnds.Inches,
            ["clampInches"] = wishes.ClampClearance.Inches,
            ["ends"] = ends,
            ["tails"] = tails,
            ["leastTails"] = least,
            ["optimal"] = leastInches is { } bound ? inches <= bound + ProofFields.Tolerance : tails <= least,
            ["startSeconds"] = seconds,
            ["threadInches"] = ends * wishes.RawEnds.Inches,
        };
        if (leastInches is { } b)
        {
            said["leastSeconds"] = b * wishes.InchCostSeconds;
        }

        UnknownFields fields = c.Unknown.With("rawEnds", JsonSerializer.SerializeToElement(said));
        if (ends == 0)
        {
            return c with { Unknown = fields };
        }

        string words = WordsOf(starting, ending, runs.Count, wishes.RawEnds);
        return c with
        {
            Runs = runs,
            Unknown = fields,
            Design = string.Create(
                CultureInfo.InvariantCulture,
                $"{c.Design}, {ends} of {2 * (c.Runs.Count - hops)} thread ends off the raw edge"
            ),
            Call = c.Call is { } call ? call with { Verses = [.. call.Verses, words] } : null,
        };

        Point<ClothSpace>? OffAt(Point<ClothSpace> p) =>
            index.TryGetValue(p, out int v) && off.TryGetValue(v, out Point<ClothSpace> beside) ? beside : null;
    }

    /// <summary>Fewest thread ends that need a tail with one thread to a piece and the least backtracking.</summary>
    /// <remarks>The matching weighs every length above any taste, so that of all such routes it ends off the top most often.</remarks>
    /// <param name="network">The lines.</param>
    /// <param name="frees">Where a thread may run off the top.</param>
    /// <param name="cancellation">Looked at once for each augmentation.</param>
    internal static int LeastTailsOfOne(
        LineNetwork network,
        Func<int, bool> frees,
        CancellationToken cancellation = default
    )
    {
        int[] loose = new LeastDoubling(network, v => frees(v) ? 0 : 1, cancellation)
            .For(ThreadChoice.One, null, null, 0)
            .Loose;
        bool[] open = new bool[network.PieceCount];
        bool[] touching = new bool[network.PieceCount];
        int tails = 0;
        for (int v = 0; v < loose.Length; v++)
        {
            if (network.PieceOf(v) is var p and >= 0)
            {
                open[p] |= loose[v] > 0;
                touching[p] |= frees(v);
                tails += frees(v) ? 0 : loose[v];
            }
        }

        // Without odd points a thread starts and ends where one likes.
        return tails + 2 * Enumerable.Range(0, open.Length).Count(p => !open[p] && !touching[p]);
    }

    // Where lines may be stitched twice, threads can be led to the edge wherever a piece touches it.
    private int LeastTailsOfAny(LineNetwork network)
    {
        HashSet<int> touching = [.. off.Keys.Select(network.PieceOf).Where(p => p >= 0)];
        return 2 * (network.PieceCount - touching.Count);
    }

    private static string WordsOf(List<string> starting, List<string> ending, int runs, Length off)
    {
        string by =
            $"{off.ToSixteenths()} in off the top, where the binding or the trimming takes it; no tail to bury there.";
        if (runs == 1)
        {
            string what =
                starting.Count == 0 ? "End"
                : ending.Count == 0 ? "Start"
                : "Start and end";
            return $"{what} {by}";
        }

        List<string> parts = [];
        if (starting.Count > 0)
        {
            parts.Add($"{Threads(starting)} {(starting.Count == 1 ? "starts" : "start")}");
        }

        if (ending.Count > 0)
        {
            string who = Threads(ending);
            parts.Add(
                $"{(parts.Count > 0 ? char.ToLowerInvariant(who[0]) + who[1..] : who)} {(ending.Count == 1 ? "ends" : "end")}"
            );
        }

        return $"{string.Join(", ", parts)} {by}";

        static string Threads(List<string> numbers) =>
            numbers.Count > 12 ? string.Create(CultureInfo.InvariantCulture, $"{numbers.Count} threads")
            : numbers.Count == 1 ? $"Thread {numbers[0]}"
            : $"Threads {string.Join(", ", numbers.SkipLast(1))} and {numbers[^1]}";
    }

    private static JsonElement Place(Point<ClothSpace> p) => JsonSerializer.SerializeToElement(new[] { p.X, p.Y });
}
