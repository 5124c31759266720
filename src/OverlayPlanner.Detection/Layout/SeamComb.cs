namespace OverlayPlanner.Detection.Layout;

/// <summary>Equal sections of one direction of a view, led on over the whole map: one side of a lattice.</summary>
/// <param name="Side">Width of a section, inches.</param>
/// <param name="Gap">Between two sections; 0 where they share a line.</param>
/// <param name="Sections">From where to where, in order.</param>
/// <param name="Score">How well its lines are covered.</param>
internal sealed record SeamComb(
    double Side,
    double Gap,
    IReadOnlyList<(double From, double To)> Sections,
    double Score
)
{
    /// <summary>No block is smaller.</summary>
    public const double LeastBlockInches = 2;

    private const double StrongPart = 0.45;
    private const double LeastScore = 0.5;
    private const double MostGap = 0.65; // of the side
    private const double LeastGapInches = 0.4;
    private const int MostOffsets = 3;

    /// <summary>The combs that the stops propose.</summary>
    /// <param name="stops">In order.</param>
    /// <param name="range">From where to where the map reaches.</param>
    public static IReadOnlyList<SeamComb> Of(IReadOnlyList<SeamStop> stops, (double From, double To) range)
    {
        if (stops.Count < 2)
        {
            return [];
        }

        double most = stops.Max(s => s.Cover);
        SeamStop[] strong = [.. stops.Where(s => s.Cover >= StrongPart * most)];
        Dictionary<(int, int), List<SeamComb>> kinds = [];
        HashSet<(int, int, int)> seen = [];
        for (int a = 0; a < strong.Length; a++)
        {
            for (int b = a + 1; b < strong.Length; b++)
            {
                double side = strong[b].At - strong[a].At;
                if (side < LeastBlockInches)
                {
                    continue;
                }

                Propose(strong[a].At, side, 0);
                for (int c = b + 1; c < strong.Length && c <= b + 2; c++)
                {
                    double gap = strong[c].At - strong[b].At;
                    if (gap >= LeastGapInches && gap <= MostGap * side)
                    {
                        Propose(strong[a].At, side, gap);
                    }
                }
            }
        }

        return
        [
            .. kinds
                .Values.SelectMany(k => k.OrderByDescending(c => c.Score).Take(MostOffsets))
                .OrderByDescending(c => c.Score),
        ];

        void Propose(double start, double side, double gap)
        {
            double pitch = side + gap;
            double phase = (start - range.From) / pitch;
            if (
                !seen.Add(
                    (
                        (int)Math.Round(side * 4),
                        (int)Math.Round(gap * 4),
                        (int)Math.Round((phase - Math.Floor(phase)) * pitch * 2)
                    )
                )
            )
            {
                return;
            }

            SeamComb? comb = LeadOn(stops, start, side, gap, range, most, (strong[0].At, strong[^1].At));
            if (comb is null)
            {
                return;
            }

            (int, int) kind = ((int)Math.Round(side * 2), (int)Math.Round(gap * 2));
            if (!kinds.TryGetValue(kind, out List<SeamComb>? there))
            {
                kinds[kind] = there = [];
            }

            there.Add(comb);
        }
    }

    /// <summary>The comb that goes through one section, led on to both sides; null where its lines are no lines of the top.</summary>
    public static SeamComb? LeadOn(
        IReadOnlyList<SeamStop> stops,
        double start,
        double side,
        double gap,
        (double From, double To) range,
        double most = 1,
        (double From, double To)? strong = null,
        double leastScore = LeastScore
    )
    {
        double slack = Math.Max(0.25, 0.035 * side);
        double pitch = side + gap;
        (double From, double To) within = strong ?? range;
        List<(double From, double To)> sections = [];
        double cover = 0;
        int lines = 0;
        (double first, double firstCover) = Snap(start);
        (double second, double secondCover) = Snap(start + side);
        Count(first, firstCover);
        Count(second, secondCover);
        sections.Add((first, second));
        for (double at = second; at + gap + side <= range.To + slack; )
        {
            (double from, double fromCover) = gap == 0 ? (at, -1) : Snap(at + gap);
            (double to, double toCover) = Snap(from + side);
            Count(from, fromCover);
            Count(to, toCover);
            sections.Add((from, to));
            at = to;
        }

        for (double at = first; at - gap - side >= range.From - slack; )
        {
            (double to, double toCover) = gap == 0 ? (at, -1) : Snap(at - gap);
            (double from, double fromCover) = Snap(to - side);
            Count(to, toCover);
            Count(from, fromCover);
            sections.Insert(0, (from, to));
            at = from;
        }

        double mean = lines == 0 ? 0 : cover / lines;
        if (mean < leastScore)
        {
            return null;
        }

        // A comb that fits the strong lines' range whole says more than one that leaves part sections at both ends.
        double whole = sections.Where(s => s.From >= within.From - slack && s.To <= within.To + slack).Sum(s => s.To - s.From + gap);
        double fit = Math.Min(1, whole / Math.Max(pitch, within.To - within.From + gap));
        return new(sections.Average(s => s.To - s.From), gap, sections, mean + 0.4 * fit);

        void Count(double at, double coverThere)
        {
            if (coverThere >= 0 && at >= within.From - slack && at <= within.To + slack)
            {
                cover += Math.Min(1, coverThere / most);
                lines++;
            }
        }

        (double At, double Cover) Snap(double x)
        {
            (double at, double best, double coverThere) = (x, 0.0, 0.0);
            for (int i = FirstFrom(stops, x - slack); i < stops.Count && stops[i].At <= x + slack; i++)
            {
                double worth = stops[i].Cover / most * (1 - 0.5 * Math.Abs(stops[i].At - x) / slack);
                if (worth > best)
                {
                    (at, best, coverThere) = (stops[i].At, worth, stops[i].Cover);
                }
            }

            return (at, coverThere);
        }
    }

    private static int FirstFrom(IReadOnlyList<SeamStop> stops, double at)
    {
        (int low, int high) = (0, stops.Count);
        while (low < high)
        {
            int mid = (low + high) / 2;
            if (stops[mid].At < at)
            {
                low = mid + 1;
            }
            else
            {
                high = mid;
            }
        }

        return low;
    }
}
