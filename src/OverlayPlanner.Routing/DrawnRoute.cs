using System.Globalization;
using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;
using OverlayPlanner.Routing.Trails;

namespace OverlayPlanner.Routing;

/// <summary>A fault of a drawn route.</summary>
/// <param name="Seam">Id of the seam that it concerns, or null.</param>
/// <param name="At">Where, inches.</param>
/// <param name="Length">How much of it: length missed, doubled, or off every line; zero for a crossing.</param>
public sealed record DrawnFault(string? Seam, Point<ClothSpace> At, Length Length);

/// <summary>What a drawn route does well and badly.</summary>
/// <param name="Missed">Seams, or parts of them, that no stroke covers; outline seams only count once they are drawn.</param>
/// <param name="Doubled">Seams, or parts of them, that are covered more than once.</param>
/// <param name="Crossed">Places where two passes cross.</param>
/// <param name="Broken">
/// Stretches that follow no line, and starts beyond the fewest that the drawn lines need, with the gap before them.
/// </param>
/// <param name="Score">
/// 0 to 1: 1 − (missed + ½ doubled + stray) ÷ (length to stitch), less 0.03 for each crossing and each needless start.
/// </param>
public sealed record DrawnJudgement(
    IReadOnlyList<DrawnFault> Missed,
    IReadOnlyList<DrawnFault> Doubled,
    IReadOnlyList<DrawnFault> Crossed,
    IReadOnlyList<DrawnFault> Broken,
    double Score
);

/// <summary>One stretch of a drawn path, laid on the line that it means.</summary>
/// <param name="Seam">Id of the seam, or null for a line of its own from point to point.</param>
/// <param name="From">Where on the seam it begins, as a fraction of the seam's length; 0 for an own line.</param>
/// <param name="To">Where it ends; less than <paramref name="From"/> against the seam's direction; 1 for an own line.</param>
/// <param name="Path">The stretch in the direction of travel, inches.</param>
public sealed record DrawnStretch(string? Seam, double From, double To, Edge<ClothSpace> Path);

/// <summary>A drawn path as understood.</summary>
/// <param name="Threads">The stretches of each thread in order; a pen lifted and set down again is no new thread.</param>
/// <param name="Stray">Length drawn that follows no line and leads from no point to another.</param>
public sealed record DrawnPath(IReadOnlyList<IReadOnlyList<DrawnStretch>> Threads, Length Stray);

/// <summary>Judges a route that a person drew by hand over a quilt map.</summary>
/// <remarks>
/// Shaky strokes are laid on the map's lines as the likeliest walk of a hidden Markov model: how far a sample lies from a
/// line is Gaussian, and the way along the lines between two samples should be as long as the way drawn (Newson and Krumm,
/// "Hidden Markov map matching through noise and sparseness", 2009). A sample may also follow no line, at a price. A stretch
/// that follows none and leads from point to point is an added line and no fault. Time: O(n·k²) for n samples with k lines
/// nearby; n is at most 40,000.
/// </remarks>
public static class DrawnRoute
{
    private const double PenaltyEach = 0.03;
    private const int MostSamples = 40_000;
    private const int MostPoints = 2_000_000;

    /// <summary>Judges the strokes.</summary>
    /// <param name="map">The map drawn on.</param>
    /// <param name="strokes">Points of each stroke in order, inches; strokes in the order drawn.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    /// <exception cref="InputException">Nothing is drawn, a coordinate is no number, or there is far too much.</exception>
    public static DrawnJudgement Judge(
        QuiltMap map,
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(map);
        Require(strokes);
        return new Judgement(new(map), strokes, cancellation).Run();
    }

    /// <summary>Lays the strokes on the map's lines, without judging.</summary>
    /// <remarks>Ends within about a third of a short seam of a point are at that point.</remarks>
    /// <inheritdoc cref="Judge"/>
    public static DrawnPath Follow(
        QuiltMap map,
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(map);
        return Lay(new(map), strokes, cancellation);
    }

