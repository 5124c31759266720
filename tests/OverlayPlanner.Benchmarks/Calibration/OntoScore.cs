using System.Globalization;
using OpenCvSharp;
using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>How well a photograph taken after an advance is laid on the known quilt, beside one stock similarity on the same cases.</summary>
internal static class OntoScore
{
    private const double Sixteenth = 1.0 / 16;

    private static readonly string[] Many =
    [
        "sawtooth-star",
        "ohio-star",
        "churn-dash",
        "pinwheel",
        "shoofly",
        "friendship-star",
    ];

    public static void Add(List<(string, string, string, bool)> rows, bool quick)
    {
        int cases = quick ? 8 : 40;
        Run(rows, cases, "equal blocks, the row said", new AdvanceWishes(), rowSaid: true);
        Run(rows, cases, "unequal blocks, nothing said", new AdvanceWishes { Patterns = Many }, rowSaid: false);
        Refusals(rows, cases);
    }

    private static void Run(
        List<(string, string, string, bool)> rows,
        int cases,
        string what,
        AdvanceWishes wishes,
        bool rowSaid
    )
    {
        List<double> errors = [];
        List<double> worst = [];
        List<double> stock = [];
        (int held, int wrong, int lost, int matched) = (0, 0, 0, 0);
        for (int seed = 0; seed < cases; seed++)
        {
            AdvancedCloth cloth = new(wishes, 70_000 + seed);
            RegistrationAnswer answer = ClothRegistration.Find(cloth.Known, cloth.Seen);
            IReadOnlyList<Registration> ways = answer.Possible(rowSaid ? cloth.IsAt : null);
            if (answer.IsMirrored || ways.Count != 1 || !cloth.IsAt(ways[0]))
            {
                lost++;
                continue;
            }

            Registration way = ways[0];
            wrong += cloth.Wrong(way);
            matched += way.Matches.Count;
            List<double> here = [];
            foreach (int k in cloth.Visible)
            {
                Estimate<Point<SeenSpace>> place = way.PlaceOf(k);
                double off = place.Value.DistanceTo(cloth.Truth[k]);
                here.Add(off);

                // 95 % of a two-dimensional Gaussian lies within 2.4477 sigmas of one axis.
                held += off <= 2.4477 * place.Sigma.Inches ? 1 : 0;
            }

            errors.AddRange(here);
            worst.Add(Quantile(here, 0.95));
            stock.AddRange(Stock(cloth, way));
        }

        string name = string.Create(
            CultureInfo.InvariantCulture,
            $"onto a known quilt: {cases} advances, 84 x 60 in, a 20 in band, 3 % uneven draw-up, 3° turn, 10 % missed and 10 % false points, {what}"
        );
        double p95 = errors.Count == 0 ? double.NaN : Quantile(errors, 0.95);
        rows.Add(
            (
                name + ": position",
                Text(
                    $"P95 {p95:0.0000} in, P50 {Quantile(errors, 0.5):0.0000} in, worst case's P95 {worst.DefaultIfEmpty(double.NaN).Max():0.0000} in, {errors.Count} points"
                ),
                "P95 ≤ 1/16 in",
                p95 <= Sixteenth
            )
        );
        rows.Add(
            (
                name + ": wrong matches, cases lost",
                Text($"{wrong} of {matched}, {lost} of {cases}"),
                "0, 0",
                wrong == 0 && lost == 0
            )
        );
        double share = (double)held / errors.Count;
        double spread = Math.Sqrt(share * (1 - share) / errors.Count);
        rows.Add(
            (
                name + ": stated 95 % holds",
                Text($"{100 * share:0.0} ± {100 * spread:0.0} %"),
                "93–97 %",
                share is >= 0.93 and <= 0.97
            )
        );
        rows.Add(
            (
                name + ": stock, one RANSAC similarity over the right matches",
                Text($"P95 {Quantile(stock, 0.95):0.000} in"),
                "beside",
                true
            )
        );
    }

    // Equal blocks and nothing said: the truth must be among the possibilities, and none may be taken silently.
    private static void Refusals(List<(string, string, string, bool)> rows, int cases)
    {
        (int refused, int holds) = (0, 0);
        for (int seed = 0; seed < cases; seed++)
        {
            AdvancedCloth cloth = new(new(), 71_000 + seed);
            IReadOnlyList<Registration> ways = ClothRegistration.Find(cloth.Known, cloth.Seen).Possible();
            refused += ways.Count > 1 ? 1 : 0;
            holds += ways.Any(cloth.IsAt) ? 1 : 0;
        }

        rows.Add(
            (
                "onto a known quilt: equal blocks, nothing said: refused, the truth among the possibilities",
                Text($"{refused} and {holds} of {cases}"),
                "all",
                refused == cases && holds == cases
            )
        );
        (int strangers, int taken) = (0, 0);
        for (int seed = 0; seed < cases; seed++)
        {
            AdvancedCloth one = new(new() { Patterns = ["ohio-star"] }, 72_000 + seed);
            AdvancedCloth other = new(new() { Patterns = ["sawtooth-star"] }, 73_000 + seed);
            strangers++;
            taken += ClothRegistration.Find(one.Known, other.Seen).Possible().Count > 0 ? 1 : 0;
        }

        rows.Add(
            (
                "onto a known quilt: photographs of another quilt taken for it",
                Text($"{taken} of {strangers}"),
                "0",
                taken == 0
            )
        );
    }

    private static List<double> Stock(AdvancedCloth cloth, Registration way)
    {
        Point2d[] from =
        [
            .. way.Matches.Select(m => new Point2d(cloth.Known.Marks[m.Known].At.X, cloth.Known.Marks[m.Known].At.Y)),
        ];
        Point2d[] to =
        [
            .. way.Matches.Select(m => new Point2d(cloth.Seen.Marks[m.Seen].At.X, cloth.Seen.Marks[m.Seen].At.Y)),
        ];
        using Mat inliers = new();
        using Mat? found = Cv2.EstimateAffinePartial2D(
            InputArray.Create(from),
            InputArray.Create(to),
            inliers,
            RobustEstimationAlgorithms.RANSAC,
            0.25
        );
        if (found is null || found.Empty())
        {
            return [];
        }

        double[] m = [.. Enumerable.Range(0, 6).Select(i => found.At<double>(i / 3, i % 3))];
        return
        [
            .. cloth.Visible.Select(k =>
            {
                Point<ClothSpace> p = cloth.Known.Marks[k].At;
                return new Point<SeenSpace>(m[0] * p.X + m[1] * p.Y + m[2], m[3] * p.X + m[4] * p.Y + m[5]).DistanceTo(
                    cloth.Truth[k]
                );
            }),
        ];
    }

    private static double Quantile(List<double> values, double q)
    {
        double[] sorted = [.. values.Order()];
        return sorted.Length == 0 ? double.NaN : sorted[Math.Min(sorted.Length - 1, (int)(q * sorted.Length))];
    }

    private static string Text(FormattableString text) => FormattableString.Invariant(text);
}
