using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing.Ordering;

/// <summary>Everything that is wished of order, starts and ends.</summary>
/// <param name="Order">Which lines come first.</param>
/// <param name="Start">Junction where the first run starts, or null.</param>
/// <param name="End">Junction where the last run ends, or null.</param>
internal sealed record AskedOrder(OrderWishes Order, int? Start, int? End);

/// <summary>What each wish costs, found by planning without it.</summary>
internal sealed class WishCosts
{
    // Every pair of wishes is planned too, but for large maps.
    private const int MostLinesForPairs = 1500;

    private static readonly AskedOrder Nothing = new(new(), null, null);

    private readonly StitchGraph graph;
    private readonly AskedOrder asked;
    private readonly double? inchesPerStart;
    private readonly Func<AskedOrder, ThreadPlan> plan;
    private readonly Dictionary<AskedOrder, ThreadPlan> known = [];

    private WishCosts(StitchGraph graph, AskedOrder asked, double? inchesPerStart, Func<AskedOrder, ThreadPlan> plan)
    {
        this.graph = graph;
        this.inchesPerStart = inchesPerStart;
        this.asked = asked;
        this.plan = plan;
    }

    /// <summary>One wish: in words, as an option, and how to copy it from one set of wishes to another.</summary>
    private sealed record Wish(
        string Words,
        string Option,
        bool IsOrder,
        Func<AskedOrder, AskedOrder, AskedOrder> Copy
    );

    private static readonly Wish[] All =
    [
        new("the start", "--start", false, (to, from) => to with { Start = from.Start }),
        new("the end", "--end", false, (to, from) => to with { End = from.End }),
        new(
            "the outline last",
            "--outline last",
            true,
            (to, from) => to with { Order = to.Order with { OutlineLast = from.Order.OutlineLast } }
        ),
        new(
            "the last seams",
            "--last",
            true,
            (to, from) => to with { Order = to.Order with { LastSeams = from.Order.LastSeams } }
        ),
        new(
            "anchoring first",
            "--anchor-first",
            true,
            (to, from) => to with { Order = to.Order with { Anchors = from.Order.Anchors } }
        ),
        new(
            "round the block last",
            "--round-last",
            true,
            (to, from) => to with { Order = to.Order with { Anchors = from.Order.Anchors } }
        ),
        new(
            "finishing each block",
            "--finish-blocks",
            true,
            (to, from) => to with { Order = to.Order with { FinishBlocks = from.Order.FinishBlocks } }
        ),
    ];

    /// <summary>What the wishes cost over these lines.</summary>
    /// <param name="graph">The lines of the recommended choice.</param>
    /// <param name="asked">All wishes.</param>
    /// <param name="inchesPerStart">For a mixed thread: how many doubled inches a start is worth; else null.</param>
    /// <param name="plan">Plans the lines with some of the wishes.</param>
    public static IReadOnlyList<Finding> Find(
        StitchGraph graph,
        AskedOrder asked,
        double? inchesPerStart,
        Func<AskedOrder, ThreadPlan> plan
    ) => new WishCosts(graph, asked, inchesPerStart, plan).Run();

    // Starts weigh more than any inch, or, with a mixed thread, what they are worth.
    private bool IsMore(int starts, double inches) =>
        inchesPerStart is { } price ? starts * price + inches > 1e-6 : starts > 0 || (starts == 0 && inches > 1e-6);

    private List<Finding> Run()
    {
        Wish[] active = [.. All.Where(IsActive)];
        List<Finding> found = [];
        ThreadPlan whole = PlanOf(asked);
        SayWhatIsNotKept(active, whole, found);
        (int Starts, double Inches) all = CostOf(asked);
        foreach (Wish w in active)
        {
            (int Starts, double Inches) without = CostOf(w.Copy(asked, Nothing));
            (int starts, double inches) = (all.Starts - without.Starts, all.Inches - without.Inches);
            if (starts > 0 || (starts == 0 && inches > 1e-6))
            {
                found.Add(new("wish-costs", w.Words, $"It costs {Words(starts, inches)}; leave it open to save that."));
            }
            else if (w.IsOrder)
            {
                found.Add(
                    new(
                        "wish-costs-nothing",
                        w.Words,
                        $"{(IsMore(-starts, -inches) ? "It is no worse" : "It costs no start and no inch more")} than without: {Total(all)}."
                    )
                );
            }
        }

        SayWhichClash(active, found);
        return found;
    }

    private bool IsActive(Wish w) =>
        w.Option switch
        {
            "--anchor-first" => asked.Order.Anchors == AnchorOrder.First,
            "--round-last" => asked.Order.Anchors == AnchorOrder.Last,
            _ => w.Copy(Nothing, asked) != Nothing,
        };