    /// <summary>Lays the strokes on the lines of a map that was made ready, without judging.</summary>
    /// <remarks>Ends within about a third of a short seam of a point are at that point.</remarks>
    /// <param name="ground">The map drawn on.</param>
    /// <param name="strokes">Points of each stroke in order, inches; strokes in the order drawn.</param>
    /// <param name="cancellation">Looked at now and then.</param>
    /// <exception cref="InputException">Nothing is drawn, a coordinate is no number, or there is far too much.</exception>
    public static DrawnPath Lay(
        DrawingGround ground,
        IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes,
        CancellationToken cancellation = default
    )
    {
        ArgumentNullException.ThrowIfNull(ground);
        Require(strokes);
        return new Judgement(ground, strokes, cancellation).Lay();
    }

    private static void Require(IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes)
    {
        ArgumentNullException.ThrowIfNull(strokes);
        long points = 0;
        for (int i = 0; i < strokes.Count; i++)
        {
            points += strokes[i].Count;
            for (int k = 0; k < strokes[i].Count; k++)
            {
                if (!strokes[i][k].IsFinite || Math.Abs(strokes[i][k].X) > 1e6 || Math.Abs(strokes[i][k].Y) > 1e6)
                {
                    throw new InputException(
                        "A point of the drawing is no place on the quilt",
                        string.Create(CultureInfo.InvariantCulture, $"stroke {i + 1}, point {k + 1}"),
                        "Give finite coordinates in inches."
                    );
                }
            }
        }

        if (points == 0)
        {
            throw new InputException("The drawing holds no stroke", "the drawing", "Draw at least one line.");
        }

        if (points > MostPoints)
        {
            throw new InputException(
                "The drawing holds more than 2,000,000 points",
                "the drawing",
                "Thin its points out; a point each 1/8 in is plenty."
            );
        }
    }

    private readonly record struct Candidate(int Seam, double T, double Distance);

    /// <summary>One stretch along one seam, in the direction of travel; fractions of the seam's length.</summary>
    private readonly record struct Leg(
        int Seam,
        double From,
        double To,
        Point<ClothSpace> Start,
        Point<ClothSpace> End,
        double Bulge = 0
    )
    {
        /// <summary>For a stretch along a seam: how far it was drawn bowing to the left of travel, inches.</summary>
        public double Rise { get; init; }

        /// <summary>For a stretch along a seam: how far to the left its first and its last seventh were drawn, inches.</summary>
        public (double First, double Last) Aside { get; init; }
    }

    private sealed class Judgement
    {
        private readonly DrawingGround ground;
        private readonly QuiltMap map;
        private readonly IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes;
        private readonly CancellationToken cancellation;
        private readonly PlaneGraph<ClothSpace> plane;
        private readonly double[] length;
        private readonly double sigma;
        private readonly double slack;
        private readonly List<DrawnFault> broken = [];
        private readonly List<List<Leg>> threads = [];
        private double stray;

        public Judgement(
            DrawingGround ground,
            IReadOnlyList<IReadOnlyList<Point<ClothSpace>>> strokes,
            CancellationToken cancellation
        )
        {
            this.ground = ground;
            this.strokes = strokes;
            this.cancellation = cancellation;
            map = ground.Map;
            plane = ground.Plane;
            length = ground.Lengths;
            sigma = ground.Sigma;
            slack = ground.Slack;
        }

        public DrawnJudgement Run()
        {
            Match();
            return Sum();
        }

        public DrawnPath Lay()
        {
            Match();
            return new(
                [
                    .. threads.Select(t =>
                        (IReadOnlyList<DrawnStretch>)
                            [
                                .. t.Select(l =>
                                    l.Seam < 0
                                        ? new DrawnStretch(null, 0, 1, new(l.Start, l.End, l.Bulge))
                                        : new DrawnStretch(
                                            map.Seams[l.Seam].Id,
                                            l.From,
                                            l.To,
                                            new(
                                                l.Start,
                                                l.End,
                                                // A part of an arc bows by its share of the angle.
                                                Math.Tan((l.To - l.From) * plane[l.Seam].Sweep / 4)
                                            )
                                        )
                                ),
                            ]
                    ),
                ],
                Length.FromInches(stray)
            );
        }

