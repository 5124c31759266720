using OverlayPlanner.Geometry;
using OverlayPlanner.Quilts;

namespace OverlayPlanner.Benchmarks.Detection;

/// <summary>Whether the blocks were read off the top as they stand, and what they were called.</summary>
/// <param name="Exact">As many blocks as there are, in as many rows and columns.</param>
/// <param name="PitchError">
/// Greatest error of the steps from block to block along rows and down columns, as a part of the step; NaN where the lattice is
/// not exact or there is only one block.
/// </param>
/// <param name="Named">What most of the named true blocks were called.</param>
internal readonly record struct LatticeScore(bool Exact, double PitchError, Naming Named)
{
    /// <summary>Compares the blocks of two maps of one area.</summary>
    public static LatticeScore Compare(QuiltMap found, QuiltMap truth)
    {
        bool exact =
            found.Blocks.Count == truth.Blocks.Count
            && Enumerable.SequenceEqual(Span(found.Blocks, b => b.Row), Span(truth.Blocks, b => b.Row))
            && Enumerable.SequenceEqual(Span(found.Blocks, b => b.Column), Span(truth.Blocks, b => b.Column));
        return new(exact, exact ? PitchErrorOf(found.Blocks, truth.Blocks) : double.NaN, NamingOf(found, truth));
    }

    private static int[] Span(IReadOnlyList<Block> blocks, Func<Block, int?> index) =>
        [.. blocks.Select(b => index(b) ?? -1).Distinct().Order()];

    private static double PitchErrorOf(IReadOnlyList<Block> found, IReadOnlyList<Block> truth)
    {
        (Vector<ClothSpace>? fx, Vector<ClothSpace>? fy) = Steps(found);
        (Vector<ClothSpace>? tx, Vector<ClothSpace>? ty) = Steps(truth);
        double[] errors =
        [
            .. new[] { (fx, tx), (fy, ty) }
                .Where(p => p is { Item1: not null, Item2: not null })
                .Select(p => Math.Abs(p.Item1!.Value.Norm - p.Item2!.Value.Norm) / p.Item2.Value.Norm),
        ];
        return errors.Length == 0 ? double.NaN : errors.Max();
    }

    // Middle = origin + column × across + row × down, by least squares over all blocks.
    private static (Vector<ClothSpace>? Across, Vector<ClothSpace>? Down) Steps(IReadOnlyList<Block> blocks)
    {
        double[] c = [.. blocks.Select(b => (double)(b.Column ?? 0))];
        double[] r = [.. blocks.Select(b => (double)(b.Row ?? 0))];
        double[] x = [.. blocks.Select(b => b.Corners.Average(p => p.X))];
        double[] y = [.. blocks.Select(b => b.Corners.Average(p => p.Y))];
        (double cc, double rr, double cr) = (Cov(c, c), Cov(r, r), Cov(c, r));
        double det = cc * rr - cr * cr;
        if (cc < 1e-9 || rr < 1e-9 || det < 1e-9)
        {
            return (
                cc < 1e-9 ? null : new(Cov(c, x) / cc, Cov(c, y) / cc),
                rr < 1e-9 ? null : new(Cov(r, x) / rr, Cov(r, y) / rr)
            );
        }

        return (
            new((Cov(c, x) * rr - Cov(r, x) * cr) / det, (Cov(c, y) * rr - Cov(r, y) * cr) / det),
            new((Cov(r, x) * cc - Cov(c, x) * cr) / det, (Cov(r, y) * cc - Cov(c, y) * cr) / det)
        );

        static double Cov(double[] a, double[] b)
        {
            (double ma, double mb) = (a.Average(), b.Average());
            return a.Zip(b, (p, q) => (p - ma) * (q - mb)).Average();
        }
    }

    private static Naming NamingOf(QuiltMap found, QuiltMap truth)
    {
        // Each true block's name is the one of the found block over its middle.
        Dictionary<Naming, int> votes = [];
        foreach (Block t in truth.Blocks.Where(t => t.Pattern is not null))
        {
            Point<ClothSpace> middle = MiddleOf(t);
            double side = t.Corners[0].DistanceTo(t.Corners[1]);
            string? name = found
                .Blocks.Where(f => MiddleOf(f).DistanceTo(middle) < 0.25 * side)
                .OrderBy(f => MiddleOf(f).DistanceTo(middle))
                .FirstOrDefault()
                ?.Pattern;
            Naming vote =
                name is null ? Naming.None
                : name == t.Pattern ? Naming.Right
                : Naming.Wrong;
            votes[vote] = votes.GetValueOrDefault(vote) + 1;
        }

        return votes.Count == 0 ? Naming.None : votes.MaxBy(v => v.Value).Key;
    }

    private static Point<ClothSpace> MiddleOf(Block b) => new(b.Corners.Average(p => p.X), b.Corners.Average(p => p.Y));
}

/// <summary>What a block was called.</summary>
internal enum Naming
{
    /// <summary>Nothing: "unknown".</summary>
    None,

    /// <summary>By its name.</summary>
    Right,

    /// <summary>By another block's name.</summary>
    Wrong,
}
