using System.Globalization;
using OverlayPlanner.Geometry;

namespace OverlayPlanner.Calibration;

/// <summary>
/// Four corners from four sides and two diagonals by weighted least squares (Gauss–Newton). Six measures, five freedoms: what is
/// left over is one number, and only one.
/// </summary>
/// <remarks>
/// Because it is only one, the measures alone never say which of them is wrong: every one of them could take the whole blame.
/// Which is the likeliest is asked of the shape that is known: each measure in turn is left out while the known shape, stretched
/// across and down, is laid on the other five; the one without which the rest agree best is named.
/// </remarks>
public static class BlockFromTape
{
    private const int MostSteps = 40;

    // Of good measures one set in a thousand contradicts itself by more, and one in twenty by more than the lesser.
    private const double Impossible = 3.29;
    private const double Doubtful = 1.96;

    // Draw-up is 2 to 4 %; wool and flannel shrink by some more. A slip of an inch on a block is beyond.
    private const double MostStretch = 0.15;

    private static readonly Point<ClothSpace>[] UnitSquare = [new(0, 0), new(1, 0), new(1, 1), new(0, 1)];

    /// <summary>The shape, laid on the known one: turned and shifted the least, never scaled.</summary>
    /// <param name="known">The block's corners as mapped, clockwise from the top left, inches.</param>
    /// <param name="measures">What the tape says.</param>
    /// <exception cref="InputException">A measure can't be, or they contradict each other by more than a tape explains.</exception>
    public static TapedBlock Solve(IReadOnlyList<Point<ClothSpace>> known, BlockMeasures measures)
    {
        ArgumentNullException.ThrowIfNull(known);
        ArgumentNullException.ThrowIfNull(measures);
        measures.Check();
        double[] tape = measures.Inches;
        double[] mapped = BlockMeasures.Of(known);
        for (int i = 0; i < BlockMeasures.Count; i++)
        {
            if (Math.Abs(tape[i] / mapped[i] - 1) > MostStretch)
            {
                throw new InputException(
                    $"The {BlockMeasures.NameOf(i)} was {In(mapped[i])} in on the map and can't be {In(tape[i])} in now",
                    BlockMeasures.OptionOf(i),
                    "Measure it again, and check that it is this block; cloth draws up by a few percent."
                );
            }
        }

        return Solve(known, tape, p => Laid(p, known));
    }

    /// <summary>The shape of a block that no map knows: its top left at the origin, its top side level.</summary>
    /// <exception cref="InputException">As the other.</exception>
    public static TapedBlock Solve(BlockMeasures measures)
    {
        ArgumentNullException.ThrowIfNull(measures);
        measures.Check();
        return Solve(UnitSquare, measures.Inches, p => p);
    }

    private static TapedBlock Solve(
        IReadOnlyList<Point<ClothSpace>> shape,
        double[] tape,
        Func<Point<ClothSpace>[], Point<ClothSpace>[]> place
    )
    {
        int worst = LeastAgreeing(shape, tape);
        double[] start = Start(shape, tape);
        double[]? fitted = Fit(start, tape, leftOut: -1);
        double[]? others = Fit(start, tape, worst);
        double left = fitted is null ? double.PositiveInfinity : Misfit(fitted, tape);
        double off = others is null ? double.NaN : tape[worst] - BlockMeasures.Of(CornersOf(others))[worst];
        if (!(left <= Impossible) || !IsConvex(CornersOf(fitted!)))
        {
            throw new InputException(
                double.IsFinite(off)
                    ? $"The sides and diagonals contradict each other by {In(Math.Abs(off))} in: the {BlockMeasures.NameOf(worst)} is {In(tape[worst])} in, the other five make it {In(tape[worst] - off)}"
                    : $"The sides and diagonals do not close to a block; the {BlockMeasures.NameOf(worst)}, {In(tape[worst])} in, fits the others the least",
                BlockMeasures.OptionOf(worst),
                "Measure that one again, from the same corners, with the cloth relaxed; then the others."
            );
        }

        List<Finding> findings = [];
        if (left > Doubtful)
        {
            findings.Add(
                new(
                    "measures-contradict",
                    $"{BlockMeasures.NameOf(worst)} {In(tape[worst])} in; the other five make it {In(tape[worst] - off)}",
                    "A tape explains that much, barely; measure that one again where you want to be sure."
                )
            );
        }

        // Contradictions beyond the tape's own spread say that it was read less well.
        double widened = Math.Max(1, left);
        List<Point<ClothSpace>[]> spreads = [];
        for (int i = 0; i < BlockMeasures.Count; i++)
        {
            double[] longer = [.. tape];
            longer[i] += widened * BlockMeasures.SigmaOf(tape[i]);
            spreads.Add(place(CornersOf(Fit(fitted!, longer, leftOut: -1) ?? fitted!)));
        }

        return new(place(CornersOf(fitted!)), Length.FromInches(off), BlockMeasures.NameOf(worst), spreads, findings);
    }

    // Squares of lengths are linear in the squares of the two stretches.
    private static (double Across, double Down) Stretches(
        IReadOnlyList<Point<ClothSpace>> shape,
        double[] tape,
        int leftOut
    )
    {
        int[] used = [.. Enumerable.Range(0, BlockMeasures.Count).Where(i => i != leftOut)];
        double[][] rows =
        [
            .. used.Select(i =>
            {
                Vector<ClothSpace> d = Between(shape, i);
                double weight = 1 / (2 * tape[i] * BlockMeasures.SigmaOf(tape[i]));
                return new[] { d.X * d.X * weight, d.Y * d.Y * weight };
            }),
        ];
        double[] right = [.. used.Select(i => tape[i] / (2 * BlockMeasures.SigmaOf(tape[i])))];
        double[] squares = LeastSquares.Solve(rows, right) ?? [1, 1];
        return (Math.Sqrt(Math.Max(squares[0], 1e-6)), Math.Sqrt(Math.Max(squares[1], 1e-6)));
    }