        private void Match()
        {
            double spacing = Spacing();
            Point<ClothSpace>? lastEnd = null;
            foreach (IReadOnlyList<Point<ClothSpace>> stroke in strokes)
            {
                cancellation.ThrowIfCancellationRequested();
                if (stroke.Count == 0)
                {
                    continue;
                }

                List<Point<ClothSpace>> samples = Resampled(stroke, spacing);
                List<Leg> legs = samples.Count < 2 ? [] : Follow(samples);
                if (legs.Count == 0)
                {
                    if (samples.Count < 2)
                    {
                        broken.Add(new(null, stroke[0], Length.Zero));
                    }

                    continue;
                }

                // A pen lifted and set down at the same place is no new start.
                if (lastEnd is { } end && threads.Count > 0 && end.DistanceTo(legs[0].Start) <= slack)
                {
                    threads[^1].AddRange(legs);
                }
                else
                {
                    threads.Add(legs);
                }

                lastEnd = legs[^1].End;
            }

            TellArcsFromBacktracking();
        }

        private double Spacing()
        {
            double total = strokes.Sum(s =>
            {
                double d = 0;
                for (int i = 1; i < s.Count; i++)
                {
                    d += s[i - 1].DistanceTo(s[i]);
                }

                return d;
            });
            return Math.Max(Math.Max(slack / 2, 0.02), total / MostSamples);
        }

        // Evenly spaced by length, so that a pen at rest counts once.
        private static List<Point<ClothSpace>> Resampled(IReadOnlyList<Point<ClothSpace>> stroke, double spacing)
        {
            List<Point<ClothSpace>> samples = [stroke[0]];
            double left = spacing;
            for (int i = 1; i < stroke.Count; i++)
            {
                double d = stroke[i - 1].DistanceTo(stroke[i]);
                double at = 0;
                while (d - at >= left)
                {
                    at += left;
                    samples.Add(stroke[i - 1].Toward(stroke[i], at / d));
                    left = spacing;
                }

                left -= d - at;
            }

            if (samples[^1].DistanceTo(stroke[^1]) > spacing / 10)
            {
                samples.Add(stroke[^1]);
            }

            return samples;
        }

        private List<Candidate> Nearby(Point<ClothSpace> p)
        {
            double reach = ground.Reach;
            List<Candidate> found = [];
            foreach (int e in ground.Near(p))
            {
                (double t, double d) = plane[e].Nearest(p);
                if (d <= reach)
                {
                    found.Add(new(e, t, d));
                }
            }

            const int Most = 10;
            found.Sort(
                (a, b) => a.Distance != b.Distance ? a.Distance.CompareTo(b.Distance) : a.Seam.CompareTo(b.Seam)
            );
            if (found.Count > Most)
            {
                found.RemoveRange(Most, found.Count - Most);
            }

            // Following no line at all is as likely as lying three deviations off.
            found.Add(new(-1, 0, 3 * sigma));
            return found;
        }

        /// <summary>The likeliest walk of one stroke (Viterbi 1967), as legs along seams; stray stretches are noted.</summary>
        private List<Leg> Follow(List<Point<ClothSpace>> samples)
        {
            const double LeaveLine = 4;
            List<Candidate>[] states = [.. samples.Select(Nearby)];
            double[] cost = [.. states[0].Select(Emission)];
            int[][] came = new int[samples.Count][];
            for (int i = 1; i < samples.Count; i++)
            {
                if (i % 512 == 0)
                {
                    cancellation.ThrowIfCancellationRequested();
                }

                double drawn = samples[i - 1].DistanceTo(samples[i]);
                double[] next = new double[states[i].Count];
                came[i] = new int[next.Length];

                // No step costs less than nothing: from the cheapest on, the others need not be looked at once one is dearer.
                int[] cheapest = [.. Enumerable.Range(0, cost.Length)];
                double[] keys = [.. cost];
                Array.Sort(keys, cheapest);
                for (int b = 0; b < next.Length; b++)
                {
                    next[b] = double.PositiveInfinity;
                    foreach (int a in cheapest)
                    {
                        if (cost[a] >= next[b])
                        {
                            break;
                        }

                        Candidate from = states[i - 1][a];
                        Candidate to = states[i][b];
                        double step =
                            from.Seam < 0 != to.Seam < 0 ? LeaveLine
                            : from.Seam < 0 ? 0
                            : Math.Abs(Way(from, to, drawn) - drawn) / sigma;
                        if (cost[a] + step < next[b])
                        {
                            (next[b], came[i][b]) = (cost[a] + step, a);
                        }
                    }

                    next[b] += Emission(states[i][b]);
                }

                cost = next;
            }

            int[] chosen = new int[samples.Count];
            chosen[^1] = Array.IndexOf(cost, cost.Min());
            for (int i = samples.Count - 1; i > 0; i--)
            {
                chosen[i - 1] = came[i][chosen[i]];
            }

            return ToLegs(samples, [.. chosen.Select((c, i) => states[i][c])]);

            double Emission(Candidate c) => c.Distance * c.Distance / (2 * sigma * sigma);
        }

