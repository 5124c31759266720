using OverlayPlanner.Calibration;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Benchmarks.Calibration;

/// <summary>How well one block is re-fitted after draw-up and a grown roll, beside one similarity from the same measures.</summary>
internal static class RefitScore
{
    private const double Sixteenth = 1.0 / 16;
    private const string What =
        "one block re-fitted, 12 in, after 1 % uneven draw-up and 1/2 in change of cloth height";

    public static void Add(List<(string, string, string, bool)> rows, bool quick)
    {
        int cases = quick ? 200 : 1000;
        Nudged(rows, cases);
        Taped(rows, cases);
        Slips(rows, cases);
    }

    // Four corners nudged onto the cloth, each by eye to 1/40 in: no other help.
    private static void Nudged(List<(string, string, string, bool)> rows, int cases)
    {
        (List<double> errors, List<double> tilt, List<double> stock, List<bool> held) = ([], [], [], []);
        for (int seed = 0; seed < cases; seed++)
        {
            DrawnUpBlock block = new(81_000 + seed);
            Random random = new(seed);
            Point<ClothSpace>[] mapped = block.CornersOf(block.Points);
            Point<ClothSpace>[] now =
            [
                .. block
                    .CornersOf(block.InLight)
                    .Select(p => new Point<ClothSpace>(
                        p.X + CardLayouts.Normal(random) / 40,
                        p.Y + CardLayouts.Normal(random) / 40
                    )),
            ];
            BlockStretch stretch = BlockStretch.OfCorners(mapped, now);
            Similarity<ClothSpace, ClothSpace> one = SimilarityFit.Solve(mapped, now);
            Collect(block, block.InLight, stretch.Apply, stretch.SigmaAt, errors, held);
            Collect(block, block.InLight, Projective(mapped, now), stretch.SigmaAt, tilt, []);
            Collect(block, block.InLight, one.Apply, stretch.SigmaAt, stock, []);
        }

        Report(rows, cases, "four corners nudged to 1/40 in (1 sigma)", errors, held, tilt, stock);
    }

    // Four sides and two diagonals, read to 1/16 in; the block is laid on its place by its corners.
    private static void Taped(List<(string, string, string, bool)> rows, int cases)
    {
        (List<double> errors, List<double> tilt, List<double> stock, List<bool> held) = ([], [], [], []);
        for (int seed = 0; seed < cases; seed++)
        {
            DrawnUpBlock block = new(82_000 + seed);
            Point<ClothSpace>[] mapped = block.CornersOf(block.Points);
            double[] read = Read(block, new(seed));
            TapedBlock taped;
            try
            {
                taped = BlockFromTape.Solve(mapped, MeasuresOf(read));
            }
            catch (InputException)
            {
                // Sent back to measure again, as a quilter would be.
                taped = BlockFromTape.Solve(mapped, MeasuresOf(Read(block, new(seed + 100_000))));
            }

            BlockStretch stretch = BlockStretch.Of(mapped, taped);
            Point<ClothSpace>[] truth = block.CornersOf(block.OnCloth);
            Func<Point<ClothSpace>, Point<ClothSpace>> laid = Rigid([.. mapped.Select(stretch.Apply)], truth);
            double scale = Lengths(mapped).Zip(read, (was, now) => now / was).Average();
            Point<ClothSpace>[] scaled = [.. mapped.Select(p => new Point<ClothSpace>(scale * p.X, scale * p.Y))];
            Func<Point<ClothSpace>, Point<ClothSpace>> one = Rigid(scaled, truth);
            Collect(block, block.OnCloth, p => laid(stretch.Apply(p)), stretch.SigmaAt, errors, held);
            Func<Point<ClothSpace>, Point<ClothSpace>> tilted = Projective(mapped, stretch.Now);
            Collect(block, block.OnCloth, p => laid(tilted(p)), stretch.SigmaAt, tilt, []);
            Collect(block, block.OnCloth, p => one(new(scale * p.X, scale * p.Y)), stretch.SigmaAt, stock, []);
        }

        Report(rows, cases, "sides and diagonals read to 1/16 in, laid by the corners", errors, held, tilt, stock);
    }

    // One measure read half an inch wrong: it must be refused, and named.
    private static void Slips(List<(string, string, string, bool)> rows, int cases)
    {
        (int refused, int named, int goodRefused) = (0, 0, 0);
        string[] names =
        [
            "top side",
            "right side",
            "bottom side",
            "left side",
            "from the top left",
            "from the top right",
        ];
        for (int seed = 0; seed < cases; seed++)
        {
            DrawnUpBlock block = new(83_000 + seed);
            Random random = new(seed);
            Point<ClothSpace>[] mapped = block.CornersOf(block.Points);
            double[] read = Read(block, random);
            goodRefused += Refusal(mapped, read) is null ? 0 : 1;
            int slip = random.Next(read.Length);
            read[slip] += random.Next(2) == 0 ? 0.5 : -0.5;
            string? said = Refusal(mapped, read);
            refused += said is null ? 0 : 1;
            named +=
                said?.Contains("the " + names[slip], StringComparison.Ordinal) == true
                || said?.Contains("diagonal " + names[slip], StringComparison.Ordinal) == true
                    ? 1
                    : 0;
        }

        rows.Add(
            (
                What + ": a measure read 1/2 in wrong refused, and named; right ones refused",
                Text(
                    $"{100.0 * refused / cases:0.0} %, {100.0 * named / cases:0.0} %; {100.0 * goodRefused / cases:0.0} % of {cases}"
                ),
                "≥ 95 %, ≥ 90 %; ≤ 1 %",
                refused >= 0.95 * cases && named >= 0.9 * cases && goodRefused <= 0.01 * cases
            )
        );
    }