    private ThreadPlan PlanOf(AskedOrder wishes)
    {
        if (!known.TryGetValue(wishes, out ThreadPlan? made))
        {
            known[wishes] = made = plan(wishes);
        }

        return made;
    }

    private (int Starts, double Inches) CostOf(AskedOrder wishes)
    {
        ThreadPlan made = PlanOf(wishes);
        HashSet<int> seen = [];
        return (
            made.Trails.Count,
            made.Trails.SelectMany(t => t.Legs).Where(l => !seen.Add(l.Line)).Sum(l => graph.Lines[l.Line].Inches)
        );
    }

    // A start or an end that another wish rules out: which one, and what either costs.
    private void SayWhatIsNotKept(Wish[] active, ThreadPlan whole, List<Finding> found)
    {
        foreach (
            (bool kept, string what, string option, Func<ThreadPlan, bool> keeps) in new (
                bool,
                string,
                string,
                Func<ThreadPlan, bool>
            )[]
            {
                (whole.StartKept, "start-not-first", "--start", p => p.StartKept),
                (whole.EndKept, "end-not-last", "--end", p => p.EndKept),
            }
        )
        {
            if (kept)
            {
                continue;
            }

            Wish? other = active.FirstOrDefault(w => w.Option != option && keeps(PlanOf(w.Copy(asked, Nothing))));
            found.Add(
                other is null
                    ? new(what, option, "The threads can't be put in such an order; leave it open.")
                    : new(
                        what,
                        $"{option} and {other.Option}",
                        $"They can't both be kept. Kept is {other.Words}: {Total(CostOf(asked))}. Without it: {Total(CostOf(other.Copy(asked, Nothing)))}."
                    )
            );
        }
    }

    // Two wishes that are cheaper one at a time than together.
    private void SayWhichClash(Wish[] active, List<Finding> found)
    {
        if (active.Length < 2 || graph.Lines.Count > MostLinesForPairs)
        {
            return;
        }

        (int Starts, double Inches) none = CostOf(Nothing);
        for (int i = 0; i < active.Length; i++)
        {
            for (int k = i + 1; k < active.Length; k++)
            {
                AskedOrder first = active[i].Copy(Nothing, asked);
                AskedOrder second = active[k].Copy(Nothing, asked);
                (int Starts, double Inches) a = Over(CostOf(first), none);
                (int Starts, double Inches) b = Over(CostOf(second), none);
                (int Starts, double Inches) both = Over(CostOf(active[k].Copy(first, asked)), none);
                int starts = both.Starts - Math.Max(0, a.Starts) - Math.Max(0, b.Starts);
                double inches = both.Inches - Math.Max(0, a.Inches) - Math.Max(0, b.Inches);
                if (IsMore(starts, inches))
                {
                    found.Add(
                        new(
                            "wishes-clash",
                            $"{active[i].Option} and {active[k].Option}",
                            $"Together they cost {Words(both.Starts, both.Inches)}; {active[i].Words} alone costs {Words(a.Starts, a.Inches)}, {active[k].Words} alone {Words(b.Starts, b.Inches)}. Leave one of them open."
                        )
                    );
                }
            }
        }
    }

    private static (int Starts, double Inches) Over((int Starts, double Inches) a, (int Starts, double Inches) b) =>
        (a.Starts - b.Starts, a.Inches - b.Inches);

    private static string Words(int starts, double inches)
    {
        List<string> more = [];
        if (starts > 0)
        {
            more.Add(
                string.Create(CultureInfo.InvariantCulture, $"{starts} more {(starts == 1 ? "start" : "starts")}")
            );
        }

        if (inches > 1e-6)
        {
            more.Add($"{Inches(inches)} in more backtracking");
        }

        string saves =
            starts < 0 && inches > 1e-6
                ? string.Create(
                    CultureInfo.InvariantCulture,
                    $", and saves {-starts} {(starts == -1 ? "start" : "starts")}"
                )
            : starts > 0 && inches < -1e-6 ? $", and saves {Inches(-inches)} in of backtracking"
            : "";
        return more.Count == 0 ? "nothing" : string.Join(" and ", more) + saves;
    }

    /// <summary>Starts and backtracking, for people.</summary>
    public static string Total((int Starts, double Inches) cost) =>
        string.Create(
            CultureInfo.InvariantCulture,
            $"{cost.Starts} {(cost.Starts == 1 ? "start" : "starts")}, {Inches(cost.Inches)} in of backtracking"
        );

    private static string Inches(double v) => Length.FromInches(v).ToSixteenths();
}