        private double Way(Candidate a, Candidate b, double drawn)
        {
            if (a.Seam == b.Seam)
            {
                return Math.Abs(a.T - b.T) * length[a.Seam];
            }

            double best = drawn + 20 * sigma;
            for (int ha = 2 * a.Seam; ha <= 2 * a.Seam + 1; ha++)
            {
                // Leaving a over the end ha, entering b over the end hb.
                double toEnd = ((ha & 1) == 0 ? a.T : 1 - a.T) * length[a.Seam];
                for (int hb = 2 * b.Seam; toEnd < best && hb <= 2 * b.Seam + 1; hb++)
                {
                    double fromEnd = ((hb & 1) == 0 ? b.T : 1 - b.T) * length[b.Seam];
                    best = Math.Min(best, toEnd + ground.Between(plane.NodeOf(ha), plane.NodeOf(hb)) + fromEnd);
                }
            }

            return best;
        }

        /// <summary>
        /// Joins matched samples to legs: one for each stretch along a seam, short stubs at points left out. A stretch off
        /// every line from point to point becomes an added line; any other is noted as stray.
        /// </summary>
        private List<Leg> ToLegs(List<Point<ClothSpace>> samples, Candidate[] matched)
        {
            List<Leg> legs = [];
            (int First, int Last)? off = null;
            int i = 0;
            while (i < matched.Length)
            {
                int k = i;
                while (k + 1 < matched.Length && matched[k + 1].Seam == matched[i].Seam)
                {
                    k++;
                }

                if (matched[i].Seam < 0)
                {
                    off = (i, k);
                }
                else
                {
                    List<Leg> here = [];
                    AddLegs(samples, matched, i, k, here);
                    if (off is { } o)
                    {
                        NoteStray(samples, o, legs, here);
                        off = null;
                    }

                    legs.AddRange(here);
                }

                i = k + 1;
            }

            if (off is { } rest)
            {
                NoteStray(samples, rest, legs, []);
            }

            return legs;
        }

        private void AddLegs(List<Point<ClothSpace>> samples, Candidate[] matched, int first, int last, List<Leg> legs)
        {
            int e = matched[first].Seam;
            double len = length[e];

            // Turning points of the travel along the seam, with a dead band that a shaking hand does not leave.
            List<(double T, int Sample)> turns = [(matched[first].T, first)];
            (double T, int Sample) extreme = turns[0];
            int way = 0;
            for (int i = first + 1; i <= last; i++)
            {
                double t = matched[i].T;
                double moved = (t - extreme.T) * len;
                if (way == 0 && Math.Abs(moved) > slack)
                {
                    way = Math.Sign(moved);
                    extreme = (t, i);
                }
                else if (way != 0 && moved * way > 0)
                {
                    extreme = (t, i);
                }
                else if (way != 0 && moved * way < -slack)
                {
                    turns.Add(extreme);
                    way = -way;
                    extreme = (t, i);
                }
            }

            turns.Add(way == 0 ? (matched[last].T, last) : extreme);
            for (int i = 1; i < turns.Count; i++)
            {
                double a = Snap(turns[i - 1].T);
                double b = Snap(turns[i].T);
                if (Math.Abs(b - a) * len > Math.Min(slack, 0.4 * len))
                {
                    legs.Add(
                        new(e, a, b, plane[e].PointAt(a), plane[e].PointAt(b))
                        {
                            Rise = RiseOf(a, b, turns[i - 1].Sample, turns[i].Sample),
                            Aside = AsideOf(a, b, turns[i - 1].Sample, turns[i].Sample),
                        }
                    );
                }
            }

            // Least squares of the drawn offsets against an arc's, which is 4u(1 − u) of its rise.
            double RiseOf(double a, double b, int from, int to)
            {
                double sum = 0;
                double weight = 0;
                for (int i = from; i <= to; i++)
                {
                    double t = matched[i].T;
                    double u = (t - a) / (b - a);
                    if (u is > 0 and < 1)
                    {
                        double bow = 4 * u * (1 - u);
                        sum += bow * (samples[i] - plane[e].PointAt(t)).Dot(plane[e].DirectionAt(t).TurnedLeft);
                        weight += bow * bow;
                    }
                }

                return weight == 0 ? 0 : Math.Sign(b - a) * sum / weight;
            }

            (double, double) AsideOf(double a, double b, int from, int to)
            {
                (double Sum, int Count) first = default;
                (double Sum, int Count) last = default;
                for (int i = from; i <= to; i++)
                {
                    double t = matched[i].T;
                    double u = (t - a) / (b - a);
                    double left = (samples[i] - plane[e].PointAt(t)).Dot(plane[e].DirectionAt(t).TurnedLeft);
                    if (u < 1 / 7.0)
                    {
                        first = (first.Sum + left, first.Count + 1);
                    }
                    else if (u > 6 / 7.0)
                    {
                        last = (last.Sum + left, last.Count + 1);
                    }
                }

                int along = Math.Sign(b - a);
                return (along * first.Sum / Math.Max(1, first.Count), along * last.Sum / Math.Max(1, last.Count));
            }

            double Snap(double t) =>
                t * len <= Math.Min(slack * 1.5, 0.4 * len) ? 0
                : (1 - t) * len <= Math.Min(slack * 1.5, 0.4 * len) ? 1
                : t;
        }

