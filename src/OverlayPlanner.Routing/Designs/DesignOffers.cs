using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Routing.Designs;

/// <summary>A design with what it costs.</summary>
/// <param name="Design">Its lines.</param>
/// <param name="Graph">They and the seams.</param>
/// <param name="Starts">Starts that the thread wish takes.</param>
/// <param name="Doubled">Backtracking that it takes, inches.</param>
/// <param name="Cost">Both in the wish's own coin: starts, or inches.</param>
/// <param name="Words">What it does.</param>
/// <param name="Gap">Diameter of the widest circle without a stitch, where that was asked for.</param>
internal sealed record Offer(
    Design Design,
    StitchGraph Graph,
    int Starts,
    double Doubled,
    double Cost,
    string Words,
    WidestGap? Gap
)
{
    private readonly Lazy<double>? effort;

    /// <summary>How hard its route is on hands and head, once somebody asks.</summary>
    public Func<double> Weighing
    {
        init => effort = new(value);
    }

    /// <summary>How hard it is, the less the easier.</summary>
    public double Effort => effort!.Value;

    /// <summary>Length of its lines, each once, inches.</summary>
    public double Inches { get; } = Graph.Lines.Sum(l => l.Inches);
}

/// <summary>Chooses, of many designs, those that a person would call different and want to compare.</summary>
/// <remarks>
/// Five things are weighed: starts or backtracking, added length, symmetry kept, evenness of fill, and ease. A design that
/// another beats or equals in the first four is not offered while others are left; ease, which takes a planned route, decides
/// among designs that cost the same.
/// </remarks>
internal sealed class DesignOffers
{
    // So much backtracking, as a share of what is stitched, is a fair price for like patches all alike.
    private const double FairShare = 0.05;

    // Ten inches of new line are no price for an inch of backtracking saved; a start is worth what the user says, or 20 in.
    private const double Rate = 0.1;
    private const double LeastStartInches = 20;
    private const int Compared = 3;

    // Planning a route takes longer the more lines it has; beyond this, length alone decides between equals.
    private const int MostLinesCompared = 90;

    // Where a patch must be filled anyway, the whole symmetry is worth a quarter more line, not several times as much.
    private const double LessSymmetric = 1.25;

    private readonly RouteWishes wishes;
    private readonly double inchesPerStart;
    private readonly Offer bare;
    private readonly List<Offer> ranked;

    /// <param name="offers">All designs; the one without added lines is among them.</param>
    /// <param name="wishes">Thread, fill, how many.</param>
    /// <param name="inchesPerStart">What a start is worth in inches of backtracking.</param>
    /// <param name="replacesSeams">True where added lines stand in for seams that are pressed open.</param>
    public DesignOffers(IReadOnlyList<Offer> offers, RouteWishes wishes, double inchesPerStart, bool replacesSeams)
    {
        this.wishes = wishes;
        this.inchesPerStart = inchesPerStart;
        bare = offers.First(o => o.Design.Lines.Count == 0);
        Offer[] some = [.. offers.Where(o => o.Graph.Lines.Count > 0)];
        bool given = wishes.Fill is not null || replacesSeams;
        int fewest = some.Where(o => o.Design.IsWhole).Select(o => o.Starts).DefaultIfEmpty(0).Min();
        int fewestOfAll = some.Where(o => !o.Design.IsHalfAPattern).Select(o => o.Starts).DefaultIfEmpty(0).Min();
        ranked =
        [
            .. some.OrderBy(o => o.Design.IsHalfAPattern || !(given ? o != bare || some.Length == 1 : IsWorthIt(o)))
                .ThenBy(Overshoot)
                .ThenBy(o =>
                    !(
                        o.Design.IsWhole
                        && o.Starts == fewest
                        && fewest == fewestOfAll
                        && o.Doubled <= FairShare * (o.Inches + o.Doubled)
                    )
                )
                .ThenBy(o => o.Cost)
                .ThenBy(o => !o.Design.IsWhole)
                .ThenByDescending(o => wishes.Fill is null ? o.Design.Kept : 0)
                .ThenByDescending(o => wishes.Fill is null ? o.Design.Turns : 0)
                .ThenBy(o => o.Design.Inches * (o.Design.Kept == o.Design.Full ? 1 : LessSymmetric)),
        ];
    }