    private static int LeastAgreeing(IReadOnlyList<Point<ClothSpace>> shape, double[] tape) =>
        Enumerable
            .Range(0, BlockMeasures.Count)
            .MinBy(left =>
            {
                (double across, double down) = Stretches(shape, tape, left);
                return Enumerable
                    .Range(0, BlockMeasures.Count)
                    .Where(i => i != left)
                    .Sum(i =>
                    {
                        Vector<ClothSpace> d = Between(shape, i);
                        double length = new Vector<ClothSpace>(across * d.X, down * d.Y).Norm;
                        double off = (length - tape[i]) / BlockMeasures.SigmaOf(tape[i]);
                        return off * off;
                    });
            });

    // Unknowns: the first corner is at the origin and the second on the x axis; then x1, x2, y2, x3, y3.
    private static double[] Start(IReadOnlyList<Point<ClothSpace>> shape, double[] tape)
    {
        (double across, double down) = Stretches(shape, tape, leftOut: -1);
        Point<ClothSpace>[] p = [.. shape.Select(c => new Point<ClothSpace>(across * c.X, down * c.Y))];
        Vector<ClothSpace> along = (p[1] - p[0]).Unit;
        double X(int i) => (p[i] - p[0]).Dot(along);
        double Y(int i) => along.Cross(p[i] - p[0]);
        return [X(1), X(2), Y(2), X(3), Y(3)];
    }

    private static Point<ClothSpace>[] CornersOf(double[] u) =>
        [new(0, 0), new(u[0], 0), new(u[1], u[2]), new(u[3], u[4])];

    private static double[]? Fit(double[] start, double[] tape, int leftOut)
    {
        double[] u = [.. start];
        int[] used = [.. Enumerable.Range(0, BlockMeasures.Count).Where(i => i != leftOut)];
        for (int step = 0; step < MostSteps; step++)
        {
            Point<ClothSpace>[] p = CornersOf(u);
            double[] lengths = BlockMeasures.Of(p);
            double[][] rows =
            [
                .. used.Select(i => Slopes(p, i).Select(v => v / BlockMeasures.SigmaOf(tape[i])).ToArray()),
            ];
            double[] right = [.. used.Select(i => (tape[i] - lengths[i]) / BlockMeasures.SigmaOf(tape[i]))];
            if (LeastSquares.Solve(rows, right) is not { } by || by.Any(v => !double.IsFinite(v)))
            {
                return null;
            }

            // A step longer than a part of the block leaves the region where lengths are nearly linear.
            double longest = by.Max(Math.Abs);
            double damp = Math.Min(1, 0.3 * tape.Max() / Math.Max(longest, 1e-12));
            for (int k = 0; k < u.Length; k++)
            {
                u[k] += damp * by[k];
            }

            if (longest < 1e-11 * tape.Max())
            {
                return u;
            }
        }

        return null;
    }

    // How a measure changes with each unknown.
    private static double[] Slopes(Point<ClothSpace>[] p, int measure)
    {
        (int a, int b) = BlockMeasures.EndsOf(measure);
        Vector<ClothSpace> d = (p[b] - p[a]).Unit;
        double[] slopes = new double[5];
        Add(b, 1);
        Add(a, -1);
        return slopes;

        void Add(int corner, int sign)
        {
            if (corner == 1)
            {
                slopes[0] += sign * d.X;
            }
            else if (corner > 1)
            {
                slopes[2 * corner - 3] += sign * d.X;
                slopes[2 * corner - 2] += sign * d.Y;
            }
        }
    }

    // The one number that is left over, in standard deviations.
    private static double Misfit(double[] u, double[] tape)
    {
        double[] lengths = BlockMeasures.Of(CornersOf(u));
        return Math.Sqrt(
            lengths.Zip(tape, (l, t) => (l - t) * (l - t) / (BlockMeasures.SigmaOf(t) * BlockMeasures.SigmaOf(t))).Sum()
        );
    }

    internal static bool IsConvex(IReadOnlyList<Point<ClothSpace>> p) =>
        Enumerable.Range(0, 4).All(i => (p[(i + 1) % 4] - p[i]).Cross(p[(i + 2) % 4] - p[(i + 1) % 4]) > 0);

    private static Point<ClothSpace>[] Laid(Point<ClothSpace>[] shape, IReadOnlyList<Point<ClothSpace>> known)
    {
        Similarity<ClothSpace, ClothSpace> fit = SimilarityFit.Solve(shape, known);
        (double a, double b) = (fit.A / fit.Scale, fit.B / fit.Scale);
        Point<ClothSpace> from = new(shape.Average(p => p.X), shape.Average(p => p.Y));
        Point<ClothSpace> to = new(known.Average(p => p.X), known.Average(p => p.Y));
        Similarity<ClothSpace, ClothSpace> rigid = new(
            a,
            b,
            to.X - a * from.X + b * from.Y,
            to.Y - b * from.X - a * from.Y
        );
        return [.. shape.Select(rigid.Apply)];
    }

    private static Vector<ClothSpace> Between(IReadOnlyList<Point<ClothSpace>> p, int measure)
    {
        (int a, int b) = BlockMeasures.EndsOf(measure);
        return p[b] - p[a];
    }

    private static string In(double inches) => Length.FromInches(inches).ToSixteenths();
}