        // From point to point a stray stretch is an added line; otherwise the thread is off its way. The ends of a flat arc
        // still lie within reach of the seam beside it: such short beginnings belong to the arc.
        private void NoteStray(
            List<Point<ClothSpace>> samples,
            (int First, int Last) off,
            List<Leg> before,
            List<Leg> after
        )
        {
            const double Short = 0.45;
            int? from = null;
            int? to = null;
            if (before.Count > 0 && before[^1].Seam >= 0)
            {
                Leg leg = before[^1];
                bool stub = Math.Abs(leg.To - leg.From) < Short && leg.From is 0 or 1;
                from =
                    stub ? NodeAt(leg.Seam, leg.From)
                    : leg.To is 0 or 1 ? NodeAt(leg.Seam, leg.To)
                    : null;
                if (stub)
                {
                    before.RemoveAt(before.Count - 1);
                }
            }

            from ??= PointNear(samples[Math.Max(0, off.First - 1)]);
            if (after.Count > 0)
            {
                Leg leg = after[0];
                bool stub = Math.Abs(leg.To - leg.From) < Short && leg.To is 0 or 1;
                to =
                    stub ? NodeAt(leg.Seam, leg.To)
                    : leg.From is 0 or 1 ? NodeAt(leg.Seam, leg.From)
                    : null;
                if (stub)
                {
                    after.RemoveAt(0);
                }
            }

            to ??= PointNear(samples[Math.Min(samples.Count - 1, off.Last + 1)]);
            int middle = (off.First + off.Last) / 2;
            if (from is { } a && to is { } b && a != b)
            {
                Point<ClothSpace> pa = plane.Nodes[a];
                Point<ClothSpace> pb = plane.Nodes[b];

                // The bow of the arc that it resembles: the middle sample's distance from the chord.
                Vector<ClothSpace> chord = pb - pa;
                double rise = (samples[middle] - pa).Dot(chord.TurnedLeft) / chord.Norm;
                before.Add(new(-1, 0, 1, pa, pb, Math.Clamp(2 * rise / chord.Norm, -1, 1)));
                return;
            }

            double inches = 0;
            for (int i = off.First + 1; i <= off.Last; i++)
            {
                inches += samples[i - 1].DistanceTo(samples[i]);
            }

            if (inches > slack)
            {
                stray += inches;
                broken.Add(new(null, samples[middle], Length.FromInches(inches)));
            }
        }

        private int NodeAt(int seam, double t) => plane.NodeOf(2 * seam + (t == 0 ? 0 : 1));