    /// <summary>The recommended design first, then the others by what they cost; empty where nothing is stitched.</summary>
    public IReadOnlyList<Offer> Choose()
    {
        if (ranked.Count == 0)
        {
            return [];
        }

        Offer best = Easiest(ranked[0]);
        List<Offer> chosen = [best];
        Offer[] front = [.. ranked.Where(o => !ranked.Any(p => Beats(p, o)))];
        Offer[] others = [.. front, .. ranked.Where(o => !front.Contains(o))];
        IEnumerable<Offer> wanted =
        [
            // Without added lines.
            .. bare.Graph.Lines.Count > 0 ? new[] { bare } : [],
            // Through the centres that were asked for.
            .. others
                .Where(o => wishes.Centers && o.Design.Lines.Any(l => l.Style == AddedStyle.LineToCenter))
                .OrderBy(o => !o.Design.IsWhole)
                .ThenBy(o => o.Cost)
                .ThenBy(o => o.Design.Inches)
                .Take(1),
            // Without backtracking.
            .. front.Where(o => wishes.Thread != ThreadChoice.Free && o.Doubled < 1e-6).Take(1),
            // Between the two.
            .. front.Where(o => o.Design.IsWhole && o.Cost < bare.Cost && o.Cost > best.Cost).Take(1),
            // At the same cost, another look.
            .. others.Where(o => o.Cost <= best.Cost && !o.Design.Fills && o.Design.IsWhole).Take(2),
            .. others.Where(o => o.Cost <= best.Cost && o.Design.Fills).Take(1),
            .. others.Where(o => o.Design.IsHalfAPattern).OrderBy(o => o.Cost).ThenBy(o => o.Design.Inches).Take(1),
            .. others,
        ];

        // Two designs of one description and length are each other's mirror images, or as good as that; two of one description
        // alone come after all that differ more.
        foreach (bool sameWords in new[] { false, true })
        {
            foreach (Offer o in wanted)
            {
                bool known = chosen.Any(c =>
                    c.Words == o.Words && (!sameWords || Math.Abs(c.Design.Inches - o.Design.Inches) < 0.05)
                );
                if (chosen.Count < wishes.Candidates && !known)
                {
                    chosen.Add(o);
                }
            }
        }

        return [best, .. chosen.Skip(1).OrderBy(o => Overshoot(o)).ThenBy(o => o.Cost).ThenBy(o => o.Design.Inches)];
    }

    // Of designs that come out the same but for a little length, the one that is easiest to stitch.
    private Offer Easiest(Offer first)
    {
        if (first.Graph.Lines.Count > MostLinesCompared)
        {
            return first;
        }

        Offer[] level =
        [
            .. ranked
                .Where(o =>
                    o == first
                    || (
                        o.Cost == first.Cost
                        && Overshoot(o) == Overshoot(first)
                        && o.Design.IsWhole == first.Design.IsWhole
                        && o.Design.Kept == first.Design.Kept
                        && (o == bare) == (first == bare)
                        && IsWorthIt(o) == IsWorthIt(first)
                        && o.Design.Inches <= 1.25 * first.Design.Inches
                    )
                )
                .Take(Compared),
        ];
        return level.Length == 1 ? first : level.MinBy(o => (o.Effort, o.Design.Inches))!;
    }

    /// <summary>By how much a design's widest open circle is wider than was asked for, to an eighth of an inch.</summary>
    public double Overshoot(Offer o) =>
        wishes.Fill is { } fill && o.Gap is { } gap
            ? Math.Max(0, Math.Round(8 * (gap.Diameter.Inches - fill.Inches))) / 8
            : 0;

    private bool IsWorthIt(Offer offer)
    {
        double inches = wishes.Thread == ThreadChoice.Free ? Math.Max(inchesPerStart, LeastStartInches) : 1;
        return bare.Graph.Lines.Count == 0 || (bare.Cost - offer.Cost) * inches >= Rate * offer.Design.Inches - 1e-9;
    }

    private bool Beats(Offer a, Offer b)
    {
        static int Tier(Offer o) =>
            o.Design.IsWhole ? 0
            : o.Design.IsHalfAPattern ? 2
            : 1;
        bool noWorse =
            a.Cost <= b.Cost + 1e-9
            && a.Design.Inches <= b.Design.Inches + 1e-9
            && Tier(a) <= Tier(b)
            && a.Design.Kept >= b.Design.Kept
            && (a.Design.Fills || !b.Design.Fills)
            && Overshoot(a) <= Overshoot(b);
        return noWorse
            && (
                a.Cost < b.Cost - 1e-9
                || a.Design.Inches < b.Design.Inches - 1e-9
                || Tier(a) < Tier(b)
                || a.Design.Kept > b.Design.Kept
                || (a.Design.Fills && !b.Design.Fills)
                || Overshoot(a) < Overshoot(b)
            );
    }
}
