using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>Grows a registration from one point and its neighbours over all that both show.</summary>
internal sealed class RegistrationGrowth
{
    private const double LeastAround = 0.55;
    private const double LeastOnTheWay = 0.35;
    private const double RingGrowth = 1.35;
    private const double MostScale = 1.12;

    private readonly ClothScene<ClothSpace> known;
    private readonly ClothScene<SeenSpace> seen;
    private readonly MarkIndex<ClothSpace> index;
    private readonly double pitch;

    public RegistrationGrowth(ClothScene<ClothSpace> known, ClothScene<SeenSpace> seen)
    {
        (this.known, this.seen) = (known, seen);
        index = new([.. known.Marks.Select(m => m.At)]);
        double[] apart =
        [
            .. known.Marks.Select(m => known.Marks.Where(o => o != m).Min(o => o.At.DistanceTo(m.At))).Order(),
        ];
        pitch = apart[apart.Length / 4];
    }

    /// <summary>The similarity of an anchor laid on a known point, where enough of the points round it fit; null elsewhere.</summary>
    public StretchFit<ClothSpace, SeenSpace>? Start(int anchor, int on, double turn, int[] near)
    {
        (double sin, double cos) = Math.SinCos(turn);
        Point<SeenSpace> from = seen.Marks[anchor].At;
        Point<ClothSpace> to = known.Marks[on].At;
        List<MarkPair<ClothSpace, SeenSpace>> pairs = [];
        int inside = 0;
        Box<ClothSpace> area = known.Area.Grown(0.25);
        foreach (int i in near)
        {
            Vector<SeenSpace> d = seen.Marks[i].At - from;
            Point<ClothSpace> at = new(to.X + cos * d.X - sin * d.Y, to.Y + sin * d.X + cos * d.Y);
            inside += area.Holds(at) ? 1 : 0;
            int k = index.Nearest(at, Math.Min(0.12 + 0.06 * d.Norm, 0.45 * pitch), j => MayBe(i, j, turn));
            if (k >= 0)
            {
                pairs.Add(PairOf(i, k));
            }
        }

        return pairs.Count >= 4 && pairs.Count >= LeastAround * inside && 2 * inside >= near.Length
            ? StretchFit<ClothSpace, SeenSpace>.Solve(pairs, StretchOrder.Similarity, lackInches: 0.05)
            : null;
    }

    /// <summary>Grows it; null where what lies further out does not fit.</summary>
    public Registration? Grow(StretchFit<ClothSpace, SeenSpace> start, Point<SeenSpace> from, int[] near)
    {
        double radius = near.Max(i => seen.Marks[i].At.DistanceTo(from));
        double last = seen.Marks.Max(m => m.At.DistanceTo(from));
        StretchFit<ClothSpace, SeenSpace> fit = start;
        List<(int Seen, int Known)> matched = [];
        double inner = 0;
        while (true)
        {
            for (int round = 0; round < 2; round++)
            {
                (matched, int inside) = Match(fit, i => Reach(seen.Marks[i].At.DistanceTo(from), inner, round));
                if (matched.Count < 4 || matched.Count < LeastOnTheWay * inside || Far(fit))
                {
                    return null;
                }

                fit = Fit(matched);
            }

            if (radius > last)
            {
                break;
            }

            inner = radius;
            radius *= RingGrowth;
        }

        return Finish(fit, matched);

        double Reach(double distance, double within, int round) =>
            distance > radius ? 0 : Math.Min(round == 0 && distance > within ? 0.35 : 0.22, 0.45 * pitch);
    }

    private Registration? Finish(StretchFit<ClothSpace, SeenSpace> fit, List<(int Seen, int Known)> matched)
    {
        for (int round = 0; round < 4; round++)
        {
            // Three and a half times the spread that the points themselves show, within what a thread and a needle allow.
            double spread = Spread(fit, matched);
            double gate = Math.Clamp(3.5 * spread, 0.05, Math.Min(0.25, 0.45 * pitch));
            (matched, _) = Match(fit, _ => gate);
            if (matched.Count < 4)
            {
                return null;
            }

            fit = Fit(matched);
        }

        return Far(fit) ? null : new(known, seen, fit, matched);
    }

    // One axis, from the median of the distances: a Rayleigh distance's median is 1.1774 sigma.
    private double Spread(StretchFit<ClothSpace, SeenSpace> fit, List<(int Seen, int Known)> matched)
    {
        double[] off =
        [
            .. matched.Select(m => fit.Apply(seen.Marks[m.Seen].At).DistanceTo(known.Marks[m.Known].At)).Order(),
        ];
        return off[off.Length / 2] / 1.1774;
    }

    private static bool Far(StretchFit<ClothSpace, SeenSpace> fit) =>
        fit.Scale > MostScale || fit.Scale < 1 / MostScale;

    private StretchFit<ClothSpace, SeenSpace> Fit(List<(int Seen, int Known)> matched) =>
        StretchFit<ClothSpace, SeenSpace>.Solve(
            [.. matched.Select(m => PairOf(m.Seen, m.Known))],
            matched.Count < 8 ? StretchOrder.Similarity
                : matched.Count < 16 ? StretchOrder.Even
                : matched.Count < 32 ? StretchOrder.Uneven
                : StretchOrder.Bowed,
            lackInches: 0.01
        );

    // Each seen point with its nearest known one, each known one once.
    private (List<(int Seen, int Known)> Matched, int Inside) Match(
        StretchFit<ClothSpace, SeenSpace> fit,
        Func<int, double> reach
    )
    {
        Dictionary<int, (int Seen, double Off)> best = [];
        int inside = 0;
        double turn = fit.Turn;
        for (int i = 0; i < seen.Marks.Count; i++)
        {
            double within = reach(i);
            if (within <= 0)
            {
                continue;
            }

            Point<ClothSpace> at = fit.Apply(seen.Marks[i].At);
            if (!known.Area.Grown(within).Holds(at))
            {
                continue;
            }

            inside++;
            int k = index.Nearest(at, within, j => MayBe(i, j, turn));
            if (k < 0)
            {
                continue;
            }

            double off = known.Marks[k].At.DistanceTo(at);
            if (!best.TryGetValue(k, out (int Seen, double Off) other) || off < other.Off)
            {
                best[k] = (i, off);
            }
        }

        return ([.. best.Select(b => (b.Value.Seen, b.Key)).Order()], inside);
    }

    private bool MayBe(int i, int k, double turn) =>
        MarkDirections.MayBeOne(seen.Marks[i].Directions, known.Marks[k].Directions, turn);

    private MarkPair<ClothSpace, SeenSpace> PairOf(int i, int k)
    {
        (ClothMark<SeenSpace> s, ClothMark<ClothSpace> t) = (seen.Marks[i], known.Marks[k]);
        double sigma = Math.Sqrt(s.Sigma.Inches * s.Sigma.Inches + t.Sigma.Inches * t.Sigma.Inches);
        return new(s.At, t.At, Math.Max(sigma, 0.004));
    }
}