        /// <summary>
        /// A further pass that bows to one side of its seam may be backtracking by an unsteady hand or an arc beside the seam;
        /// so may a single pass along the outline, which need not be stitched. The rises drawn are a mixture of the two: none
        /// but the hand's wandering, less the longer a line is, or an arc's stand-off. Shares and stand-off are fitted
        /// (expectation maximisation, Dempster, Laird and Rubin 1977), and each pass is taken for what it is likelier to be.
        /// </summary>
        private void TellArcsFromBacktracking()
        {
            // No arc stands off its seam by less, and a quarter inch is usual; arcs differ among themselves by about this much.
            const double LeastRise = 0.12;
            const double UsualRise = 0.28;
            const double ArcSpread = 0.08;
            const double LeastSpread = 0.02;

            // Backtracking taken for an arc changes the lines; an arc taken for backtracking only doubles one.
            const double Sure = 0.7;
            Dictionary<int, double> straightest = [];
            Dictionary<int, int> times = [];
            foreach (Leg l in threads.SelectMany(t => t).Where(IsWhole))
            {
                straightest[l.Seam] = Math.Min(
                    straightest.GetValueOrDefault(l.Seam, double.PositiveInfinity),
                    Math.Abs(l.Rise)
                );
                times[l.Seam] = times.GetValueOrDefault(l.Seam) + 1;
            }

            // Median of absolute values to a Gaussian's deviation, over single passes along seams; where those are few, the
            // straighter of two, whose median is about half as far out.
            double[] single = Wander(1);
            double[] several = Wander(2);
            double spread =
                single.Length >= 6 ? single[single.Length / 2] / 0.6745
                : several.Length >= 6 ? several[several.Length / 2] / 0.38
                : 0.6 * sigma;
            foreach (List<Leg> thread in threads)
            {
                JoinArcsPastPoints(thread, Math.Max(LeastRise, 2.2 * spread), IsDoubtful);
            }

            List<(List<Leg> Thread, int Index, double Rise, double Deviation)> doubtful = [];
            foreach (List<Leg> thread in threads)
            {
                for (int i = 0; i < thread.Count; i++)
                {
                    Leg l = thread[i];
                    if (
                        IsDoubtful(l)
                        && Math.Abs(l.Rise) > (map.Seams[l.Seam].Role == SeamRole.Edge ? 0 : straightest[l.Seam])
                    )
                    {
                        double deviation = Math.Max(LeastSpread, spread / Math.Sqrt(length[l.Seam]));
                        doubtful.Add((thread, i, Math.Abs(l.Rise), deviation));
                    }
                }
            }

            // Few drawings have arcs beside seams; those that do have many.
            double share = 0.1;
            double rise = UsualRise;
            double[] arc = new double[doubtful.Count];
            for (int round = 0; round < 12 && doubtful.Count > 0; round++)
            {
                double weight = 0;
                double sum = 0;
                for (int k = 0; k < doubtful.Count; k++)
                {
                    (_, _, double h, double deviation) = doubtful[k];
                    double wide = Math.Sqrt(deviation * deviation + ArcSpread * ArcSpread);

                    // A deeper arc than the usual is an arc all the same.
                    double off = h > rise ? 0 : (h - rise) / wide;
                    double asArc = share / wide * Math.Exp(-off * off / 2);
                    double asSeam = 2 * (1 - share) / deviation * Math.Exp(-h * h / (2 * deviation * deviation));
                    arc[k] = h < LeastRise ? 0 : asArc / (asArc + asSeam);
                    weight += arc[k];
                    sum += arc[k] * Math.Min(h, 2 * UsualRise);
                }

                share = Math.Clamp((weight + 0.2) / (doubtful.Count + 4), 0.01, 0.98);
                rise = weight > 1 ? Math.Max(0.2, sum / weight) : UsualRise;
            }

            for (int k = 0; k < doubtful.Count; k++)
            {
                if (arc[k] > Sure)
                {
                    (List<Leg> thread, int i, _, _) = doubtful[k];
                    Leg l = thread[i];
                    thread[i] = new(-1, 0, 1, l.Start, l.End, 2 * l.Rise / l.Start.DistanceTo(l.End));
                }
            }

            static bool IsWhole(Leg l) => l.Seam >= 0 && Math.Abs(l.To - l.From) > 0.999;

            bool IsDoubtful(Leg l) => IsWhole(l) && (map.Seams[l.Seam].Role == SeamRole.Edge || times[l.Seam] > 1);

            double[] Wander(int passes) =>
                [
                    .. straightest
                        .Where(x => map.Seams[x.Key].Role != SeamRole.Edge && Math.Min(times[x.Key], 2) == passes)
                        .Select(x => x.Value * Math.Sqrt(length[x.Key]))
                        .Order(),
                ];
        }