    private static string? Refusal(Point<ClothSpace>[] mapped, double[] read)
    {
        try
        {
            _ = BlockFromTape.Solve(mapped, MeasuresOf(read));
            return null;
        }
        catch (InputException e)
        {
            return e.What;
        }
    }

    private static void Report(
        List<(string, string, string, bool)> rows,
        int cases,
        string how,
        List<double> errors,
        List<bool> held,
        List<double> tilt,
        List<double> stock
    )
    {
        double p95 = Quantile(errors, 0.95);
        rows.Add(
            (
                $"{What}, {how}: position",
                Text(
                    $"P95 {p95:0.0000} in, P50 {Quantile(errors, 0.5):0.0000} in, {cases} blocks, {errors.Count} points"
                ),
                "P95 ≤ 1/16 in",
                p95 <= Sixteenth
            )
        );
        double share = (double)held.Count(h => h) / held.Count;
        rows.Add(
            (
                $"{What}, {how}: stated 95 % holds",
                Text($"{100 * share:0.0} ± {100 * Math.Sqrt(share * (1 - share) / held.Count):0.0} %"),
                "93–97 %",
                share is >= 0.93 and <= 0.97
            )
        );
        rows.Add(
            (
                $"{What}, {how}: beside, one similarity; the projective map",
                Text($"P95 {Quantile(stock, 0.95):0.0000} in; {Quantile(tilt, 0.95):0.0000} in"),
                "beside",
                true
            )
        );
    }

    private static void Collect(
        DrawnUpBlock block,
        Point<ClothSpace>[] truth,
        Func<Point<ClothSpace>, Point<ClothSpace>> map,
        Func<Point<ClothSpace>, Length> sigma,
        List<double> errors,
        List<bool> held
    )
    {
        for (int i = 0; i < truth.Length; i++)
        {
            double off = map(block.Points[i]).DistanceTo(truth[i]);
            errors.Add(off);

            // The map's own error is part of what a junction states; 95 % of a two-dimensional Gaussian lies within 2.4477 sigmas.
            double said = Math.Sqrt(Math.Pow(sigma(block.Points[i]).Inches, 2) + 0.012 * 0.012);
            held.Add(off <= 2.4477 * said);
        }
    }

    private static double[] Read(DrawnUpBlock block, Random random) =>
        [
            .. Lengths(block.CornersOf(block.OnCloth))
                .Select(l =>
                    Math.Round(16 * (l + CardLayouts.Normal(random) * Math.Sqrt(1.0 / 1600 + 1e-6 * l * l))) / 16
                ),
        ];

    private static double[] Lengths(Point<ClothSpace>[] c) =>
        [
            c[0].DistanceTo(c[1]),
            c[1].DistanceTo(c[2]),
            c[3].DistanceTo(c[2]),
            c[0].DistanceTo(c[3]),
            c[0].DistanceTo(c[2]),
            c[1].DistanceTo(c[3]),
        ];

    private static BlockMeasures MeasuresOf(double[] read) =>
        new([.. read[..4].Select(Length.FromInches)], [.. read[4..].Select(Length.FromInches)]);

    private static Func<Point<ClothSpace>, Point<ClothSpace>> Rigid(Point<ClothSpace>[] from, Point<ClothSpace>[] to)
    {
        Similarity<ClothSpace, ClothSpace> fit = SimilarityFit.Solve(from, to);
        (double a, double b) = (fit.A / fit.Scale, fit.B / fit.Scale);
        (double fx, double fy) = (from.Average(p => p.X), from.Average(p => p.Y));
        (double tx, double ty) = (to.Average(p => p.X), to.Average(p => p.Y));
        return p => new(tx + a * (p.X - fx) - b * (p.Y - fy), ty + b * (p.X - fx) + a * (p.Y - fy));
    }

    private static Func<Point<ClothSpace>, Point<ClothSpace>> Projective(
        IReadOnlyList<Point<ClothSpace>> from,
        IReadOnlyList<Point<ClothSpace>> to
    ) =>
        HomographyFit.Fit<ClothSpace, ClothSpace>([.. from.Zip(to)]) is { } fit
            ? fit.Apply
            : throw new InvalidOperationException("The corners fix no map.");

    private static double Quantile(List<double> values, double q) =>
        values.Order().ElementAt(Math.Min(values.Count - 1, (int)(q * values.Count)));

    private static string Text(FormattableString text) => FormattableString.Invariant(text);
}