        // An arc beside a side on which others' points lie stands off at those points too, where arcs of single seams end: by
        // as much as in the middle of the seams (1.1 times their fitted rise), not by a quarter of it.
        private static void JoinArcsPastPoints(List<Leg> thread, double aside, Func<Leg, bool> isDoubtful)
        {
            for (int i = 0; i + 1 < thread.Count; i++)
            {
                int last = i;
                while (last + 1 < thread.Count && RunsPast(thread[last], thread[last + 1]))
                {
                    last++;
                }

                if (last == i)
                {
                    continue;
                }

                // The rise over the whole chord from how far each point between lies off: h = off ÷ 4f(1 − f).
                Point<ClothSpace> start = thread[i].Start;
                double chord = start.DistanceTo(thread[last].End);
                double sum = 0;
                double weight = 0;
                for (int k = i; k < last; k++)
                {
                    double f = start.DistanceTo(thread[k].End) / chord;
                    double bow = 4 * f * (1 - f);
                    sum += bow * (thread[k].Aside.Last + thread[k + 1].Aside.First) / 2;
                    weight += bow * bow;
                }

                thread[i] = new(-1, 0, 1, start, thread[last].End, 2 * sum / weight / chord);
                thread.RemoveRange(i + 1, last - i);
            }

            bool RunsPast(Leg a, Leg b) =>
                isDoubtful(a)
                && isDoubtful(b)
                && a.Seam != b.Seam
                && Math.Sign(a.Aside.Last) == Math.Sign(b.Aside.First)
                && Math.Abs(a.Aside.Last + b.Aside.First) / 2
                    > Math.Max(aside, 0.3 * (Math.Abs(a.Rise) + Math.Abs(b.Rise)))
                && Math.Abs((a.End - a.Start).AngleTo(b.End - b.Start)) < 0.05;
        }

        private int? PointNear(Point<ClothSpace> p)
        {
            int best = -1;
            double least = 4 * slack;
            for (int v = 0; v < plane.Nodes.Count; v++)
            {
                double d = plane.Nodes[v].DistanceTo(p);
                if (d < least && plane.DegreeOf(v) > 0)
                {
                    (best, least) = (v, d);
                }
            }

            return best < 0 ? null : best;
        }

        private DrawnJudgement Sum()
        {
            List<DrawnFault> missed = [];
            List<DrawnFault> doubled = [];
            double toStitch = 0;
            double missedInches = 0;
            double doubledInches = 0;
            ILookup<int, Leg> bySeam = threads.SelectMany(t => t).Where(l => l.Seam >= 0).ToLookup(l => l.Seam);
            for (int e = 0; e < plane.EdgeCount; e++)
            {
                Leg[] legs = [.. bySeam[e]];
                (double once, double more, double gapAt, double moreAt) = Cover(legs);

                // An arc beside the outline touches it at its ends; that is not stitching it.
                if (map.Seams[e].Role == SeamRole.Edge && once < 0.5)
                {
                    continue;
                }

                toStitch += length[e];
                double gap = (1 - once) * length[e];
                double twice = more * length[e];

                // A hand that passes such a short seam is not told from one that passes beside it.
                const double Shortest = 0.3;
                double least = length[e] <= Shortest ? Shortest : Math.Min(slack, 0.25 * length[e]);
                if (gap > least)
                {
                    missedInches += gap;
                    missed.Add(new(map.Seams[e].Id, plane[e].PointAt(gapAt), Length.FromInches(gap)));
                }

                if (twice > least)
                {
                    doubledInches += twice;
                    doubled.Add(new(map.Seams[e].Id, plane[e].PointAt(moreAt), Length.FromInches(twice)));
                }
            }

            List<DrawnFault> crossed =
            [
                .. CrossingCounter.Find(ToRuns()).Select(c => new DrawnFault(null, c.At, Length.Zero)),
            ];
            int needless = NoteNeedlessStarts();
            double score =
                toStitch <= 0
                    ? 0
                    : 1
                        - (missedInches + 0.5 * doubledInches + stray) / toStitch
                        - PenaltyEach * (crossed.Count + needless);
            return new(missed, doubled, crossed, broken, Math.Clamp(score, 0, 1));
        }

        // Shares of a seam covered at least once, and more than once; the middle of the first gap, and of the first overlap.
        private static (double Once, double More, double GapAt, double MoreAt) Cover(Leg[] legs)
        {
            double[] stops = [.. legs.SelectMany(l => new[] { l.From, l.To }).Append(0).Append(1).Distinct().Order()];
            double once = 0;
            double more = 0;
            double gapAt = double.NaN;
            double moreAt = double.NaN;
            for (int i = 1; i < stops.Length; i++)
            {
                double middle = (stops[i - 1] + stops[i]) / 2;
                double width = stops[i] - stops[i - 1];
                int times = legs.Count(l => Math.Min(l.From, l.To) < middle && middle < Math.Max(l.From, l.To));
                once += times > 0 ? width : 0;
                more += times > 1 ? width * (times - 1) : 0;
                gapAt = times == 0 && double.IsNaN(gapAt) ? middle : gapAt;
                moreAt = times > 1 && double.IsNaN(moreAt) ? middle : moreAt;
            }

            return (once, more, gapAt, moreAt);
        }

        // Whole seams as moves; a stretch that stops half-way parts the run, so that it makes no pass.
        private List<Run> ToRuns()
        {
            HashSet<int> stitched = [];
            List<Run> runs = [];
            foreach (List<Leg> thread in threads)
            {
                List<Move> moves = [];
                foreach (Leg leg in thread)
                {
                    Move? move =
                        leg.Seam < 0 ? new(MoveKind.Arc, new(leg.Start, leg.End, leg.Bulge), null, null)
                        : Math.Abs(leg.To - leg.From) < 0.999 ? null
                        : new(
                            stitched.Add(leg.Seam) ? MoveKind.Ditch : MoveKind.Retrace,
                            leg.To > leg.From ? plane[leg.Seam] : plane[leg.Seam].Reversed,
                            map.Seams[leg.Seam].Id,
                            null
                        );
                    if (move is null || (moves.Count > 0 && moves[^1].Path.To != move.Path.From))
                    {
                        Close();
                    }

                    if (move is not null)
                    {
                        moves.Add(move);
                    }
                }

                Close();

                void Close()
                {
                    if (moves.Count > 0)
                    {
                        runs.Add(new([.. moves]));
                        moves.Clear();
                    }
                }
            }

            return runs;
        }

        private int NoteNeedlessStarts()
        {
            // The fewest starts for the lines that were drawn, each taken once.
            HashSet<(int, int, int)> lines = [];
            List<StitchLine> drawn = [];
            Dictionary<Point<ClothSpace>, int> index = [];
            for (int v = 0; v < plane.Nodes.Count; v++)
            {
                index.TryAdd(plane.Nodes[v], v);
            }

            foreach (Leg l in threads.SelectMany(t => t))
            {
                if (l.Seam >= 0 && lines.Add((l.Seam, 0, 0)))
                {
                    Edge<ClothSpace> e = plane[l.Seam];
                    drawn.Add(
                        new(plane.NodeOf(2 * l.Seam), plane.NodeOf(2 * l.Seam + 1), e, MoveKind.Ditch, null, null)
                    );
                }
                else if (
                    l.Seam < 0
                    && lines.Add((-1, index[l.Start], index[l.End] + (l.Bulge > 0 ? 0 : plane.Nodes.Count)))
                )
                {
                    drawn.Add(
                        new(index[l.Start], index[l.End], new(l.Start, l.End, l.Bulge), MoveKind.Arc, null, null)
                    );
                }
            }

            int least = drawn.Count == 0 ? 0 : new StitchGraph(map, drawn).LeastStarts;
            int needless = Math.Max(0, threads.Count - Math.Max(1, least));
            for (int i = threads.Count - needless; i < threads.Count; i++)
            {
                Point<ClothSpace> at = threads[i][0].Start;
                broken.Add(new(null, at, Length.FromInches(threads[i - 1][^1].End.DistanceTo(at))));
            }

            return needless;
        }
    }
}
